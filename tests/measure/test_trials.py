"""Bench tests: known parts come back, as often within the doubt as it says, and a sheet is read whatever wrote it."""

import csv
import io
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from turbines import example

from whirlbench.errors import InputError, InputErrors, WhirlbenchError
from whirlbench.measure.trial import Built, Filled
from whirlbench.measure.trial_table import csv_text, headers, known_facts, printed_rows, read_filled
from whirlbench.measure.trial_text import sheet_text
from whirlbench.measure.trial_wind import traverse
from whirlbench.measure.trials import TRIALS, trial
from whirlbench.physics import tower
from whirlbench.value import Value

STARTER = example("starter")
BUILT = Built(STARTER, Value(0.0147, 0.0001), Value(9.3, 0.3), Value(0.05, 0.04), Value(5.0, 0.5))
METERS = {"voltmeter": "1 %", "ammeter": "2 %", "speed meter": "1 %", "anemometer": "3 %"}
DRAWS = 300


def sheet(columns, **facts):
    """A filled-in sheet; facts of instruments as above."""
    count = len(next(iter(columns.values())))
    arrays = {name: np.asarray(cells, dtype=float) for name, cells in columns.items()}
    return Filled(tuple(range(2, 2 + count)), arrays, METERS | {name.replace("_", " "): v for name, v in facts.items()})


def off(draw, limit):
    """Error of an instrument that all readings share."""
    return 1 + draw.uniform(-limit, limit)


def open_volts(draw):
    speed = np.linspace(50, 300, 7)
    volts = 0.0147 * speed * off(draw, 0.01) + draw.normal(0, 0.02, 7)
    filled = sheet({"speed": speed * off(draw, 0.01), "voltage": volts}, current="dc")
    return filled, BUILT, 0.0147


def loaded_volts(draw):
    load, opened = np.array([10.0, 15.0, 22.0, 47.0]), 3.07
    brush = max(0.0, draw.normal(0.05, 0.04))
    loaded = (opened - brush) * load / (9.3 + load)
    read = [each * (1 + draw.normal(0, 0.01 / math.sqrt(3), 4)) for each in (np.full(4, opened), loaded)]
    filled = sheet({"open voltage": read[0], "loaded voltage": read[1], "load": load})
    return filled, BUILT, 9.3


def no_load_current(draw):
    emf, winding = draw.normal(0.0147, 0.0001), draw.normal(9.3, 0.3)
    speed = np.linspace(50, 350, 8)
    amps = (0.35e-3 + 0.2e-6 * speed) / emf
    volts = emf * speed + amps * winding + 0.05
    read = amps * off(draw, 0.02) * (1 + draw.normal(0, 0.01, 8))
    return sheet({"voltage": volts, "current": read, "speed": speed}), BUILT, 0.35e-3


def spin_down(draw):
    mass, length = 0.1, 0.3
    hub = STARTER.rotor.hub
    inertia = mass * length**2 / 12 + hub.mass * hub.radius**2 / 2
    times = np.linspace(0, 40, 14)
    speeds = (60 - 1e-3 / inertia * times) * off(draw, 0.01) + draw.normal(0, 0.3, 14)
    told = {"bar_mass": mass + draw.uniform(-5e-4, 5e-4), "bar_length": length + draw.uniform(-1e-3, 1e-3)}
    return sheet({"time": times, "speed": speeds}, **told), BUILT, 1e-3


def tower_pull(draw):
    mass, height = np.array([0.05, 0.1, 0.15, 0.2, 0.25, 0.3]), STARTER.tower.height
    lean = tower.lean(mass * 9.80665, height, draw.normal(5.0, 0.5), joint_stiffness=25.0, free_play=0.01)
    way = lean.deflection * off(draw, 0.02) + draw.normal(0, 5e-4, 6)
    return sheet({"mass": mass, "deflection": way}, pull_height=height), BUILT, 25.0


def base_tilt(draw):
    angles = np.radians(17) + draw.normal(0, 0.02, 6) + draw.uniform(-1, 1) * np.radians(1)
    return sheet({"angle": angles}, angle_meter=np.radians(1)), BUILT, math.tan(math.radians(17))


