"""Readings at the fan: the files that a team's spreadsheet writes, and every slip in them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import InputError, InputErrors, WhirlbenchError
from whirlbench.measure.columns import COLUMNS
from whirlbench.measure.readings import read_readings

HEADER = "wind_speed [m/s],load_resistance [ohm],voltage [mV],rotor_speed [rpm],pushed,note"


@pytest.fixture
def read(tmp_path):
    """Read readings from text or bytes."""

    def taken(text):
        path = tmp_path / "r.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_readings(path)

    return taken


def test_readings_come_in_si_with_their_lines(read):
    first, second = read(f"# a remark\n{HEADER}\n\n4.5,47,1200,600,no,first run\n\n3,22,,,yes,\n,,,,,\n")
    assert (first.row, first.wind_speed, first.load_resistance, first.voltage) == (4, 4.5, 47, 1.2)
    assert first.rotor_speed == pytest.approx(62.83185307)
    assert (first.pushed, first.note) == (False, "first run")
    assert first.power == pytest.approx(1.2**2 / 47)
    assert (second.row, second.voltage, second.pushed, second.power) == (6, None, True, None)


@pytest.mark.parametrize(
    "text",
    [
        "Wind Speed (km/h),Voltage (V)\n18,1.2\n",
        '"wind_speed [km/h]","voltage [V]"\n"18","1.2"\n',
        "\ufeffwind_speed [km/h],voltage [V]\r\n18,1.2\r\n",
        " wind_speed[km/h] , voltage [V] \n 18 , 1.2 \n",
        "wind_speed [km/h],voltage [mV]\n18,1200,,\n",
        "wind_speed [km/h];voltage [V]\n18;1,2\n",
        "wind_speed [mph],voltage [V]\n11.184681460272,1.2 +- 0.1\n",
    ],
)
def test_spellings_of_a_readings_file(read, text):
    (one,) = read(text)
    assert one.wind_speed == pytest.approx(5)
    assert one.voltage == pytest.approx(1.2)


def test_power_from_current_or_resistance(read):
    with_current, bare = read("wind_speed [m/s],voltage [V],current [mA]\n4,2,30\n4,2,\n")
    assert with_current.power == pytest.approx(0.06)
    assert bare.power is None


def test_a_tower_test_needs_no_wind(read):
    (pull,) = read("tip_force [N],tip_deflection [mm]\n5,12\n")
    assert (pull.tip_force, pull.tip_deflection, pull.wind_speed) == (5, 0.012, None)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "r.csv: got 0 lines"),
        (HEADER, "r.csv: got 1 lines"),
        (
            "wind_sped [m/s]\n4\n",
            "r.csv > wind_sped [m/s]: got an unknown column, needs a known one. Try: write 'wind_s",
        ),
        ("wind_speed [m/s],\n4,\n", "r.csv > : got an unknown column"),
        ("wind_speed\n4\n", "r.csv > wind_speed: got no unit, needs a unit in the header. Try: write wind_speed [m/s]"),
        ("rotor_speed,tip_force [N]\n4,1\n", "write rotor_speed [rpm]"),
        ("wind_speed [kg]\n4\n", "r.csv > wind_speed: got the unit 'kg', needs a unit that fits m/s"),
        ("wind_speed [m/s],wind_speed [m/s]\n4,5\n", "r.csv > wind_speed: got two columns, needs one"),
        (f"{HEADER}\n4,47,abc,1,,\n", "r.csv line 2 > voltage: got 'abc mV', needs a number and a unit"),
        (f"{HEADER}\n4,47,-3,1,,\n", "r.csv line 2 > voltage: got -3, needs 0 or more. Try: swap the meter's leads"),
        (f"{HEADER}\n4,47,1e999,1,,\n", "r.csv line 2 > voltage"),
        (f"{HEADER}\n4,47,nan,1,,\n", "r.csv line 2 > voltage"),
        (f'{HEADER}\n"4,5",47,1,1,,\n', "r.csv line 2 > wind_speed: got '4,5 m/s'"),
        (
            f"{HEADER}\n4,5,47,1,1,no,ok\n",
            "r.csv line 2: got 7 cells, needs 6 cells as in the header. Try: write decim",
        ),
        (f"{HEADER}\n,47,1,1,,\n", "r.csv line 2 > wind_speed: got nothing"),
        (f"{HEADER}\n4,47,1,1,perhaps,\n", "r.csv line 2 > pushed: got 'perhaps', needs yes or no"),
        (b"\xff\xfe\x00", "needs a CSV file that can be read"),
    ],
)
def test_slips_in_readings_are_told_with_their_place(read, text, told):
    with pytest.raises(WhirlbenchError) as found:
        read(text)
    assert told in str(found.value)


def test_every_bad_cell_is_told_at_once(read):
    with pytest.raises(InputErrors) as found:
        read(f'{HEADER}\nx,47,-1,1,,\n4,47,1,1,,\n4,47,1,1,maybe,"a, b"\n')
    assert [error.what for error in found.value.errors] == [
        "r.csv line 2 > wind_speed",
        "r.csv line 2 > voltage",
        "r.csv line 4 > pushed",
    ]


def test_a_lost_quote_swallows_no_other_line(read):
    assert [one.note for one in read(f'{HEADER}\n4,47,1,1,,"open\n5,47,1,1,,shut\n')] == ["open", "shut"]


def test_missing_readings(tmp_path):
    for path in (tmp_path, tmp_path / "none.csv"):
        with pytest.raises(InputError, match="a CSV file that can be read"):
            read_readings(path)


@given(
    st.lists(st.sampled_from([*(f"{name} [{unit or ''}]" for name, unit in COLUMNS.items()), "x", ""]), max_size=5),
    st.lists(st.lists(st.text(alphabet='0123456789.,;"-+e\t ymn\x00é', max_size=6), max_size=6), max_size=4),
)
def test_any_readings_are_taken_or_refused(tmp_path_factory, header, rows):
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_text("\n".join(",".join(cells) for cells in [header, *rows]), encoding="utf-8")
    try:
        assert all(one.row >= 2 for one in read_readings(path))
    except WhirlbenchError as error:
        assert all(one.what and one.needs and one.try_ for one in getattr(error, "errors", (error,)))
