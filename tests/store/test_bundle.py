"""Bundles: everything out and in again without loss; damaged, forged and foreign files are refused whole."""

import hashlib
import io
import json
import zipfile
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from store.any_reading import any_readings

from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.measure.readings import Reading
from whirlbench.store import bundle, changes, plans, readings, runs, teams, turbines
from whirlbench.store.store import Store


def filled(session, team, turbine, rows):
    """A team that has done a little of everything."""
    version = turbines.keep(session, team, turbine, author="Ana")
    turbines.keep(session, team, turbine.changed(note="second"))
    plan = plans.keep(session, team, "Pitch", plan={"rows": [1, 2.5, None]})
    ids = readings.add(
        session, team, rows, marks=[f"m{i}" for i in range(len(rows))], turbine_version_id=version.id, subject="a.csv"
    )
    for number, one in enumerate(ids[:2]):
        readings.change(session, team, one, seen=1, reading=replace(rows[number], voltage=9.5), author="Bo")
    if ids:
        readings.delete(session, team, ids[-1], seen=2 if len(ids) < 3 else 1)
    changes.undo(session, team)
    changes.undo(session, team)
    readings.add(session, team, rows[:1], plan_id=plan.document_id, plan_rows=[3] * len(rows[:1]))
    run = runs.begin(session, team, "first", columns={"time": "s"}, turbine_version_id=version.id)
    runs.append(session, team, run, number=1, samples={"time": [0.1, None, 1e-9]})


def packed(store, team):
    with store.looking() as session:
        file = io.BytesIO()
        bundle.pack(session, team, file)
        return file.getvalue()


def unpacked(store, content, name=None):
    with store.writing() as session:
        return bundle.unpack(session, io.BytesIO(content), name=name)


ROWS = [Reading(row=number, wind_speed=4.0, voltage=number / 7, note=f"no {number}") for number in range(1, 6)]


@pytest.fixture
def whole(store, team, starter):
    """A bundle of a team that has done a little of everything."""
    with store.writing() as session:
        filled(session, team, starter, ROWS)
    return packed(store, team)


@pytest.fixture(scope="module")
def room(tmp_path_factory, starter):
    """A store and the bundle of its one team."""
    with Store(tmp_path_factory.mktemp("room") / "room.db") as store:
        with store.writing() as session:
            team = teams.add(session, "Kittiwake")
            filled(session, team, starter, ROWS)
        yield store, packed(store, team)


def test_in_and_out_again_is_the_same_bytes(store, team, whole, starter, tmp_path):
    assert packed(store, team) == whole
    with Store(tmp_path / "another.db") as other:
        with other.writing() as session:  # its numbers are not ours
            filled(session, teams.add(session, "Earlier"), starter, ROWS)
        there = unpacked(other, whole)
        assert packed(other, there) == whole
        with other.looking() as session, store.looking() as ours:
            mine, theirs = (
                [replace(one, id=0) for one in readings.every(*whose, versions=True)]
                for whose in ((ours, team), (session, there))
            )
            assert mine == theirs
            assert [one.turbine for one in turbines.every(session, there)] == [starter.changed(note="second")]
            assert plans.load(session, there, "pitch") == {"rows": [1, 2.5, None]}
            assert runs.load(session, there, runs.every(session, there)[0].id).samples == {"time": [0.1, None, 1e-9]}
            assert len(changes.history(session, there)) == len(changes.history(ours, team))


def test_from_one_database_to_the_other(postgres_store, tmp_path, starter):
    """SQLite to PostgreSQL and back."""
    with Store(tmp_path / "room.db") as store:
        with store.writing() as session:
            team = teams.add(session, "Petrel")
            filled(session, team, starter, ROWS)
        first = packed(store, team)
        there = unpacked(postgres_store, first)
        second = packed(postgres_store, there)
        with postgres_store.writing() as session:
            teams.remove(session, there)
            with store.writing() as back:
                teams.remove(back, team)
        assert first == second
        assert packed(store, unpacked(store, second)) == first


