"""Notes and photos of a team: a note keeps every version, a photo never changes."""

import base64
import binascii
import json
import re
import struct

import sqlalchemy
from sqlalchemy import select

from whirlbench.errors import Conflict, InputError, UnknownKey
from whirlbench.parts import plain
from whirlbench.store import changes, documents, names
from whirlbench.store.schema import Document, DocumentVersion

KIND, PHOTO = "note", "photo"
NOTE, DECISION = "note", "decision"
MOST_PHOTOS, MOST_BYTES, MOST_PIXELS = 6, 2 << 20, 1600  # photos of a note, bytes of a photo, pixels of its longer side
_FILE, _ERASED = "photo.jpg", "{}"  # the picture of a photo, and what a photo says that was deleted for good
_TEXTS = ("kind", "text", "why", "predicted", "turbine")
_WHOLE = {*_TEXTS, "photos", "version"}
_FRAMES = {*range(0xC0, 0xD0)} - {0xC4, 0xC8, 0xCC}  # JPEG segments that tell the size
_NAMED = {kind: re.compile(rf"{kind} [1-9][0-9]{{0,8}}") for kind in (KIND, PHOTO)}
_ALONE = {0x01, *range(0xD0, 0xD9)}  # JPEG marks without a length


def checked(content):
    """What a note says, once it was found whole.

    Parameters
    ----------
    content : dict
        ``kind`` (note or decision), ``text``, ``why``, ``predicted``, ``photos`` (names), ``turbine`` and ``version``.

    Returns
    -------
    dict
        The same.

    Raises
    ------
    InputError
        Another shape, no text, or too much.
    """
    whole = isinstance(content, dict) and content.keys() == _WHOLE
    whole = whole and all(isinstance(content[name], str) for name in _TEXTS)
    whole = whole and content["kind"] in (NOTE, DECISION) and isinstance(content["photos"], list)
    whole = whole and all(isinstance(one, str) and _NAMED[PHOTO].fullmatch(one) for one in content["photos"])
    whole = whole and len(content["photos"]) <= MOST_PHOTOS
    whole = whole and (content["version"] is None or type(content["version"]) is int)
    if not whole:
        needs = f"kind, text, and at most {MOST_PHOTOS} photos"
        raise InputError("note", "another shape", needs, try_="write it on the page of the logbook")
    for name in _TEXTS:
        names.checked_text(name, content[name])
    if not (content["text"].strip() or content["photos"]):
        raise InputError("note", "nothing", "some words or a photo", try_="write what you saw or did")
    return content


def keep(session, team, content, *, author=""):
    """Save a new note.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    content : dict
        As ``checked`` takes it.
    author : str
        First name, or empty.

    Returns
    -------
    Saved
        Its first version.

    Raises
    ------
    InputError
        Nothing to keep, or too much.
    UnknownKey
        A photo that the team does not have.
    """
    text = _written(session, team, content)
    return documents.save(session, team, KIND, _next(session, team, KIND), content=text, author=author)[1]


def change(session, team, number, *, seen, content, author=""):
    """Save a new version of a note.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    number : int
        Of the note.
    seen : int
        The version that was changed.
    content : dict
        As ``checked`` takes it.
    author : str
        First name, or empty.

    Returns
    -------
    Saved
        The version that holds now.

    Raises
    ------
    InputError
        Nothing to keep, or too much.
    UnknownKey
        No such note or photo.
    Conflict
        Somebody changed it meanwhile.
    """
    before = _seen(session, team, number, seen)
    text = _written(session, team, content)
    return documents.save(session, team, KIND, before.name, content=text, author=author)[1]


def delete(session, team, number, *, seen, author=""):
    """Take a note out; its versions stay, so it can be brought back.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    number : int
        Of the note.
    seen : int
        The version that was looked at.
    author : str
        First name, or empty.

    Returns
    -------
    int
        Number of the change, which undo takes back.

    Raises
    ------
    UnknownKey
        No such note.
    Conflict
        Somebody changed it meanwhile.
    """
    before = _seen(session, team, number, seen)
    made = changes.begin(session, team, f"delete {KIND}", before.name, author=author)
    fields = {"content": before.content, "files": before.files, "gone": True, "change_id": made}
    session.add(DocumentVersion(document_id=before.document_id, number=before.number + 1, **fields))
    session.flush()
    return made


def load(session, team, number):
    """Note as it is now.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose it is.
    number : int
        Of the note.

    Returns
    -------
    Saved
        The version that holds now; it may be gone.

    Raises
    ------
    UnknownKey
        No such note.
    """
    return documents.versions(session, documents.find(session, team, KIND, f"{KIND} {number}"), newest_only=True)[0]


def keep_photo(session, team, picture, *, author=""):
    """Save a photo.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    picture : bytes
        A JPEG, as small as ``MOST_BYTES`` and ``MOST_PIXELS`` ask for.
    author : str
        First name, or empty.

    Returns
    -------
    str
        Name of the photo; what it was called before is not kept.

    Raises
    ------
    InputError
        No such JPEG.
    """
    width, height = photo_size(picture)
    name = _next(session, team, PHOTO)
    content = plain.text_of({"width": width, "height": height})
    files = {_FILE: base64.b64encode(picture).decode()}
    return documents.save(session, team, PHOTO, name, content=content, files=files, author=author)[1].name


