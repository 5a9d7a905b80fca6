"""The bench: a first turbine, what is typed and what it does, keeping and going back, moves, explanations."""

import re
import time
from urllib.parse import quote

import pytest
from web_room import EXAMPLES, enter, of_team, open_page

from whirlbench.actions import explain_words, keep, kept_turbine, room
from whirlbench.parts.files import read_bin, read_turbine

BENCH = "/teams/1/bench"
STARTER_FILE = (EXAMPLES / "starter.toml").read_bytes()
OWN_POLAR = re.sub(  # a file of whose machine?
    rb"kind = .sheet.*?edge = .square.", b'kind = "own polar"\nfile = "polar.csv"', STARTER_FILE, flags=re.DOTALL
)
STARTER = "Team Kittiwake, starter build"


def asked(path="", **fields):
    """Address of the bench with fields typed on it."""
    return f"{BENCH}{path}?" + "&".join(f"{name.replace('__', '.')}={quote(text)}" for name, text in fields.items())


@pytest.fixture
def tidy(app):
    """The starter turbine, newest and unchanged, before a test that keeps others."""
    keep.keep(app.state.store, "Team Kittiwake", read_turbine(EXAMPLES / "starter.toml"))


def test_the_bench_shows_the_kept_turbine(team, tidy):
    page = team.get(BENCH)
    assert page.status_code == 200
    assert STARTER in page.text
    assert 'class="front-view"' in page.text
    assert 'name="rotor.pitch" value="35 deg"' in page.text
    assert "Everything here is kept" in page.text
    assert re.search(r'class="big"><a class="why"[^>]*>2\.\d+ mW<', page.text)


def test_inches_are_for_those_who_asked(team, tidy):
    team.cookies.set("units", "inch")
    text = team.get(BENCH).text
    assert 'name="rotor.shape.tip_radius" value="10 in"' in text
    assert "20 in</text>" in text
    team.cookies.delete("units")


def test_typed_values_are_shown_with_what_they_gain(team, tidy):
    text = team.get(asked(rotor__pitch="20 deg")).text
    assert 'name="rotor.pitch" value="20 deg"' in text
    assert "against the kept version" in text
    assert "<s>35 deg</s>" in text


def test_an_answer_comes_in_pieces(team, tidy):
    found = team.get(asked("/answer", rotor__pitch="20 deg"), headers={"accept": "application/json"}).json()
    for piece in ("headline", "numbers", "path", "front", "side", "changes", "beside", "strip"):
        assert f'data-piece="{piece}"' in found["html"]
    assert found["point"]["electrical_power_W"] > 0.005
    assert len(found["figure"]["blade_angles_rad"]) == 3
    assert len(found["chart"]["layer"]) > 0


def test_a_slip_stands_under_its_field_and_what_was_typed_is_kept(team, tidy):
    answer = team.get(asked("/answer", rotor__pitch="12", base__ballast="1 m"))
    assert answer.status_code == 422
    assert set(answer.json()["wrong"]) == {"rotor.pitch", "base.ballast"}
    page = team.get(asked(rotor__pitch="12"))
    assert page.status_code == 422
    assert 'name="rotor.pitch" value="12"' in page.text
    assert "needs a number and a unit such as" in page.text


def test_a_part_that_cannot_be_computed_is_told_and_not_kept(team, app, tidy):
    typed = {"turbine": STARTER, "tower.tube.nominal": "9 in", "rotor.pitch": "30 deg"}
    answer = team.submit(f"{BENCH}/keep", typed, page=BENCH)
    assert answer.status_code == 422
    assert "nominal" in answer.text
    assert 'value="30 deg"' in answer.text
    assert kept_turbine.kept_turbine(app.state.store, "Team Kittiwake").number == 1


def test_the_whole_answer_without_script(team, tidy):
    text = team.get(asked(rotor__pitch="25 deg", whole="1")).text
    assert "Of 10 such builds 8 give between" in text
    assert text.count("<tr><td") >= 5


def test_the_outlook_brings_the_band(team, tidy):
    found = team.get(f"{BENCH}/outlook").json()
    assert "start by themselves" in found["html"]
    assert any("8 of 10" in str(layer) for layer in found["chart"]["layer"])


def test_keep_undo_and_go_back(team, app, tidy):
    before = kept_turbine.kept_turbine(app.state.store, "Team Kittiwake", STARTER).number
    typed = {"turbine": STARTER, "rotor.pitch": "18 deg", "drivetrain.stages": "gears"}
    assert team.submit(f"{BENCH}/keep", typed, page=BENCH, follow_redirects=False).status_code == 303
    now = kept_turbine.kept_turbine(app.state.store, "Team Kittiwake", STARTER)
    assert now.number == before + 1
    assert kept_turbine.restored(now.text, now.files).drivetrain[0].rotor_teeth == 48
    versions = team.get(f"{BENCH}/versions?turbine={quote(STARTER)}").text
    assert "rotor &gt; pitch" in versions
    assert "<s>35 deg</s>" in versions

    back = team.submit(f"{BENCH}/back", {"turbine": STARTER, "version": before}, page=BENCH, follow_redirects=False)
    assert back.status_code == 303
    assert 'value="35 deg"' in team.get(f"{BENCH}?turbine={quote(STARTER)}").text
    team.submit(f"{BENCH}/undo", {"turbine": STARTER}, page=BENCH)
    assert 'value="18 deg"' in team.get(f"{BENCH}?turbine={quote(STARTER)}").text