def wind_map(draw):
    rings = np.array([4.6, 4.5, 4.2, 3.6])
    sides = rings[:, None] * (1 + draw.normal(0, 0.03, (4, 4))) * off(draw, 0.03)
    radii = 0.26 * np.sqrt((2 * np.arange(1, 5) - 1) / 8)
    named = dict(zip(("top", "right", "bottom", "left"), sides.T, strict=True))
    truth = float(np.mean(np.array([4.6, 4.5, 4.2, 3.6]) ** 3) ** (1 / 3))
    whole = STARTER.changed(rotor=STARTER.rotor.changed(shape=STARTER.rotor.shape.changed(tip_radius=0.26)))
    built = Built(whole, *(getattr(BUILT, name) for name in ("emf_constant", "resistance", "brush_drop")), Value(5.0))
    return sheet({"ring": [1, 2, 3, 4], "radius": radii, **named}, map_radius=0.26), built, truth


SIMULATED = {
    "open-volts": open_volts,
    "loaded-volts": loaded_volts,
    "no-load-current": no_load_current,
    "spin-down": spin_down,
    "tower-pull": tower_pull,
    "base-tilt": base_tilt,
    "wind-map": wind_map,
}


@pytest.mark.parametrize("name", SIMULATED)
def test_the_doubt_covers_the_truth_as_often_as_it_says(name):
    draw = np.random.default_rng(11)
    apart = []
    for _ in range(DRAWS):
        filled, built, truth = SIMULATED[name](draw)
        value = TRIALS[name].evaluate(filled, built).found[0].value
        apart.append((value.number - truth) / value.sigma)
    apart = np.array(apart)
    # 95 % of 300 is 285, standard deviation 4; limits of instruments are rectangular, so more may lie inside
    assert (np.abs(apart) < 2).mean() > 0.91
    assert abs(np.median(apart)) < 0.35, "no lean to one side"
    assert apart.std() > 0.35, "a doubt that is not far too wide"


def test_the_doubt_of_a_breakaway_is_the_spread_over_positions():
    masses = np.array([9.0, 11.0, 8.0, 12.0, 10.0, 10.5]) / 1000
    value = TRIALS["breakaway"].evaluate(sheet({"mass": masses}, pulley_radius=0.005), BUILT).found[0].value
    torque = masses * 9.80665 * 0.005
    assert value.number == pytest.approx(torque.mean())
    assert torque.std(ddof=1) < value.sigma < 2 * torque.std(ddof=1)


def test_alternating_volts_count_at_their_peak():
    columns = {"speed": np.linspace(50, 300, 6), "voltage": 0.1 * np.linspace(50, 300, 6)}
    found = {current: TRIALS["open-volts"].evaluate(sheet(columns, current=current), BUILT) for current in ("dc", "ac")}
    ratio = found["ac"].found[0].value.number / found["dc"].found[0].value.number
    assert ratio == pytest.approx(math.sqrt(2))
    assert found["ac"].changes["generator", "current"] == "ac"


def test_a_reading_that_stands_apart_is_asked_about_and_kept():
    speed = np.linspace(50, 300, 8)
    volts = 0.0147 * speed * (1 + 0.002 * np.array([1, -1, 1, -1, 1, -1, 1, -1]))
    volts[5] *= 1.1
    result = TRIALS["open-volts"].evaluate(sheet({"speed": speed, "voltage": volts}, current="dc"), BUILT)
    assert any("line 7" in sentence for sentence in result.sentences)
    assert result.found[0].value.number > 0.0148


def test_blades_go_where_they_shake_least():
    part = STARTER.changed(rotor=STARTER.rotor.changed(holes=(1, 4, 7, 10)))
    built = Built(part, BUILT.emf_constant, BUILT.resistance, BUILT.brush_drop, BUILT.bending_stiffness)
    masses = np.array([30.0, 30.0, 34.0, 34.0]) / 1000  # like ones belong opposite each other
    columns = {"blade": [np.nan] * 4, "mass": masses, "balance radius": [0.12] * 4}
    result = TRIALS["balance"].evaluate(sheet(columns, trim_radius=0.03), built)
    before, after = (one.value for one in result.found)
    assert before.number == pytest.approx(0.004 * 0.12 * math.sqrt(2))
    assert after.number == pytest.approx(0, abs=1e-9)
    weighed = result.changes["rotor", "weighed"]
    assert weighed[0] == weighed[2] != weighed[1] == weighed[3]
    assert "no trim" in result.sentences[1]