def test_undo_and_marks_still_work_after_the_journey(store, whole):
    team = unpacked(store, whole, name="Tern")
    with store.writing() as session:
        assert len(readings.add(session, team, ROWS, marks=[f"m{number}" for number in range(5)])) == 0
        before = [one.reading for one in readings.every(session, team)]
        changes.undo(session, team)
        assert [one.reading for one in readings.every(session, team)] == before[:-1]


@settings(max_examples=20)
@given(rows=st.lists(any_readings, max_size=6))
def test_any_team_survives_the_journey(room, starter, rows):
    with room[0].writing() as session:
        team = teams.add(session, "Shearwater")
        filled(session, team, starter, rows)
        first, second = io.BytesIO(), io.BytesIO()
        bundle.pack(session, team, first)
        teams.remove(session, team)
        again = bundle.unpack(session, first)
        bundle.pack(session, again, second)
        teams.remove(session, again)
    assert first.getvalue() == second.getvalue()


def test_a_team_that_is_here_is_not_overwritten(store, team, whole):
    with pytest.raises(InputError, match="'Kittiwake', which is here already"):
        unpacked(store, whole)
    assert unpacked(store, whole, name="Tern").name == "Tern"


# --- damage and forgery: found before any row is written, so one database will do ------------------------------------


def refused(store, content):
    """Text of the error; nothing of the bundle may be left in the store."""
    with store.looking() as session:
        before = [team.name for team in teams.every(session)]
    with pytest.raises(WhirlbenchError) as told:
        unpacked(store, content, name="Forged")
    with store.looking() as session:
        assert [team.name for team in teams.every(session)] == before
    assert all(piece in str(told.value) for piece in (": got ", ", needs ", ". Try: "))
    return str(told.value)


def members(content):
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def zipped(files, *, method=zipfile.ZIP_DEFLATED):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", method) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return file.getvalue()


def signed(files):
    """A bundle whose manifest agrees with whatever its files say: the work of a forger, not of a bad cable."""
    manifest = json.loads(files["manifest.json"])
    for name in manifest["files"]:
        manifest["files"][name]["sha256"] = hashlib.sha256(files[name]).hexdigest()
    return zipped(files | {"manifest.json": json.dumps(manifest)})


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04", b"PK\x05\x06" + bytes(18), b"no zip at all" * 100])
def test_files_that_are_no_zip(room, content):
    refused(room[0], content)


def test_a_file_that_is_not_there(room, tmp_path):
    with pytest.raises(InputError, match="cannot be unpacked"), room[0].writing() as session:
        bundle.unpack(session, tmp_path / "missing.zip")


def test_zips_with_other_files(room):
    files = members(room[1])
    assert "other files" in refused(room[0], zipped({"a.txt": "x"}))
    assert "other files" in refused(room[0], zipped(files | {"../../evil.txt": "x"}))
    assert "other files" in refused(room[0], zipped({name: files[name] for name in files if name != "runs.jsonl"}))
    renamed = {("/" + name if name == "runs.jsonl" else name): content for name, content in files.items()}
    assert "other files" in refused(room[0], zipped(renamed))


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_file_that_stands_twice(room):
    file = io.BytesIO(room[1])
    with zipfile.ZipFile(file, "a") as archive:
        archive.writestr("runs.jsonl", b"")
    assert "other files" in refused(room[0], file.getvalue())


def test_every_file_is_guarded(room):
    files = members(room[1])
    for name in set(files) - {"manifest.json"}:
        assert f"{name}, which was changed" in refused(room[0], zipped(files | {name: files[name] + b"\n"}))


