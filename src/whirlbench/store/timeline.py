"""The time line of a team: its changes by kind, and the documents that each brought."""

from dataclasses import dataclass

from sqlalchemy import and_, exists, func, select

from whirlbench.store import changes, notes, turbines
from whirlbench.store.schema import Change, Document, DocumentVersion

READINGS = ("log", "change", "delete")
_HIDDEN = (f"keep {notes.PHOTO}", f"delete {notes.KIND}")  # told with the note that they belong to
_NOTE, _VERSION = f"keep {notes.KIND}", f"keep {turbines.KIND}"


@dataclass(frozen=True)
class Brought:
    """What a change did to a document.

    Attributes
    ----------
    document_id, number : int
        The document, and the version of it.
    kind, name : str
        Of the document.
    content : str
        Canonical JSON of this version.
    before : str or None
        Canonical JSON of the version before it, where there is one.
    """

    document_id: int
    number: int
    kind: str
    name: str
    content: str
    before: str | None


@dataclass(frozen=True)
class Now:
    """The version of a document that holds now.

    Attributes
    ----------
    name : str
        Of the document.
    number, change_id : int
        Which version, and what brought it.
    at, author : str
        UTC, ISO 8601; first name or empty.
    gone : bool
        It was taken out.
    content : str
        Canonical JSON.
    """

    name: str
    number: int
    change_id: int
    at: str
    author: str
    gone: bool
    content: str


def kinds():
    """What a time line can be cut down to.

    Returns
    -------
    tuple of str
        The first shows everything.
    """
    return tuple(_only())


def page(session, team, kind, *, before=None, limit=50):
    """Changes of a time line, the newest first.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        The team.
    kind : str
        One of ``kinds``.
    before : int, optional
        Only changes with a smaller number: the next page.
    limit : int
        At most so many.

    Returns
    -------
    tuple of Done
        The changes; a note stands where it was first written, whatever was done to it later.
    """
    return changes.history(session, team, before=before, limit=limit, only=_only()[kind])


def brought(session, numbers):
    """What changes did to documents.

    Parameters
    ----------
    session : Session
        A transaction.
    numbers : sequence of int
        Of the changes.

    Returns
    -------
    dict of int to Brought
        By the number of the change; files are left where they are.
    """
    earlier = DocumentVersion.__table__.alias("earlier")
    found = (
        select(
            DocumentVersion.change_id,
            DocumentVersion.document_id,
            DocumentVersion.number,
            Document.kind,
            Document.name,
            DocumentVersion.content,
            earlier.c.content,
        )
        .join(Document, Document.id == DocumentVersion.document_id)
        .outerjoin(
            earlier,
            and_(earlier.c.document_id == Document.id, earlier.c.number == DocumentVersion.number - 1),
        )
        .where(DocumentVersion.change_id.in_(numbers))
    )
    return {number: Brought(*rest) for number, *rest in session.execute(found)}


def newest(session, document_ids):
    """Versions that hold now.

    Parameters
    ----------
    session : Session
        A transaction.
    document_ids : sequence of int
        Numbers of documents.

    Returns
    -------
    dict of int to Now
        By the number of the document; files are left where they are.
    """
    last = select(DocumentVersion.document_id, func.max(DocumentVersion.number).label("number"))
    last = last.where(DocumentVersion.document_id.in_(document_ids)).group_by(DocumentVersion.document_id).subquery()
    own = DocumentVersion
    found = (
        select(
            own.document_id, Document.name, own.number, own.change_id, Change.at, Change.author, own.gone, own.content
        )
        .join(last, and_(last.c.document_id == own.document_id, last.c.number == own.number))
        .join(Change, Change.id == own.change_id)
        .join(Document, Document.id == own.document_id)
    )
    return {number: Now(*rest) for number, *rest in session.execute(found)}


def _only():
    """Conditions on changes, by kind."""
    later = exists().where(DocumentVersion.change_id == Change.id, DocumentVersion.number > 1)
    decided = exists().where(
        DocumentVersion.change_id == Change.id,
        DocumentVersion.content.startswith(f'{{"kind":"{notes.DECISION}"', autoescape=True),  # keys stand in order
    )
    written = (Change.verb == _NOTE, ~later)
    return {
        "all": (Change.verb.not_in(_HIDDEN), ~and_(Change.verb == _NOTE, later)),
        "notes": written,
        "decisions": (*written, decided),
        "versions": (Change.verb == _VERSION,),
        "readings": (Change.verb.in_(READINGS),),
        "undone": (Change.verb == changes.UNDO,),
    }