def test_a_trim_is_told_where_the_scale_can_tell_it():
    columns = {"blade": [np.nan] * 3, "mass": [0.030, 0.030, 0.034], "balance radius": [0.12] * 3}
    result = TRIALS["balance"].evaluate(sheet(columns, trim_radius=0.05), BUILT)
    assert result.found[1].value.number == pytest.approx(0.004 * 0.12)
    assert "fix" in result.sentences[1]
    with pytest.raises(InputError, match="as many as"):
        TRIALS["balance"].evaluate(sheet({name: cells[:2] for name, cells in columns.items()}, trim_radius=0.05), BUILT)


def test_rattle_is_parted_from_the_joint():
    mass = np.array([0.05, 0.1, 0.15, 0.2, 0.25])
    lean = tower.lean(mass * 9.80665, 0.6, 5.0, joint_stiffness=40.0, free_play=0.02)
    result = TRIALS["tower-pull"].evaluate(sheet({"mass": mass, "deflection": lean.deflection}, pull_height=0.6), BUILT)
    assert result.found[0].value.number == pytest.approx(40.0, rel=1e-6)
    assert result.found[1].value.number == pytest.approx(0.02, rel=1e-6)
    assert result.changes["tower", "free_play"] == "1.15 deg"


def test_what_a_lopsided_map_is_told():
    radii = 0.26 * np.sqrt(np.array([1, 3, 5, 7]) / 8)
    sides = {
        side: np.full(4, speed) for side, speed in zip(("top", "right", "bottom", "left"), (5, 4, 3, 4), strict=True)
    }
    filled = sheet({"ring": [1, 2, 3, 4], "radius": radii + 0.03, **sides}, map_radius=0.26)
    said = " ".join(TRIALS["wind-map"].evaluate(filled, BUILT).sentences)
    assert "lopsided" in said
    assert "top" in said
    assert "equal areas" in said
    with pytest.raises(InputError, match="a fan"):
        TRIALS["wind-map"].evaluate(filled, in_tunnel())


def in_tunnel(speed=5.0):
    from whirlbench.parts.tunnel import Tunnel

    part = STARTER.changed(wind=Tunnel(speed=Value(speed), width=0.8, height=0.7))
    return Built(part, BUILT.emf_constant, BUILT.resistance, BUILT.brush_drop, BUILT.bending_stiffness)


def test_a_tunnel_is_read_in_the_disc_and_in_the_section():
    places = traverse("rectangle", 5, width=0.8, height=0.7)
    walls = np.minimum(0.4 - np.abs(places[:, 0]), 0.35 - np.abs(places[:, 1]))
    speeds = 6.0 * np.minimum(walls / 0.1, 1.0) ** (1 / 7)
    columns = {"place": [np.nan] * 25, "across": places[:, 0], "up": places[:, 1], "wind": speeds}
    result = TRIALS["tunnel-map"].evaluate(
        sheet(columns, section="rectangle", lines=5, width=0.8, height=0.7), in_tunnel()
    )
    assert result.found[0].value.number == pytest.approx(6.0)
    assert 5.5 < speeds.mean() < 5.99
    assert f"{speeds.mean():.2f} m/s" in result.sentences[0]
    assert list(result.changes) == [("wind", "speed")]
    with pytest.raises(InputError, match="a tunnel"):
        TRIALS["tunnel-map"].evaluate(sheet(columns), BUILT)


# --- sheets -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", TRIALS)
def test_a_sheet_filled_in_is_read_back(name):
    one = trial(name)
    facts = known_facts(one, STARTER)
    rows = printed_rows(one, facts, STARTER)
    table = list(csv.reader(io.StringIO(csv_text(one, facts, STARTER))))
    assert table[1] == headers(one)
    for number, row in enumerate(table[2:], start=1):
        for place in range(len(one.columns)):
            row[place] = row[place] or f"{number}.5"
        if number == 1:
            row[len(one.columns) :] = [facts[fact.name] or f"12 {fact.unit}" for fact in one.facts]
    page = io.StringIO()
    csv.writer(page).writerows(table)
    filled = read_filled(one, page.getvalue().encode(), turbine=STARTER)
    assert len(filled) == len(rows)
    text = sheet_text(one, facts, rows)
    assert all(head in text for head in headers(one)[: len(one.columns)])
    assert max(map(len, text.splitlines())) < 100


