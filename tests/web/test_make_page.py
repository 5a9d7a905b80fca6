"""Make: every piece has a picture and files; nothing can be asked for that is not in the list."""

import io
import re
import time
import zipfile
from html import unescape

import pytest
from web_room import EXAMPLES, TEAMS, of_team

from whirlbench.actions import keep
from whirlbench.parts.files import read_turbine

PAGE = "/teams/1/make"


@pytest.fixture(scope="module")
def addresses(app):
    """Addresses of the pictures and files that the page names."""
    found = re.findall(r'(?:src|href|action)="(/teams/1/make/[^"]+)"', of_team(app, 1).get(PAGE).text)
    return [unescape(one) for one in found]


def test_the_page_names_every_kind_of_piece(team):
    text = team.get(PAGE).text
    for word in ("Blades", "Hub", "Tower", "Base", "printed hub", "hub face", "a blade flies off", "PETG"):
        assert word in text


def test_every_picture_is_a_drawing(team, addresses):
    pictures = [one for one in addresses if "/picture" in one]
    assert len(pictures) >= 9
    for one in pictures:
        answer = team.get(one)
        assert answer.headers["content-type"] == "image/svg+xml"
        assert answer.text.startswith("<svg")
        assert team.get(one, headers={"if-none-match": answer.headers["etag"]}).status_code == 304


STARTS = {
    "application/pdf": b"%PDF",
    "image/svg+xml": b"<",
    "image/vnd.dxf": b"  0",
    "model/3mf": b"PK",
    "text/csv": b"",
    "model/stl": b"",
}


def test_every_quick_file_can_be_kept(team, addresses):
    files = [one for one in addresses if "/file" in one]
    assert len(files) > 20
    seen = set()
    for one in files:
        answer = team.get(one)
        kind = answer.headers["content-type"].partition(";")[0]
        seen.add(kind)
        assert answer.content.startswith(STARTS[kind])
        assert re.fullmatch(r'attachment; filename="[a-z0-9-]+\.[a-z0-9]+"', answer.headers["content-disposition"])
        assert answer.headers["x-content-type-options"] == "nosniff"
    assert seen == set(STARTS)


def fetched(browser, address):
    """What a job made, once it is ready."""
    place = browser.submit(address, page=PAGE, follow_redirects=False).headers["location"]
    job = re.search(r"job=([^&#]+)", place)[1]
    for _ in range(300):
        state = browser.get(f"{PAGE}/job/{job}").json()
        if state["done"]:
            assert not state["failed"]
            assert "It is ready" in browser.get(place).text
            return job, browser.get(f"{PAGE}/ready/{job}")
        time.sleep(0.1)
    raise TimeoutError


def test_everything_comes_in_one_zip(team, other, addresses):
    job, answer = fetched(team, next(one for one in addresses if "/job" in one and "path=" not in one))
    assert answer.headers["content-type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.testzip() is None
        assert {"build-pack.pdf", "paper/blades.pdf", "cut/blade.dxf", "print/hub.stl"} <= set(archive.namelist())
    assert other.get(f"/teams/2/make/ready/{job}").status_code == 404
    assert other.get(f"/teams/2/make/job/{job}").status_code == 404


def test_a_slow_file_is_a_job(team, addresses):
    slow = [one for one in addresses if ".step" in one]
    if not slow:
        pytest.skip("the extra cad is not installed")
    _, answer = fetched(team, slow[0])
    assert answer.content.startswith(b"ISO-10303-21")
    assert answer.headers["content-type"] == "model/step"
    assert team.get(slow[0].replace("/job", "/file")).status_code == 404


@pytest.mark.parametrize(
    "path", ["../../pyproject.toml", "/etc/passwd", "cut/nothing.svg", "", "manifest.json", "cut/../cut/blade.svg"]
)
def test_only_files_of_the_list_can_be_had(team, path):
    assert team.get(f"{PAGE}/file", params={"path": path}).status_code == 404
    assert team.get(f"{PAGE}/picture", params={"piece": path}).status_code == 404
    if path:
        assert team.submit(f"{PAGE}/job?path={path}", page=PAGE).status_code == 404


def test_another_team_sees_nothing(other, nobody):
    for place in ("", "/file?path=cut/blade.svg", "/picture?piece=blade", "/ready/1-x", "/job/1-x"):
        assert other.get(PAGE + place).status_code == 404
        assert nobody.get(PAGE + place, follow_redirects=False).status_code == 303


def test_a_team_without_a_turbine_is_shown_the_bench(other):
    text = other.get("/teams/2/make").text
    assert "no turbine yet" in text
    assert "/teams/2/bench" in text
    assert other.get("/teams/2/make/picture?piece=blade").status_code == 404


def test_options_change_the_files(team):
    text = team.get(PAGE, params={"paper": "letter", "way": "printed", "bed": "6 in"}).text
    assert "printed hub" in text
    assert "cut/blade.dxf" not in text
    assert "bed=6+in" in text


@pytest.mark.parametrize(("bed", "told"), [("big", "needs a number and a unit"), ("9 m", "0.04 to 2 m"), ("1", "unit")])
def test_a_bed_that_is_none_is_told_beside_its_field(team, bed, told):
    answer = team.get(PAGE, params={"bed": bed, "shaft": "3 mm"})
    assert answer.status_code == 422
    assert told in answer.text
    assert f'value="{bed}" aria-invalid' in answer.text
    assert 'value="3 mm"' in answer.text


@pytest.mark.parametrize(
    "more", [{"paper": "A0"}, {"way": "magic"}, {"version": "99"}, {"version": "x"}, {"turbine": "No"}]
)
def test_other_choices_are_refused(team, more):
    assert team.get(PAGE, params=more).status_code in (404, 422)


def test_only_what_differs_from_an_earlier_version(app, other):
    turbine = read_turbine(EXAMPLES / "starter.toml").changed(name="Gull One")
    for one in (turbine, turbine.changed(rotor=turbine.rotor.changed(pitch=0.4)), turbine.changed(note="same pieces")):
        keep.keep(app.state.store, TEAMS[1], one)
    page = "/teams/2/make"
    text = other.get(page, params={"version": "2", "since": "1"}).text
    assert "These stay as they are" in text
    assert "pitch gauge" in text
    assert "hub.stl" not in text
    answer = other.get(page, params={"version": "3", "since": "1"})
    assert answer.status_code == 422
    assert "the same pieces as before" in answer.text
    assert other.get(page, params={"since": "9"}).status_code == 422
    assert other.get(page, params={"since": "x"}).status_code == 404
