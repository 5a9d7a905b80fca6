"""Backup: a room and its teams go out as files and come in again, and nothing that was there is lost."""

import io
import json
import re
import zipfile

import pytest
from starlette.testclient import TestClient
from web_room import COACH_PIN, HOST, TEAM_PIN, TEAMS, Browser, furnish

from whirlbench.actions import backup, room, sign_in
from whirlbench.errors import InputError
from whirlbench.measure.readings import Reading
from whirlbench.store import bundle, readings, teams
from whirlbench.store.store import Store
from whirlbench.web.app import app_of
from whirlbench.web.settings import Settings

KEY = "of-the-house"


@pytest.fixture
def furnished(tmp_path):
    with Store(tmp_path / "one" / "room.db") as store:
        furnish(store)
        with store.writing() as session:
            readings.add(session, teams.get(session, TEAMS[0]), [Reading(row=1, voltage=2.0, load_resistance=10.0)])
        yield store


@pytest.fixture
def empty(tmp_path):
    with Store(tmp_path / "two" / "room.db") as store:
        yield store


def backed_up(store):
    file = io.BytesIO()
    backup.room_out(store, file)
    return io.BytesIO(file.getvalue())


def everything(store):
    """All that a room holds, with the number of each row counted anew."""
    with store.looking() as session:
        found = {}
        for team in teams.every(session):
            file = io.BytesIO()
            bundle.pack(session, team, file)
            found[team.name] = (team.pin, file.getvalue())
    return found, room.room(store).model_copy(update={"teams": ()}), room.texts(store)


def test_a_room_comes_back_whole(furnished, empty):
    assert backup.room_in(empty, backed_up(furnished)).is_file()
    assert everything(empty) == everything(furnished)
    number = next(one.number for one in room.room(empty).teams if one.team == TEAMS[0])
    assert sign_in.as_team(empty, number, TEAM_PIN)
    assert sign_in.as_coach(empty, COACH_PIN)


def test_no_pin_can_be_read_from_a_backup(furnished):
    with zipfile.ZipFile(backed_up(furnished)) as archive:
        for name in archive.namelist():
            for pin in (COACH_PIN, TEAM_PIN):
                assert pin.encode() not in archive.read(name)


def test_what_was_there_is_kept_before_another_room_takes_its_place(furnished, empty, tmp_path):
    room.set_up(empty, "Shed", "771204")
    with empty.writing() as session:
        teams.add(session, "Osprey")
    copy = backup.room_in(empty, backed_up(furnished))
    assert [one.team for one in room.room(empty).teams] == sorted(TEAMS)
    with copy.open("rb") as file:
        backup.room_in(empty, file)
    assert [one.team for one in room.room(empty).teams] == ["Osprey"]
    assert room.room(empty).name == "Shed"


def test_the_coach_who_restores_stays_signed_in(furnished, empty):
    secret = room.set_up(empty, "Shed", "771204")
    backup.room_in(empty, backed_up(furnished))
    assert sign_in.who(empty, secret).coach


def changed(file, **files):
    """The same zip with some files exchanged, or taken out where they are None."""
    made = io.BytesIO()
    with zipfile.ZipFile(file) as old, zipfile.ZipFile(made, "w") as new:
        for name in old.namelist():
            if files.get(name, b"") is not None:
                new.writestr(name, files.get(name) or old.read(name))
        for name in set(files) - set(old.namelist()):
            new.writestr(name, files[name])
    return io.BytesIO(made.getvalue())


def manifest(file, **fields):
    with zipfile.ZipFile(file) as archive:
        return json.dumps({**json.loads(archive.read("room.json")), **fields}).encode()


def spoilt(store):
    """Files that are no whole room, each of another kind."""
    file = backed_up(store)
    yield "no zip", io.BytesIO(b"PK no zip")
    yield "empty", io.BytesIO(b"")
    yield "cut", io.BytesIO(file.getvalue()[:-400])
    yield "other files", changed(file, **{"../../evil.txt": b"x"})
    yield "a bundle gone", changed(file, **{"teams/0001.zip": None})
    yield "a bundle changed", changed(file, **{"teams/0001.zip": b"PK"})
    yield "no manifest", changed(file, **{"room.json": None})
    for name, fields in {
        "other kind": {"kind": "whirlbench team bundle"},
        "newer": {"format": 2},
        "no room": {"room": None},
        "an odd hash": {"room": {"name": "x", "pin": "no hash"}},
        "no hash": {"room": {"name": "x", "pin": 5}},
        "an odd name": {"room": {"name": "", "pin": f"{'0' * 32}:{'0' * 128}"}},
        "odd teams": {"teams": [1]},
        "odd documents": {"documents": [{"kind": "event", "name": "x", "versions": [{"content": "{}"}]}]},
        "a document of another kind": {"documents": [{"kind": "turbine", "name": "x", "versions": [{}]}]},
    }.items():
        yield name, changed(file, **{"room.json": manifest(file, **fields)})


