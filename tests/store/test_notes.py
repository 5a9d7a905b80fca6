"""Notes and photos: every version kept, no photo that is none, and all of it in a bundle."""

import base64
import io
import json

import pytest
from PIL import Image
from store.test_bundle import members, packed, signed, unpacked

from whirlbench.errors import Conflict, InputError, UnknownKey, WhirlbenchError
from whirlbench.store import changes, notes, teams, timeline, turbines
from whirlbench.store.store import Store


def picture(size=(40, 30), form="JPEG", **more):
    file = io.BytesIO()
    Image.new("RGB", size, "teal").save(file, form, **more)
    return file.getvalue()


def note(text="seen", **more):
    whole = {"kind": "note", "text": text, "why": "", "predicted": "", "photos": [], "turbine": "", "version": None}
    return whole | more


def said(saved):
    return json.loads(saved.content)["text"]


def test_a_note_keeps_every_version(store, team):
    with store.writing() as session:
        first = notes.keep(session, team, note("one"), author="Ana")
        assert (first.name, first.number) == ("note 1", 1)
        assert notes.change(session, team, 1, seen=1, content=note("two"), author="Bo").number == 2
        with pytest.raises(Conflict, match=r"version 2, written at .* by Bo"):
            notes.change(session, team, 1, seen=1, content=note("three"))
        assert said(notes.load(session, team, 1)) == "two"
        changes.undo(session, team)
        assert said(notes.load(session, team, 1)) == "one"


def test_a_note_taken_out_comes_back_by_undo(store, team):
    with store.writing() as session:
        notes.keep(session, team, note("one"))
        change = notes.delete(session, team, 1, seen=1)
        assert notes.load(session, team, 1).gone
        changes.undo(session, team, change_id=change)
        assert not notes.load(session, team, 1).gone
        assert notes.keep(session, team, note("another")).name == "note 2"


@pytest.mark.parametrize(
    "content",
    [
        note(""),
        note("  \n"),
        note(5),
        note("x" * 10_001),
        note("half of a letter \ud800"),
        note(kind="order"),
        note(version="2"),
        note(photos="photo 1"),
        note(photos=["photo x"]),
        note(photos=["photo 1"] * 7),
        note() | {"more": 1},
        {"kind": "note"},
        [],
    ],
)
def test_what_is_no_note_is_refused(store, team, content):
    with store.writing() as session, pytest.raises(InputError):
        notes.keep(session, team, content)


def test_a_photo_comes_back_as_it_was(store, team):
    sent = picture((1600, 1200))
    with store.writing() as session:
        assert notes.keep_photo(session, team, sent) == "photo 1"
        assert notes.keep_photo(session, team, picture()) == "photo 2"
        notes.keep(session, team, note(photos=["photo 1"]))
        assert notes.photo(session, team, 1) == sent
        other = teams.add(session, "Petrel")
        for wrong in (lambda: notes.photo(session, other, 1), lambda: notes.photo(session, team, 3)):
            with pytest.raises(UnknownKey):
                wrong()
        with pytest.raises(UnknownKey):
            notes.keep(session, other, note(photos=["photo 1"]))


def test_a_photo_deleted_for_good_is_nowhere(store, team, tmp_path):
    with store.writing() as session:
        notes.keep_photo(session, team, picture())
        notes.keep(session, team, note(photos=["photo 1"]))
        notes.erase_photo(session, team, 1, author="Ana")
        changes.undo(session, team)
        for number in (1, 2):
            with pytest.raises(UnknownKey):
                notes.photo(session, team, number)
        assert notes.keep_photo(session, team, picture()) == "photo 2"
    content = packed(store, team)
    assert members(content)["document_versions.jsonl"].count(b"photo.jpg") == 1
    with Store(tmp_path / "another.db") as other:
        assert packed(other, unpacked(other, content)) == content