def test_a_bundle_cut_short_or_with_a_flipped_bit(room):
    store, whole = room
    for share in (0.1, 0.5, 0.9, 0.99):
        refused(store, whole[: int(share * len(whole))])
    for place in range(40, len(whole) // 2, max(1, len(whole) // 60)):
        flipped = bytearray(whole)
        flipped[place] ^= 16
        try:
            made = unpacked(store, bytes(flipped), name=f"Flip {place}")
        except WhirlbenchError:
            continue
        # a bit of a date or of an unused field of the zip: the content must be whole
        with store.writing() as session:
            assert readings.count(session, made) == 6
            teams.remove(session, made)


def test_bombs_are_not_unpacked(room, monkeypatch):
    monkeypatch.setattr(bundle, "_MOST_BYTES", 100_000)
    files = members(room[1])
    assert "more than 0 MB" in refused(room[0], signed(files | {"runs.jsonl": b" " * 200_000}))
    assert "manifest without end" in refused(room[0], zipped(files | {"manifest.json": b" " * 70_000}))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"format": 2}, "got format 2, needs 1"),
        ({"kind": "shopping list"}, "a manifest that is none"),
        ({"team": "Kittiwake"}, "a manifest that is none"),
        ({"team": {"name": 5, "created_at": "now"}}, "a manifest that is none"),
        ({"files": []}, "a manifest that is none"),
        ({"files": {}}, "which was changed"),
    ],
)
def test_manifests_that_are_none(room, change, told):
    files = members(room[1])
    manifest = json.loads(files["manifest.json"]) | change
    assert told in refused(room[0], zipped(files | {"manifest.json": json.dumps(manifest)}))


def test_manifests_that_are_not_even_json(room):
    for content in (b"", b"[]", b"{", b"\xff\xfe", b"[" * 60_000):
        refused(room[0], zipped(members(room[1]) | {"manifest.json": content}))


WRONG = [
    *("changes undoes 99", "changes undoes 0", "changes undoes -1", "changes undoes true", "changes at null"),
    *('changes author "\\u0000"', 'changes author "\\ud800"', 'documents kind "event"', 'documents key "other"'),
    *('document_versions content "{}"', 'document_versions content "["', "document_versions number 99999999999"),
    *('document_versions files {"a":1}', "document_versions change_id 999", "document_versions number 1.5"),
    *(
        "readings mark 5",
        'reading_versions voltage "1"',
        "reading_versions voltage NaN",
        "reading_versions voltage 1e999",
    ),
    *("reading_versions more []", 'reading_versions more {"humidity":"wet"}', 'reading_versions more {"meter":{}}'),
    *("reading_versions turbine_version_id 77", "reading_versions pushed 1", "reading_versions gone null"),
    *("reading_versions number 2", "runs columns 5", "runs begun_at 5", "run_chunks samples Infinity"),
    *("run_chunks run_id null", "run_chunks run_id 9223372036854775808"),
]


@pytest.mark.parametrize("wrong", WRONG)
def test_forged_rows_are_refused_whole(room, wrong):
    table, column, value = wrong.split(" ", 2)
    files = members(room[1])
    lines = files[f"{table}.jsonl"].decode().splitlines()
    at = 0 if table == "document_versions" else -1  # the first document is a turbine, the last a plan
    row = json.loads(lines[at])
    assert column in row
    fields = [f"{json.dumps(name)}:{value if name == column else json.dumps(row[name])}" for name in row]
    lines[at] = "{" + ",".join(fields) + "}"
    refused(room[0], signed(files | {f"{table}.jsonl": "\n".join(lines).encode()}))


@pytest.mark.parametrize("line", [b"5", b"[]", b"{}", b"{", b"\xff", b"[" * 5000, b'{"undoes":1}', b"null"])
def test_lines_that_are_no_row(room, line):
    files = members(room[1])
    refused(room[0], signed(files | {"changes.jsonl": files["changes.jsonl"] + line}))


@settings(max_examples=60)
@given(st.sampled_from(sorted(bundle._TABLES)), st.integers(0, 10**6), st.binary(max_size=6))
def test_any_damage_that_is_signed_is_refused_or_taken_whole(room, table, place, content):
    store, files = room[0], members(room[1])
    name = f"{table}.jsonl"
    place %= len(files[name]) + 1
    damaged = files[name][:place] + content + files[name][place + len(content) :]
    with store.writing() as session:
        try:
            with session.begin_nested():
                team = bundle.unpack(session, io.BytesIO(signed(files | {name: damaged})), name="Damaged")
                list(readings.every(session, team, versions=True))
                turbines.every(session, team)
                teams.remove(session, team)
        except WhirlbenchError:
            pass