def test_a_file_that_is_no_whole_room_changes_nothing(furnished):
    before = everything(furnished)
    for name, file in spoilt(furnished):
        with pytest.raises(InputError):
            backup.room_in(furnished, file, copy=False)
        assert everything(furnished) == before, name


def test_no_room_is_restored_where_no_copy_can_be_kept(furnished, monkeypatch):
    before = everything(furnished)
    monkeypatch.setattr(backup, "copies_folder", lambda store: "/proc/nowhere")
    with pytest.raises(InputError, match="make room on the disk"):
        backup.room_in(furnished, backed_up(furnished))
    assert everything(furnished) == before


@pytest.fixture
def page(furnished):
    """Browser of the coach of the furnished room."""
    app = app_of(Settings(store=furnished.place, hosts=(HOST,)))
    with TestClient(app, base_url=f"http://{HOST}"):
        browser = Browser(app)
        browser.post("/coach", data={"pin": COACH_PIN})
        yield browser


def test_a_backup_goes_out_and_in_by_the_page(page, furnished):
    answer = page.get("/room/backup/file")
    assert answer.headers["content-type"] == "application/zip"
    assert "gullwick-harbour-turbine-trials" in answer.headers["content-disposition"]
    before = everything(furnished)
    fields, files = {"sure": "yes"}, {"file": ("room.zip", answer.content)}
    assert page.submit("/room/restore", {}, page="/room", files=files).status_code == 422
    text = page.submit("/room/restore", fields, page="/room", files=files).text
    copy = re.search(r'href="(/room/backup/copy[^"]+)"', text)[1]
    assert zipfile.is_zipfile(io.BytesIO(page.get(copy).content))
    for odd in (
        "room.db",
        "../room.db",
        "room-before-x.zip",
        "room-before-1.zip/../room.db",
        "",
        "room-before-%00.zip",
    ):
        assert page.get(f"/room/backup/copy?name={odd}").status_code == 404
    assert everything(furnished) == before
    wrong = page.submit("/room/restore", fields, page="/room", files={"file": ("room.zip", b"no zip")})
    assert wrong.status_code == 422
    assert "make the backup again" in wrong.text
    assert "passwd" not in page.get("/room/backup?copy=../../../etc/passwd").text


def test_a_team_goes_out_and_in_under_another_name(page, furnished):
    number = next(one.number for one in room.room(furnished).teams if one.team == TEAMS[0])
    packed = page.get(f"/room/bundle/{number}")
    assert packed.status_code == 200
    assert page.get(f"/teams/{number}/bundle").content == packed.content
    files = {"file": ("team.zip", packed.content)}
    assert page.submit("/room/bundle", {}, page="/room", files=files).status_code == 422
    answer = page.submit("/room/bundle", {"name": "Osprey"}, page="/room", files=files)
    assert "Osprey" in answer.text
    assert 'class="pin"' in answer.text
    assert "Osprey" in [one.team for one in room.room(furnished).teams]


def test_a_new_room_begins_from_a_backup(page, furnished, tmp_path):
    packed = page.get("/room/backup/file").content
    app = app_of(Settings(store=tmp_path / "new.db", hosts=(HOST,), set_up_key=KEY))
    with TestClient(app, base_url=f"http://{HOST}"):
        browser = Browser(app)
        files = {"file": ("room.zip", packed)}
        assert browser.post("/setup/restore", data={"key": "wrong"}, files=files).status_code == 404
        assert "Team Petrel" in browser.post("/setup/restore", data={"key": KEY}, files=files).text
        again = Browser(app).post("/setup/restore", data={"key": KEY}, files=files)
        assert again.status_code == 422