@pytest.mark.parametrize("more", [{}, {"progressive": True}, {"quality": 20}, {"comment": b"x" * 300}])
def test_the_size_of_a_jpeg_is_read_from_its_frame(more):
    assert notes.photo_size(picture((640, 480), **more)) == (640, 480)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xd8\xff\xd9",
        b"\xff\xd8\xff\xc0\x00\x02\xff\xd9",
        picture(form="PNG"),
        picture((1601, 10)),
        picture()[:-2],
        picture()[:-2] + bytes(3 << 20) + b"\xff\xd9",
        b"<script>alert(1)</script>",
    ],
)
def test_what_is_no_photo_is_refused(content):
    with pytest.raises(InputError, match="needs a JPEG of at most 2 MB and 1600 pixels"):
        notes.photo_size(content)


def test_the_time_line_tells_kinds_apart(store, team, starter):
    with store.writing() as session:
        turbines.keep(session, team, starter, author="Ana")
        notes.keep_photo(session, team, picture())
        notes.keep(session, team, note('text with "kind":"decision" in it'))
        notes.keep(session, team, note("longer blades", kind="decision"))
        notes.change(session, team, 1, seen=1, content=note("changed"))
        turbines.keep(session, team, starter.changed(note="second"))
        changes.undo(session, team)

        def subjects(kind, **more):
            return [one.subject for one in timeline.page(session, team, kind, **more)]

        name = starter.name
        assert subjects("all") == [name, name, "note 2", "note 1", name]
        assert subjects("notes") == ["note 2", "note 1"]
        assert subjects("decisions") == ["note 2"]
        assert subjects("versions") == [name, name]
        assert subjects("undone") == [name]
        assert subjects("readings") == []
        last = timeline.page(session, team, "all", limit=1)[0]
        assert subjects("all", before=last.id, limit=2) == [name, "note 2"]
        version = timeline.page(session, team, "versions")[0]
        found = timeline.brought(session, [version.id])[version.id]
        assert (found.number, found.before is None) == (2, False)
        assert timeline.newest(session, [found.document_id])[found.document_id].number == 3


@pytest.fixture(scope="module")
def full(tmp_path_factory):
    """A store and the bundle of a team with a note and its photo."""
    with Store(tmp_path_factory.mktemp("notes") / "room.db") as store:
        with store.writing() as session:
            team = teams.add(session, "Kittiwake")
            notes.keep_photo(session, team, picture())
            notes.keep(session, team, note("with a photo", photos=["photo 1"]))
        yield store, packed(store, team)


def test_notes_and_photos_travel_in_a_bundle(full, tmp_path):
    with Store(tmp_path / "another.db") as other:
        team = unpacked(other, full[1])
        assert packed(other, team) == full[1]
        with other.writing() as session:
            assert notes.photo(session, team, 1) == picture()
            assert said(notes.load(session, team, 1)) == "with a photo"
            assert notes.keep(session, team, note("next")).name == "note 2"


def encoded(content):
    return {"photo.jpg": base64.b64encode(content).decode()}


@pytest.mark.parametrize(
    ("place", "change"),
    [
        (0, {"files": {}}),
        (0, {"files": {"photo.jpg": "no base64!"}}),
        (0, {"files": encoded(b"<svg/>")}),
        (0, {"files": encoded(picture((2000, 20)))}),
        (0, {"content": "{}"}),
        (0, {"content": '{"height":31,"width":40}'}),
        (1, {"content": "[]"}),
        (1, {"content": json.dumps(note(photos=["../1"]))}),
        (1, {"content": json.dumps(note(kind="<script>"))}),
    ],
)
def test_forged_notes_and_photos_are_refused(full, place, change):
    store, files = full[0], members(full[1])
    lines = files["document_versions.jsonl"].decode().splitlines()
    lines[place] = json.dumps(json.loads(lines[place]) | change)
    with pytest.raises(WhirlbenchError, match="bundle"):
        unpacked(store, signed(files | {"document_versions.jsonl": "\n".join(lines).encode()}), name="Forged")


@pytest.mark.parametrize("name", ["note", "note x", "note 0", "note -1", "note 1 2"])
def test_forged_names_are_refused(full, name):
    store, files = full[0], members(full[1])
    lines = files["documents.jsonl"].decode().splitlines()
    lines[1] = json.dumps(json.loads(lines[1]) | {"name": name, "key": name})
    with pytest.raises(WhirlbenchError, match="a note that is none"):
        unpacked(store, signed(files | {"documents.jsonl": "\n".join(lines).encode()}), name="Forged")