@pytest.mark.parametrize(
    "text",
    [
        "mass [g],pulley radius [mm]\n9.5,5\n10.5,\n11.5,\n",
        "mass [g];pulley radius [mm]\n9,5;5\n10,5;\n11,5;\n;\n",
        "mass [kg],pulley radius [cm],note\n0.0095,0.5,cup\n0.0105,,\n0.0115,0.5,\n",
        "mass,pulley radius\n9.5 g,5 mm\n10.5 g,\n11.5 g,\n",
        "# Bench test\nMass (g)\tPulley radius (mm)\n9.5\t5\n10.5\t\n11.5\t\n",
    ],
)
def test_one_sheet_in_many_hands(text):
    filled = read_filled(trial("breakaway"), text.encode())
    assert filled["mass"] == pytest.approx([0.0095, 0.0105, 0.0115])
    assert filled["pulley radius"] == pytest.approx(0.005)


def test_the_command_line_goes_before_the_sheet():
    text = b"mass [g],pulley radius [mm]\n9.5,5\n10,\n11,\n"
    assert read_filled(trial("breakaway"), text, told=["pulley radius=8 mm"])["pulley radius"] == pytest.approx(0.008)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("pulley radius [mm]\n5\n", "no column 'mass'"),
        ("mass [g]\n9\n10\n11\n", "pulley radius: got nothing"),
        ("mass [g],pulley radius [mm]\n9,5\n10,6\n11,\n", "one value for the whole sheet"),
        ("mass [g],pulley radius [mm]\nnine,5\n10,\n11,\n", "line 2 > mass"),
        ("mass [V],pulley radius [mm]\n9,5\n", "line 2 > mass"),
        ("mass [g],pulley radius [mm]\n-9,5\n", "0 or more"),
        ("mass [g],pulley radius [mm]\n,5\n", "no filled row"),
        ("", "no column 'mass'"),
    ],
)
def test_what_cannot_be_read_is_told(text, words):
    with pytest.raises(InputErrors) as caught:
        read_filled(trial("breakaway"), text.encode())
    assert words in str(caught.value)


def test_facts_that_no_test_asks_for_are_refused():
    with pytest.raises(InputError, match="pulley radius"):
        known_facts(trial("breakaway"), told=["puley radius=5 mm"])
    with pytest.raises(InputError, match="base-tilt"):
        trial("base-tlt")


@given(data=st.binary(max_size=300), name=st.sampled_from(list(TRIALS)))
def test_any_bytes_are_read_or_refused(data, name):
    head = ",".join(headers(trial(name))).encode()
    for content in (data, head + b"\n" + data, b"note," + head + b"\n" + data):
        try:
            one = trial(name)
            one.evaluate(read_filled(one, content, turbine=STARTER), BUILT)
        except WhirlbenchError:
            pass


@pytest.mark.parametrize("name", TRIALS)
@given(data=st.data())
def test_any_numbers_are_read_or_refused(name, data):
    """A number in every cell, however odd: an answer or an error in four pieces, never a warning or a traceback."""
    one = trial(name)
    cell = st.one_of(
        st.sampled_from(["0", "1", "1e-9", "12.5", "999999", "", "-3"]), st.floats(0, 1000).map(lambda x: f"{x:.4g}")
    )
    count = data.draw(st.integers(1, 7))
    rows = [[data.draw(cell) for _ in one.columns] for _ in range(count)]
    table = [[f"{column.name} [{column.unit}]" for column in one.columns], *rows]
    text = "\n".join(",".join(row) for row in table)
    told = [f"{fact.name}={data.draw(cell)} {fact.unit}" for fact in one.facts if not (fact.text or fact.choices)]
    built = in_tunnel() if name == "tunnel-map" else BUILT
    try:
        result = one.evaluate(read_filled(one, text.encode(), turbine=built.turbine, told=told), built)
    except WhirlbenchError:
        return
    for found in result.found:
        assert math.isfinite(found.value.number)
        assert math.isfinite(found.value.sigma)
