"""Plans and comparisons on the page: planned, kept, run by run, judged in plain words."""

import html
import re

PAGE = "/teams/1/readings"
TURBINE = "1 Team Kittiwake, starter build"
WISH = {"factor-1": "pitch", "levels-1": "8 deg; 12 deg", "replicates": "3", "seed": "4"}


def planned(browser, name):
    """Keep a plan and come to its page."""
    answer = browser.submit(f"{PAGE}/plans", WISH | {"name": name, "do": "keep"})
    assert answer.status_code == 200, answer.text
    return answer


def run(browser, page, volts):
    """Enter the next run of a plan."""
    entry = page.text.partition('id="enter"')[2].partition("</form>")[0]
    fields = dict(re.findall(r'<input type="hidden" name="(plan|run|back|sent)" value="([^"]*)"', entry))
    fields = {name: html.unescape(value) for name, value in fields.items()}
    typed = {"wind_speed": "5", "load_resistance": "22", "voltage": volts, "turbine": TURBINE, "sure": "yes"}
    return browser.submit(PAGE, fields | typed)


def test_a_plan_is_looked_at_before_it_is_kept(team):
    look = team.submit(f"{PAGE}/plans", WISH | {"do": "look"})
    assert "runs" in look.text
    assert "Keep this plan" in look.text
    assert "None yet." in look.text


def test_runs_are_entered_in_their_order_and_judged(team):
    page = planned(team, "pitch & <more>")
    assert "&lt;more&gt;" in page.text
    for _ in range(12):
        setting = re.search(r'class="settings">([^<]*)<', page.text)
        if setting is None:
            break
        number = int(re.search(r'name="run" value="(\d+)"', page.text)[1])
        page = run(team, page, f"{(0.36 if '12 deg' in setting[1] else 0.31) + 0.001 * (number % 3):.3f}")
        assert page.url.path == f"{PAGE}/plan"
    assert "All runs are done" in page.text
    assert page.text.count("☑") == page.text.count("<tr>") - 1
    verdict = team.get(f"{PAGE}/compare", params={"plan": "pitch & <more>", "of": "power"}).text
    assert "better than" in verdict
    assert 'data-chart="picture"' in verdict
    assert 'class="gain"' in verdict


def test_a_sheet_to_print_and_one_to_fill_in(team, other):
    planned(team, "sheets")
    assert team.get(f"{PAGE}/plan/sheet.pdf", params={"name": "sheets"}).content.startswith(b"%PDF")
    assert b"run,block,build" in team.get(f"{PAGE}/plan/sheet.csv", params={"name": "sheets"}).content
    assert team.get(f"{PAGE}/plan/sheet.exe", params={"name": "sheets"}).status_code == 404
    assert other.get(f"{PAGE}/plan", params={"name": "sheets"}).status_code == 404
    assert other.get("/teams/2/readings/plan", params={"name": "sheets"}).status_code == 404
    assert team.get(f"{PAGE}/plan", params={"name": "none\0"}).status_code == 404


def test_what_cannot_be_planned_is_told(team):
    for wish in ({}, {"factor-1": "pitch"}, WISH | {"replicates": "x"}, WISH | {"gain": "5"}, WISH | {"blocks": "99"}):
        answer = team.submit(f"{PAGE}/plans", wish)
        assert answer.status_code == 422
        assert "Try:" in answer.text


def test_two_turbines_are_compared_where_both_were_read(app, team):
    from web_room import EXAMPLES, TEAMS

    from whirlbench.actions import keep
    from whirlbench.parts.files import read_turbine

    keep.keep(app.state.store, TEAMS[0], read_turbine(EXAMPLES / "geared.toml").changed(name="Geared"))
    for turbine, volts in ((TURBINE, 0.30), ("1 Geared", 0.40)):
        for place in range(4):
            typed = {"wind_speed": "4", "load_resistance": "47", "turbine": turbine, "sure": "yes"}
            team.submit(PAGE, typed | {"voltage": str(volts + place / 1000)})
    verdict = team.get(f"{PAGE}/compare", params={"turbine": [TURBINE, "1 Geared"], "of": "power", "alike": "yes"}).text
    assert "better than" in verdict
    lone = team.get(f"{PAGE}/compare", params={"turbine": [TURBINE], "of": "power"})
    assert "two turbines or more" in lone.text
    for odd in (["x", "y"], [TURBINE, "9 Geared"], [TURBINE, "1 none"]):
        assert "Try:" in team.get(f"{PAGE}/compare", params={"turbine": odd, "of": "odd"}).text
