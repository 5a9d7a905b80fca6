"""Documents: named things whose every saved version is kept."""

from dataclasses import dataclass

from sqlalchemy import func, select

from whirlbench.errors import UnknownKey, nearest
from whirlbench.store import changes, names
from whirlbench.store.schema import Change, Document, DocumentVersion


@dataclass(frozen=True)
class Saved:
    """One saved version of a document.

    Attributes
    ----------
    id, document_id : int
        Numbers in the store.
    name : str
        Of the document.
    number : int
        1, 2, 3...
    at, author : str
        UTC, ISO 8601; first name or empty.
    gone : bool
        The document was deleted with this version.
    content : str
        Canonical JSON.
    files : dict of str to str
        Files that the content names.
    """

    id: int
    document_id: int
    name: str
    number: int
    at: str
    author: str
    gone: bool
    content: str
    files: dict


def save(session, team, kind, name, *, content, files=None, author=""):
    """Keep a document; content that is there already makes no new version.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team or None
        None for what belongs to the room.
    kind, name : str
        ``turbine``, ``plan`` or ``event``, and what it is called.
    content : str
        Canonical JSON, see ``parts.plain``.
    files : dict of str to str, optional
        Files that the content names.
    author : str
        First name, or empty.

    Returns
    -------
    tuple of Saved or None
        The version before, and the version that holds now: the same one when nothing was new.
    """
    name, files = names.checked_name(kind, name), files or {}
    document = session.scalar(_document(team, kind, name))
    before = versions(session, document, newest_only=True)[0] if document else None
    if before and not before.gone and (before.content, before.files) == (content, files):
        return before, before
    if document is None:
        document = Document(team_id=team.id if team else None, kind=kind, name=name, key=names.key(name))
        session.add(document)
        session.flush()
    session.add(
        DocumentVersion(
            document_id=document.id,
            number=before.number + 1 if before else 1,
            change_id=changes.begin(session, team, f"keep {kind}", name, author=author),
            content=content,
            files=files,
        )
    )
    session.flush()
    return before, versions(session, document, newest_only=True)[0]


def find(session, team, kind, name):
    """Document of a name.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team or None
        None for what belongs to the room.
    kind, name : str
        ``turbine``, ``plan`` or ``event``, and what it is called.

    Returns
    -------
    Document
        The document.

    Raises
    ------
    UnknownKey
        No such document; says the nearest.
    """
    document = session.scalar(_document(team, kind, names.checked_name(kind, name)))
    if document is None:
        known = [each.name for each in every(session, team, kind)]
        try_ = nearest(name, known) if known else f"keep the {kind} first"
        raise UnknownKey(kind, f"'{name}'", f"a {kind} that was kept", try_=try_)
    return document


def newest(session, team, kind, name):
    """Version of a document that holds now.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team or None
        None for what belongs to the room.
    kind, name : str
        ``turbine``, ``plan`` or ``event``, and what it is called.

    Returns
    -------
    Saved
        The version.

    Raises
    ------
    UnknownKey
        No such document, or one whose keeping was undone.
    """
    saved = versions(session, find(session, team, kind, name), newest_only=True)[0]
    if saved.gone:
        raise UnknownKey(kind, f"'{name}', which was taken back", f"a {kind} that is kept", try_="keep it again")
    return saved


def versions(session, document, *, newest_only=False):
    """Saved versions of a document.

    Parameters
    ----------
    session : Session
        A transaction.
    document : Document
        The document.
    newest_only : bool
        Only the version that holds now.

    Returns
    -------
    tuple of Saved
        Oldest first.
    """
    found = select(DocumentVersion, Change).join(Change, DocumentVersion.change_id == Change.id)
    found = found.where(DocumentVersion.document_id == document.id).order_by(DocumentVersion.number)
    if newest_only:
        found = found.order_by(None).order_by(DocumentVersion.number.desc()).limit(1)
    return tuple(_saved(document, *each) for each in session.execute(found))


def every(session, team, kind):
    """What holds now, of every document of a kind that was not deleted.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team or None
        None for what belongs to the room.
    kind : str
        ``turbine``, ``plan`` or ``event``.

    Returns
    -------
    tuple of Saved
        By name.
    """
    newest = (
        select(DocumentVersion.document_id, func.max(DocumentVersion.number).label("number"))
        .group_by(DocumentVersion.document_id)
        .subquery()
    )
    found = (
        select(Document, DocumentVersion, Change)
        .join(DocumentVersion, DocumentVersion.document_id == Document.id)
        .join(Change, DocumentVersion.change_id == Change.id)
        .join(newest, (newest.c.document_id == Document.id) & (newest.c.number == DocumentVersion.number))
        .where(_belongs(team), Document.kind == kind, DocumentVersion.gone.is_(False))
        .order_by(Document.key)
    )
    return tuple(_saved(*each) for each in session.execute(found))


def _belongs(team):
    return Document.team_id == team.id if team else Document.team_id.is_(None)


def _document(team, kind, name):
    return select(Document).where(_belongs(team), Document.kind == kind, Document.key == names.key(name))


def _saved(document, version, change):
    return Saved(
        id=version.id,
        document_id=document.id,
        name=document.name,
        number=version.number,
        at=change.at,
        author=change.author,
        gone=version.gone,
        content=version.content,
        files=version.files,
    )
