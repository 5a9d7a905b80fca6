"""A team in one zip file: everything out, and everything in again without loss.

Each table is one file of JSON lines. Numbers of rows are counted anew from 1, so equal content is equal bytes in
whatever store it stands, and nothing in a bundle can point out of it.
"""

import hashlib
import itertools
import json
import math
import zipfile
import zlib
from collections import Counter

from sqlalchemy import JSON, BigInteger, select
from sqlalchemy.exc import IntegrityError

from whirlbench.errors import InputError, InputErrors
from whirlbench.measure.columns import NUMBERS, TEXTS
from whirlbench.parts import plain
from whirlbench.parts.turbine import Turbine
from whirlbench.store import documents, names, notes, plans, teams, turbines
from whirlbench.store.rows import AT_ONCE, inserted
from whirlbench.store.schema import Change, Document, DocumentVersion, ReadingRow, ReadingVersion, Run, RunChunk

FORMAT = 1
_KIND = "whirlbench team bundle"
_MANIFEST = "manifest.json"
# a table stands after those it points to; a version or chunk belongs to the team of its thing
_TABLES = {
    "changes": (Change, None),
    "documents": (Document, None),
    "document_versions": (DocumentVersion, Document),
    "readings": (ReadingRow, None),
    "reading_versions": (ReadingVersion, ReadingRow),
    "runs": (Run, None),
    "run_chunks": (RunChunk, Run),
}
_FILES = {f"{name}.jsonl": tables for name, tables in _TABLES.items()}
_KINDS = (turbines.KIND, plans.KIND, notes.KIND, notes.PHOTO)
_KINDS_OF_MORE = dict.fromkeys(NUMBERS, (int, float)) | dict.fromkeys(TEXTS, (str,)) | {"row": (int,)}
_MOST_BYTES, _LONGEST_LINE, _LONGEST_MANIFEST = 1 << 30, 1 << 24, 1 << 16
_EARLIEST = (1980, 1, 1, 0, 0, 0)  # a zip knows no earlier day; the same for every file keeps the bytes the same
_TRY = "make the bundle again with 'whirlbench bundle out', and copy it as it is"


def pack(session, team, file):
    """Write a team's bundle.

    Parameters
    ----------
    session : Session
        A transaction that sees one moment.
    team : Team
        The team.
    file : binary file
        Where to, open for writing from its start.
    """
    places, files = {}, {}
    with zipfile.ZipFile(file, "w") as archive:
        for name, tables in _FILES.items():
            with archive.open(_zip_entry(name), "w") as member:
                size, digest = 0, hashlib.sha256()
                for line in _lines(session, team, tables, places):
                    member.write(line)
                    digest.update(line)
                    size += len(line)
            files[name] = {"bytes": size, "sha256": digest.hexdigest()}
        whose = {"name": team.name, "created_at": team.created_at}
        manifest = {"kind": _KIND, "format": FORMAT, "team": whose, "files": files}
        archive.writestr(_zip_entry(_MANIFEST), json.dumps(manifest, indent=1, sort_keys=True))


def _zip_entry(name):
    entry = zipfile.ZipInfo(name, _EARLIEST)
    entry.compress_type, entry.create_system, entry.external_attr = zipfile.ZIP_DEFLATED, 3, 0o644 << 16
    return entry


def _lines(session, team, tables, places):
    """One table's rows as lines, with numbers counted anew."""
    table, thing = tables
    columns, kept, mine = table.__table__.c, _kept(table), places.setdefault(table.__tablename__, {})
    pointers = {name: places[_target(columns[name])] for name in kept if _target(columns[name])}
    rows = select(columns).order_by(columns.id).execution_options(yield_per=AT_ONCE)
    if thing:
        rows = rows.join(thing.__table__)
    for row in session.execute(rows.where((thing or table).team_id == team.id)).mappings():
        mine[row["id"]] = len(mine) + 1
        fields = {name: row[name] for name in kept}
        for name, numbers in pointers.items():
            if row[name] is not None:
                fields[name] = numbers[row[name]]
        yield json.dumps(fields, sort_keys=True, separators=(",", ":"), allow_nan=False).encode() + b"\n"


def _kept(table):
    return [column.name for column in table.__table__.c if column.name not in ("id", "team_id")]


def _target(column):
    """Name of the table that a column points to, or None."""
    return next((key.column.table.name for key in column.foreign_keys), None)


def unpack(session, file, *, name=None):
    """Make a team from its bundle.

    Parameters
    ----------
    session : Session
        A writing transaction.
    file : path or binary file
        The bundle; nothing of it is ever written to a file of its own.
    name : str, optional
        What to call the team here; without it as in the bundle.

    Returns
    -------
    Team
        The new team.

    Raises
    ------
    InputError
        A file that is no whole bundle, or a team that is here already.
    """
    try:
        with zipfile.ZipFile(file) as archive:
            whose = _checked(archive)
            team = teams.add(session, name or whose["name"])
            team.created_at = whose["created_at"]
            session.flush()
            ids = {}
            for place, (table, thing) in _FILES.items():
                with archive.open(place) as member:
                    rows = _numbered(_rows(member, table, place), thing, place)
                    _fill(session, team, table, rows, ids=ids)
            _check_documents(session, team)
    except IntegrityError:
        raise _damaged("rows that contradict each other") from None
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
        if isinstance(error, RecursionError):
            raise _damaged("lines nested without end") from None
        raise _damaged(f"a file that cannot be unpacked ({error})") from None
    return team


def _damaged(got):
    return InputError("bundle", got, "a bundle as Whirlbench wrote it", try_=_TRY)