def photo(session, team, number):
    """A photo of a team.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose it is.
    number : int
        Of the photo.

    Returns
    -------
    bytes
        The JPEG.

    Raises
    ------
    UnknownKey
        No such photo, or one that was deleted for good.
    """
    return _picture(documents.newest(session, team, PHOTO, f"{PHOTO} {number}").files)


def photos_left(session, team, photos):
    """Names of photos that were not deleted for good.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose they are.
    photos : sequence of str
        Names of photos.

    Returns
    -------
    set of str
        Those that can be shown.
    """
    found = select(Document.name).join(DocumentVersion, DocumentVersion.document_id == Document.id)
    found = found.where(Document.team_id == team.id, Document.kind == PHOTO, Document.name.in_(photos))
    return set(session.scalars(found.where(DocumentVersion.content != _ERASED)))


def erase_photo(session, team, number, *, author=""):
    """Delete a photo for good: this alone is not kept, because it may show a face.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    number : int
        Of the photo.
    author : str
        First name, or empty.

    Raises
    ------
    UnknownKey
        No such photo.
    """
    document = documents.find(session, team, PHOTO, f"{PHOTO} {number}")
    change = changes.begin(session, team, f"keep {PHOTO}", document.name, author=author)
    session.execute(sqlalchemy.delete(DocumentVersion).where(DocumentVersion.document_id == document.id))
    nothing = {"content": _ERASED, "files": {}}
    session.add(DocumentVersion(document_id=document.id, number=1, change_id=change, **nothing))
    session.flush()


def photo_size(picture):
    """Width and height of a JPEG that may be kept.

    Parameters
    ----------
    picture : bytes
        The file.

    Returns
    -------
    tuple of int
        In pixels.

    Raises
    ------
    InputError
        No JPEG, or one that is too large.
    """
    size = _size(picture) if len(picture) <= MOST_BYTES else None
    if size is None or not 0 < max(size) <= MOST_PIXELS or not min(size):
        needs = f"a JPEG of at most {MOST_BYTES >> 20} MB and {MOST_PIXELS} pixels each way"
        raise InputError(
            "photo", f"{len(picture)} bytes that are none", needs, try_="add it on the page of the logbook"
        )
    return size


def number_of(name):
    """Number of a note or photo, by which a page knows it.

    Parameters
    ----------
    name : str
        Such as ``note 7``.

    Returns
    -------
    int
        Counted in the team from 1.
    """
    return int(name.rpartition(" ")[2])


def check(kind, name, content, files):
    """Refuse a note or photo of a bundle that no team can have kept.

    Parameters
    ----------
    kind, name : str
        ``note`` or ``photo``, and what it is called.
    content : str
        JSON.
    files : dict of str to str
        The picture of a photo.

    Raises
    ------
    InputError
        Something else.
    """
    if not _NAMED[kind].fullmatch(name):
        raise InputError(kind, f"'{name}'", f"a name such as '{kind} 7'", try_="write it on the page of the logbook")
    told = json.loads(content)
    if kind == KIND:
        checked(told)
    elif (content, files) != (_ERASED, {}) and told != dict(
        zip(("width", "height"), photo_size(_picture(files)), strict=True)
    ):
        raise InputError("photo", "another size than its picture has", "the size of its picture", try_="add it anew")


def _written(session, team, content):
    text = plain.text_of(checked(content))
    for name in content["photos"]:
        documents.find(session, team, PHOTO, name)
    return text


def _seen(session, team, number, seen):
    """Version that holds now, where it is the one that was seen."""
    now = load(session, team, number)
    if now.number != seen:
        by = f" by {now.author}" if now.author else ""
        got, needs = f"a change to version {seen}", f"version {now.number}, written at {now.at}{by}"
        raise Conflict(now.name, got, needs, try_="look at the newer words, then change those")
    return now


def _next(session, team, kind):
    """Name for one more; the name of one that is gone is not given again."""
    known = session.scalars(select(Document.name).where(Document.team_id == team.id, Document.kind == kind))
    return f"{kind} {max((number_of(name) for name in known), default=0) + 1}"


def _picture(files):
    try:
        return base64.b64decode(files[_FILE], validate=True)
    except (KeyError, binascii.Error):
        needs = "a photo that was not deleted for good"
        raise UnknownKey("photo", "no picture", needs, try_="add it anew") from None


def _size(picture):
    """Width and height from the first frame of a JPEG, or None."""
    if not (picture.startswith(b"\xff\xd8\xff") and picture.endswith(b"\xff\xd9")):
        return None
    at = 2
    while at + 9 <= len(picture) and picture[at] == 0xFF:
        mark = picture[at + 1]
        if mark in _FRAMES:
            height, width = struct.unpack(">HH", picture[at + 5 : at + 9])
            return width, height
        at += 2 if mark in _ALONE else 2 + struct.unpack(">H", picture[at + 2 : at + 4])[0]
    return None