def test_another_turbine_is_begun_from_an_example_or_a_file(other):
    assert "A turbine to begin with" in other.get("/teams/2/bench").text
    place = "/teams/2/bench/start"
    other.submit(place, {"name": "Second try", "start": "geared"}, page="/teams/2/bench")
    assert "Second try" in other.get("/teams/2/bench").text
    file = {"file": ("mine.toml", STARTER_FILE)}
    other.submit(place, {"name": "Brought along"}, page="/teams/2/bench", files=file)
    page = other.get("/teams/2/bench").text
    assert "Brought along" in page
    assert "Second try" in page


@pytest.mark.parametrize(
    ("content", "piece"),
    [
        (b"\xff\xfe\x00", "bytes that are no text"),
        (b"rotor = 3", "wind"),
        (b"x" * 300_000, "a very long file"),
        (OWN_POLAR, "the page cannot take"),
    ],
)
def test_a_file_that_is_no_turbine_is_refused(other, content, piece):
    file = {"file": ("mine.toml", content)}
    answer = other.submit("/teams/2/bench/start", {"name": "No"}, page="/teams/2/bench/start", files=file)
    assert answer.status_code == 422
    assert piece in answer.text


def test_a_file_of_this_machine_is_never_read(team, tidy):
    typed = {"rotor__section__kind": "own polar", "rotor__section__file": "/etc/hostname"}
    assert team.get(asked("/answer", **typed)).status_code == 422


def test_every_number_opens(team, tidy):
    for quantity in explain_words.MEANINGS:
        page = team.get(f"/teams/1/explain/{quantity}")
        assert page.status_code == 200, quantity
        assert "How sure it is" in page.text
    assert "P = (" in team.get(f"/teams/1/explain/power?rotor.pitch={quote('20 deg')}&part=1").text
    assert team.get("/teams/1/explain/nothing").status_code == 404
    assert team.get("/teams/1/explain/power?rotor.pitch=5").status_code == 422


def test_a_name_cannot_bring_script(team, app):
    name = "<script>alert(1)</script>"
    turbine = read_turbine(EXAMPLES / "starter.toml").changed(name=name)
    keep.keep(app.state.store, "Team Kittiwake", turbine)
    for place in (BENCH, f"{BENCH}/versions", "/teams/1/explain/power"):
        assert "<script>alert" not in team.get(place).text
    team.submit(f"{BENCH}/undo", {"turbine": name}, page=BENCH)


def test_another_team_sees_none_of_it(app):
    stranger = of_team(app, 2)
    for place in ("", "/answer", "/outlook", "/moves", "/versions", "/start"):
        assert stranger.get(f"{BENCH}{place}").status_code == 404
    assert stranger.get("/teams/1/explain/power").status_code == 404


@pytest.fixture
def small_bin(app):
    """A bin so small that moves are found quickly."""
    whole = read_bin(EXAMPLES / "parts-bin.toml")
    names = [name for name in type(whole).model_fields if name not in ("format", "resistors")]
    empty = {name: type(getattr(whole, name))() for name in names if isinstance(getattr(whole, name), tuple)}
    room.choose_bin(app.state.store, "Small bin", whole.changed(**empty))


def test_moves_come_with_a_way_to_try_them(team, tidy, small_bin):
    page = team.get(f"{BENCH}/moves").text
    job = re.search(r'data-job="([^"]+)"', page)
    for _ in range(300):
        if job is None or "verdict" in page:
            break
        time.sleep(0.2)
        page = team.get(f"{BENCH}/moves?part=1&job={job[1]}").text
    assert "What holds you back" in page
    assert "The next test" in page
    place = re.search(r'class="button" href="(/teams/1/bench\?[^"]+)">Try it', page)[1].replace("&amp;", "&")
    tried = team.get(place)
    assert tried.status_code == 200
    assert "Not kept yet" in tried.text


def test_the_bench_in_a_browser(chromium, server):
    page = open_page(chromium, viewport={"width": 1366, "height": 900})
    said, hosts = [], set()
    page.on("console", lambda line: said.append(line.text) if line.type == "error" else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: hosts.add(request.url.split("/")[2]))
    enter(page, server)
    power = page.text_content(".told .big")
    page.fill("[name='rotor.pitch']", "20 deg")
    page.press("[name='rotor.pitch']", "Enter")
    page.wait_for_function("before => document.querySelector('.told .big').textContent !== before", arg=power)
    page.wait_for_url("**rotor.pitch=20**")
    page.fill("[name='rotor.pitch']", "20")
    page.press("[name='rotor.pitch']", "Tab")
    page.wait_for_selector(".entry[data-path='rotor.pitch'] .wrong:not([hidden])")
    page.locator("[data-for='f-rotor.pitch']").press("ArrowRight")
    page.wait_for_selector(".entry[data-path='rotor.pitch'] .wrong[hidden]", state="attached")
    typed = page.input_value("[name='rotor.pitch']")
    page.wait_for_url(f"**rotor.pitch={typed.split()[0]}**")
    page.reload()
    assert page.input_value("[name='rotor.pitch']") == typed
    page.click("#turn")
    page.wait_for_selector("#turning:not([hidden])")
    page.click(".told a.why >> nth=1")
    page.wait_for_selector("dialog[open] .formula")
    page.keyboard.press("Escape")
    for width in (360, 768, 1366, 1920):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.click("text=Keep this version")
    page.wait_for_selector("text=Everything here is kept")
    assert page.input_value("[name='rotor.pitch']") == typed
    assert [one for one in said if "422" not in one] == []
    assert hosts == {server.address.split("/")[2]}
    page.close()


def test_the_first_page_is_light(team, tidy):
    page = team.get(BENCH, headers={"accept-encoding": "gzip"})
    addresses = set(re.findall(r'(?:src|href|data-turning)="(/static/[^"#]+)"', page.text))
    wire = int(page.headers["content-length"]) + sum(
        int(team.get(one, headers={"accept-encoding": "gzip"}).headers["content-length"]) for one in addresses
    )
    assert wire < 150_000
