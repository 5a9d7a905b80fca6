"""A whole room in one zip file: what it is set to, its events and bins, and the bundle of every team.

PINs travel as their hashes only. The bundles inside are the same that carry one team alone.
"""

import hashlib
import json
import tempfile
import zipfile
import zlib
from datetime import datetime

from sqlalchemy import delete, select, update

from whirlbench.errors import InputError, InputErrors
from whirlbench.parts import plain
from whirlbench.store import bundle, clock, documents, names, settings, teams
from whirlbench.store.schema import Change, Document, DocumentVersion, Team
from whirlbench.store.shelf import BINS, EVENTS

FORMAT = 1
_KIND, _MANIFEST = "whirlbench room", "room.json"
_MODELS = {each.kind: each.model for each in (EVENTS, BINS)}
_MOST_BYTES, _MOST_TEAMS, _LONGEST_MANIFEST, _PIECE = 4 << 30, 1000, 64 << 20, 1 << 20
_IN_MEMORY = 16 << 20  # a bundle beyond it waits on the disk
_TRY = "make the backup again, and copy it as it is"


def pack(session, setting, file):
    """Write the room.

    Parameters
    ----------
    session : Session
        A transaction that sees one moment.
    setting : str
        Name of the setting that says what the room is.
    file : binary file
        Where to, open for writing from its start.
    """
    lines = []
    with zipfile.ZipFile(file, "w") as archive:
        for team in teams.every(session):
            place = f"teams/{len(lines) + 1:04}.zip"
            with tempfile.SpooledTemporaryFile(_IN_MEMORY) as packed:
                bundle.pack(session, team, packed)
                digest = _copied(packed, archive, place)
            lines.append({"name": team.name, "pin": team.pin, "file": place, "sha256": digest})
        manifest = {
            "kind": _KIND,
            "format": FORMAT,
            "made_at": clock.now(),
            "room": settings.load(session, setting),
            "documents": [_document(session, one) for one in _of_the_room(session)],
            "teams": lines,
        }
        archive.writestr(_MANIFEST, json.dumps(manifest, indent=1, sort_keys=True))


def _copied(packed, archive, place):
    packed.seek(0)
    digest = hashlib.sha256()
    with archive.open(place, "w", force_zip64=True) as member:
        while piece := packed.read(_PIECE):
            digest.update(piece)
            member.write(piece)
    return digest.hexdigest()


def _of_the_room(session):
    return session.scalars(select(Document).where(Document.team_id.is_(None)).order_by(Document.id)).all()


def _document(session, document):
    kept = ("at", "author", "content", "files")
    versions = [{name: getattr(one, name) for name in kept} for one in documents.versions(session, document)]
    return {"kind": document.kind, "name": document.name, "versions": versions}


def unpack(session, setting, file):
    """Put a room in the place of the one that is there.

    Parameters
    ----------
    session : Session
        A writing transaction.
    setting : str
        Name of the setting that says what the room is.
    file : path or binary file
        The room as ``pack`` wrote it.

    Raises
    ------
    InputError
        A file that is no whole room; nothing was changed then.
    """
    try:
        with zipfile.ZipFile(file) as archive:
            manifest = _checked(archive)
            clear(session)
            settings.keep(session, setting, **manifest["room"])
            for document in manifest["documents"]:
                _restore_document(session, document)
            for line in manifest["teams"]:
                with tempfile.SpooledTemporaryFile(_IN_MEMORY) as packed:
                    _extract(archive, line, packed)
                    bundle.unpack(session, packed, name=line["name"]).pin = line["pin"]
                    session.flush()
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
        raise _damaged(f"a file that cannot be unpacked ({str(error)[:100]})") from None


def clear(session):
    """Take everything out of a room but the coach's sign-ins.

    Parameters
    ----------
    session : Session
        A writing transaction.
    """
    for table in (Team, Document, Change):
        session.execute(delete(table))
    settings.forget(session)


def _damaged(got):
    return InputError("backup", got, "a room as Whirlbench wrote it", try_=_TRY)


def _checked(archive):
    members = archive.infolist()
    if sum(member.file_size for member in members) > _MOST_BYTES:
        raise _damaged(f"more than {_MOST_BYTES >> 30} GB")
    manifest = _manifest(archive)
    try:
        _check_shape(manifest)
    except (LookupError, TypeError, AttributeError, ValueError):
        raise _damaged("a room that is none") from None
    places = [line["file"] for line in manifest["teams"]]
    if sorted(member.filename for member in members) != sorted([*places, _MANIFEST]):
        raise _damaged("a zip with other files in it")
    return manifest


def _manifest(archive):
    if _MANIFEST not in archive.namelist() or archive.getinfo(_MANIFEST).file_size > _LONGEST_MANIFEST:
        raise _damaged("a zip of something else")
    try:
        manifest = json.loads(archive.read(_MANIFEST))
        kind, version = manifest["kind"], manifest["format"]
    except (ValueError, LookupError, TypeError, RecursionError):
        raise _damaged("a room that is none") from None
    if kind != _KIND:
        raise _damaged("a zip of something else")
    if version != FORMAT:
        raise InputError("backup", f"format {version}", str(FORMAT), try_="use the Whirlbench that wrote it, or newer")
    return manifest


def _check_shape(manifest):
    """Refuse what no room can be, so that nothing odd is written; hashes may be missing, never odd."""
    kept = manifest["room"]
    texts = [kept["name"], *(kept[key] for key in ("event", "bin") if key in kept)]
    whole = (
        all(isinstance(text, str) for text in texts) and len(manifest["teams"]) <= _MOST_TEAMS and _is_hash(kept["pin"])
    )
    for line in manifest["teams"]:
        whole = whole and set(line) == {"name", "pin", "file", "sha256"} and isinstance(line["name"], str)
        whole = whole and (line["pin"] is None or _is_hash(line["pin"]))
    if not whole:
        raise ValueError
    for text in texts:
        names.checked_name("name", text)


def _is_hash(text):
    salt, _, digest = text.partition(":")
    return len(salt) == 32 and len(digest) == 128 and bytes.fromhex(salt + digest) is not None


def _restore_document(session, document):
    """Every version as it was, with its own time; content that its kind does not take is refused."""
    try:
        kind, name = document["kind"], names.checked_name("name", document["name"])
        for one in document["versions"]:
            content = plain.text_of(plain.part_of(_MODELS[kind], one["content"]))
            files = {names.checked_text("file", key): str(text) for key, text in one["files"].items()}
            words = {"author": names.checked_text("author", one["author"]), "files": files}
            _, saved = documents.save(session, None, kind, name, content=content, **words)
            brought = select(DocumentVersion.change_id).where(DocumentVersion.id == saved.id).scalar_subquery()
            at = clock.at(datetime.fromisoformat(one["at"]))
            session.execute(update(Change).where(Change.id == brought).values(at=at))
    except (LookupError, TypeError, AttributeError, ValueError, RecursionError, InputErrors) as error:
        raise _damaged(f"an event or bin that is none ({str(error)[:100]})") from None


def _extract(archive, line, packed):
    digest = hashlib.sha256()
    with archive.open(line["file"]) as member:
        while piece := member.read(_PIECE):
            digest.update(piece)
            packed.write(piece)
    if digest.hexdigest() != line["sha256"]:
        raise _damaged(f"{line['file']}, which was changed after it was written")
    packed.seek(0)