def _checked(archive):
    """The team of a bundle whose files are those of the manifest, byte by byte."""
    members = archive.infolist()
    if sorted(member.filename for member in members) != sorted([*_FILES, _MANIFEST]):
        raise _damaged("a zip with other files in it")
    if sum(member.file_size for member in members) > _MOST_BYTES:
        raise _damaged(f"more than {_MOST_BYTES >> 20} MB")
    manifest = _manifest(archive)
    for place in _FILES:
        digest = hashlib.sha256()
        with archive.open(place) as member:
            while piece := member.read(1 << 20):
                digest.update(piece)
        if manifest["files"].get(place, {}).get("sha256") != digest.hexdigest():
            raise _damaged(f"{place}, which was changed after it was written")
    return manifest["team"]


def _manifest(archive):
    if archive.getinfo(_MANIFEST).file_size > _LONGEST_MANIFEST:
        raise _damaged("a manifest without end")
    try:
        manifest = json.loads(archive.read(_MANIFEST))
        kind, version, whose, files = (manifest[key] for key in ("kind", "format", "team", "files"))
        texts = (whose["name"], names.checked_text("created_at", whose["created_at"]))
        whole = kind == _KIND and all(isinstance(text, str) for text in texts)
        whole = whole and all(isinstance(one, dict) for one in files.values())
    except (ValueError, LookupError, TypeError, AttributeError):
        whole = False
    if not whole:
        raise _damaged("a manifest that is none")
    if version != FORMAT:
        raise InputError(
            "bundle", f"format {version}", str(FORMAT), try_="use the Whirlbench that wrote it, or a newer"
        )
    return manifest


def _rows(member, table, place):
    """Rows of one file, every value of the kind that its column takes."""
    decoder = json.JSONDecoder(parse_float=_finite, parse_constant=_finite)
    facts = {name: _facts(table.__table__.c[name]) for name in _kept(table)}
    for number in itertools.count(1):
        line = member.readline(_LONGEST_LINE)
        if not line:
            return
        try:
            row = decoder.decode(line.decode())
            if not isinstance(row, dict) or row.keys() != facts.keys():
                raise ValueError("other columns")
            for name, value in row.items():
                _check_value(name, value, facts[name])
            _check_row(table, row)
        except (ValueError, InputError, InputErrors, RecursionError) as error:
            raise _damaged(f"{place} line {number}: {str(error)[:200]}") from None
        yield row


def _numbered(rows, thing, place):
    """The same rows, where the versions or chunks of each thing count 1, 2, 3."""
    seen = Counter()
    for row in rows:
        if thing:
            owner = row[f"{thing.__tablename__}_id"]
            seen[owner] += 1
            if row["number"] != seen[owner]:
                raise _damaged(f"{place} with a gap before number {row['number']}")
        yield row


def _finite(text):
    number = float(text)
    if not math.isfinite(number):
        raise ValueError("a number that is none")
    return number


def _facts(column):
    """Kind of a column, whether it may be empty, and the end of its whole numbers."""
    kind = dict if isinstance(column.type, JSON) else column.type.python_type
    return kind, column.nullable, 2**63 if isinstance(column.type, BigInteger) else 2**31


def _check_value(name, value, facts):
    kind, nullable, end = facts
    if value is None and nullable:
        return
    if type(value) is not kind and not (kind is float and type(value) is int):
        raise ValueError(f"{name} is no {kind.__name__}")
    if kind is str:
        _check_text(name, value)
    if kind is int and not abs(value) < end:
        raise ValueError(f"{name} is too long a number")


def _check_text(name, value):
    """No length: content may be long."""
    for first in range(0, len(value), 5000):
        names.checked_text(name, value[first : first + 5000])


def _check_row(table, row):
    """What the kinds of the columns do not tell."""
    if table is Document and (row["kind"] not in _KINDS or row["key"] != names.key(row["name"])):
        raise ValueError("a document that no team can have")
    if table is DocumentVersion and not all(isinstance(text, str) for text in row["files"].values()):
        raise ValueError("files that are no text")
    if table is ReadingVersion:
        for name, value in row["more"].items():
            if type(value) not in _KINDS_OF_MORE.get(name, (type(value),)):
                raise ValueError(f"{name} is of another kind")


def _check_documents(session, team):
    for document in session.scalars(select(Document).where(Document.team_id == team.id)):
        for saved in documents.versions(session, document):
            try:
                json.loads(saved.content)
                if document.kind == turbines.KIND:
                    plain.part_of(Turbine, saved.content)
                if document.kind in (notes.KIND, notes.PHOTO):
                    notes.check(document.kind, document.name, saved.content, saved.files)
            except (ValueError, RecursionError, InputError, InputErrors) as error:
                raise _damaged(f"a {document.kind} that is none: {str(error)[:200]}") from None


def _fill(session, team, table, rows, *, ids):
    """Add the rows of one table; rows that point to each other travel apart."""
    mine, waiting = ids.setdefault(table.__tablename__, []), []
    columns = table.__table__.c
    whose = {"team_id": team.id} if "team_id" in columns else {}
    targets = {name: ids[_target(columns[name])] for name in _kept(table) if _target(columns[name])}
    for row in rows:
        pointers = {name: row[name] for name in targets if row[name] is not None}
        if len(waiting) == AT_ONCE or any(value > len(targets[name]) for name, value in pointers.items()):
            mine += inserted(session, table, waiting)
            waiting = []
        for name, value in pointers.items():
            if not 1 <= value <= len(targets[name]):
                raise _damaged(f"{name} that points to nothing")
            row[name] = targets[name][value - 1]
        waiting.append(row | whose)
    mine += inserted(session, table, waiting)
