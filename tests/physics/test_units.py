"""Text to SI and back: what a team may write, and what is refused."""

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench import units
from whirlbench.errors import UnitError

# factors from the definitions of the units, not from the library that does the work
INCH, POUND, MILE, TURN = 0.0254, 0.45359237, 1609.344, 2 * math.pi
SHOWN = {
    "m": ("mm", "cm", "m", "in", "ft"),
    "m/s": ("m/s", "km/h", "mph", "ft/s"),
    "rad": ("deg", "rad"),
    "rad/s": ("rpm", "rad/s"),
    "ohm": ("ohm", "kohm", "mohm"),
    "V": ("V", "mV"),
    "A": ("A", "mA"),
    "kg": ("kg", "g", "lb", "oz"),
    "N": ("N", "mN"),
    "N*m": ("N*m", "mN*m"),
    "W": ("W", "mW"),
    "Pa": ("Pa", "hPa", "kPa", "inHg"),
    "K": ("K", "degC", "degF"),
    "s": ("s", "ms", "min"),
    "V*s/rad": ("V*s/rad", "V/krpm", "mV/rpm"),
    "": ("", "%"),
    "kg/m^3": ("kg/m^3", "g/cm^3"),
    "kg/m^2": ("kg/m^2", "g/m^2"),
    "N*m/rad": ("N*m/rad", "N*m/deg"),
    "N*m*s/rad": ("N*m*s/rad",),
    "kg*m^2": ("kg*m^2", "g*cm^2"),
    "T": ("T", "mT"),
    "H": ("H", "mH"),
}
PAIRS = [(unit, shown) for unit, several in SHOWN.items() for shown in several]


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        ("25 mm", "m", 0.025),
        ("25mm", "m", 0.025),
        ("  25   mm  ", "m", 0.025),
        ("1 in", "m", INCH),
        ('3"', "m", 3 * INCH),
        ("1/4 in", "m", INCH / 4),
        ("1-1/4 in", "m", 1.25 * INCH),
        ("1 1/4 in", "m", 1.25 * INCH),
        ("10 1/2 inches", "m", 10.5 * INCH),
        ("2.5e-2 m", "m", 0.025),
        (".5 ft", "m", 6 * INCH),
        ("12 mph", "m/s", 12 * MILE / 3600),
        ("18 km/h", "m/s", 5.0),
        ("12 deg", "rad", math.radians(12)),
        ("-12 °", "rad", math.radians(-12)),
        ("300 rpm", "rad/s", 5 * TURN),
        ("300 RPM", "rad/s", 5 * TURN),
        ("300 rev/min", "rad/s", 5 * TURN),
        ("47 ohm", "ohm", 47),
        ("47 Ω", "ohm", 47),
        ("4.7 kΩ", "ohm", 4700),
        ("47 Ohm", "ohm", 47),
        ("120 mA", "A", 0.12),
        ("1 lb", "kg", POUND),
        ("30 g", "kg", 0.03),
        ("1005 hPa", "Pa", 100500),
        ("1.5 V/krpm", "V*s/rad", 1.5 * 60 / (1000 * TURN)),
        ("50 %", "", 0.5),
        ("0.5", "", 0.5),
        (0.5, "", 0.5),
        ("450 g/m²", "kg/m^2", 0.45),
        ("20 g*cm^2", "kg*m^2", 2e-6),
        ("20 g·cm²", "kg*m^2", 2e-6),
    ],
)
def test_what_a_team_writes_becomes_si(text, unit, number):
    assert units.read("field", text, unit) == pytest.approx(number, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        ("0 degC", 273.15),
        ("21 °C", 294.15),
        ("21 C", 294.15),
        ("21 deg C", 294.15),
        ("32 degF", 273.15),
        ("212 °F", 373.15),
        ("-40 degF", 233.15),
        ("70 F", (70 - 32) / 1.8 + 273.15),
    ],
)
def test_temperatures_keep_their_zero(text, kelvin):
    assert units.read("temperature", text, "K") == pytest.approx(kelvin, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "unit", "number", "sigma"),
    [
        ("9.3 ohm", "ohm", 9.3, 0),
        ("9.3 ohm +- 5 %", "ohm", 9.3, 0.465),
        ("9.3 ohm +/- 5%", "ohm", 9.3, 0.465),
        ("9.3 ohm ± 5 %", "ohm", 9.3, 0.465),
        ("9.3 +- 5 % ohm", "ohm", 9.3, 0.465),
        ("9.3 +- 0.4 ohm", "ohm", 9.3, 0.4),
        ("9.3 ohm +- 0.4", "ohm", 9.3, 0.4),
        ("9.3 ohm +- 0.4 ohm", "ohm", 9.3, 0.4),
        ("4 m/s +- 20 cm/s", "m/s", 4, 0.2),
        ("1/2 in +- 1 mm", "m", INCH / 2, 0.001),
        ("70 degF +- 1.8", "K", (70 - 32) / 1.8 + 273.15, 1.0),
        ("-12 deg +- 10 %", "rad", math.radians(-12), math.radians(1.2)),
        ("1.5 V/krpm +- 5 %", "V*s/rad", 0.09 / TURN, 0.0045 / TURN),
    ],
)
def test_a_doubt_is_one_standard_deviation_in_the_unit_it_is_written_in(text, unit, number, sigma):
    value = units.read_value("field", text, unit, "tested")
    assert value.number == pytest.approx(number, rel=1e-9)
    assert value.sigma == pytest.approx(sigma, rel=1e-9)
    assert value.source == "tested"


@pytest.mark.parametrize("unit", [unit for unit in units.EXAMPLES if unit])
@pytest.mark.parametrize("bare", ["5", 5, 5.0, "5 ", "5 +- 1", "5 +- 2 %"])
def test_a_bare_number_is_refused_where_a_unit_is_due(unit, bare):
    with pytest.raises(UnitError, match="a number and a unit such as"):
        units.read("field", bare, unit)


@pytest.mark.parametrize("unit", units.EXAMPLES)
def test_every_example_in_an_error_text_can_be_read(unit):
    for example in units.EXAMPLES[unit].split("' or '"):
        assert math.isfinite(units.read("field", example, unit))


@pytest.mark.parametrize(("unit", "shown"), PAIRS)
def test_a_unit_of_another_kind_is_refused(unit, shown):
    for wrong in ("candela", "furlong^4", "nonsense"):
        with pytest.raises(UnitError) as refused:
            units.read("field", f"5 {wrong}", unit)
        assert f"'5 {wrong}'" in str(refused.value)
    other = "kg" if unit != "kg" else "s"
    with pytest.raises(UnitError):
        units.read("field", f"5 {shown} {other}", unit)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "mm",
        "abc",
        "five mm",
        "1e400 mm",
        "nan mm",
        "inf mm",
        "5 m**99",
        "5 m*9**9**9**9",
        "5 m#",
        "5 (mm",
        "--5 mm",
    ],
)
def test_text_that_is_no_number_with_a_unit_is_refused(text):
    with pytest.raises(UnitError):
        units.read("field", text, "m")


@pytest.mark.parametrize("text", ["4 m/s +- 1e400 m/s", "4 m/s +- 5 kg", "4 m/s +- lots"])
def test_a_doubt_that_is_no_doubt_is_refused(text):
    with pytest.raises(UnitError):
        units.read_value("wind", text, "m/s")


def test_a_decimal_comma_is_answered_with_the_point():
    with pytest.raises(UnitError, match="decimals with a point"):
        units.read("wind", "4,5 m/s", "m/s")


@given(st.sampled_from(PAIRS), st.floats(-1e6, 1e6).filter(lambda x: x == 0 or abs(x) > 1e-6))
def test_what_is_shown_is_read_back(pair, number):
    unit, shown = pair
    text = units.show(number, shown, digits=15)
    # an offset of 273 K eats digits, nothing else does
    assert units.read("field", text, unit) == pytest.approx(number, rel=1e-12, abs=1e-9 if unit == "K" else 0)


@given(st.sampled_from(PAIRS), st.floats(0.01, 1e4), st.integers(1, 6))
def test_showing_rounds_to_the_digits_asked_for(pair, size, digits):
    unit, shown = pair
    number = units.read("field", f"{size!r} {shown}", unit)
    back = float(units.show(number, shown, digits).split()[0])
    assert back == pytest.approx(size, rel=0.501 * 10.0 ** (1 - digits))


def test_showing_nothing_and_no_number():
    assert units.show(0.0, "mW") == units.show(-0.0, "mW") == "0 mW"
    assert units.show(0.0042, "mm") == "4.20 mm"
    assert units.show(math.inf, "s") == "inf s"
    assert units.show(0.5, "%") == "50.0 %"


@given(st.text(max_size=40), st.sampled_from(["m", "m/s", "K", "", "V*s/rad"]))
def test_any_text_is_read_or_refused_in_four_pieces(text, unit):
    for reader in (units.read, units.read_value, units.read_series):
        try:
            reader("field", text, unit)
        except UnitError as error:
            assert all((error.what, error.got, error.needs, error.try_))


@given(st.from_regex(r"[0-9]{1,3} ?[a-z*/^() 0-9%±+.-]{0,25}", fullmatch=True))
def test_text_that_looks_like_units_is_read_or_refused(text):
    with contextlib.suppress(UnitError):
        assert math.isfinite(units.read("field", text, "m"))


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("4 m/s", [4]),
        ("3, 4.5, 6 m/s", [3, 4.5, 6]),
        ("3,4,5 m/s", [3, 4, 5]),
        ("3 m/s, 4 m/s", [3, 4]),
        ("18 km/h, 10 m/s", [5, 10]),
        ("36 km/h", [10]),
        ("2:8:2 m/s", [2, 4, 6, 8]),
        ("2 : 3 : 0.25 m/s", [2, 2.25, 2.5, 2.75, 3]),
        ("8:2:-3 m/s", [8, 5, 2]),
        ("4:4:1 m/s", [4]),
        ("0.1:0.7:0.1 m/s", [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7]),
        ("1e0:3e0:1 m/s", [1, 2, 3]),
    ],
)
def test_series(text, numbers):
    assert units.read_series("wind", text, "m/s") == pytest.approx(numbers)


def test_series_of_plain_numbers():
    assert units.read_series("tip-speed ratio", "0:8:4", "") == [0, 4, 8]
    assert units.read_series("tip-speed ratio", "4", "") == [4]
    assert len(units.read_series("tip-speed ratio", "0:999:1", "")) == 1000


@pytest.mark.parametrize(
    "text",
    [
        "",
        ",",
        "5",
        "3, 4",
        "2:8 m/s",
        "2:8:1:1 m/s",
        "2:8:0 m/s",
        "2:8:5 m/s",
        "2:8:-1 m/s",
        "0:1000:1 m/s",
        "0:8:1e-30 m/s",
        "a:b:c m/s",
        "2:8:1",
        "2:8:1 kg",
        "3, x, 5 m/s",
        ",".join(["1"] * 1001) + " m/s",
    ],
)
def test_series_that_are_refused(text):
    with pytest.raises(UnitError) as refused:
        units.read_series("wind", text, "m/s")
    assert refused.value.what == "wind"
    assert len(str(refused.value)) < 400


@pytest.mark.parametrize("word", units.EVERYDAY)
def test_everyday_units_agree_with_the_library(word):
    si, scale, offset = units.EVERYDAY[word]
    assert units._library_factors(word, si) == pytest.approx((scale, offset), rel=1e-14, abs=1e-12)


@pytest.mark.parametrize(
    "text",
    ["7 Hz", "7 hz", "0.007 kHz", "420 rpm", "0.42 krpm", "7 rev/s", "7 turns/s", "2520 deg/s", f"{7 * TURN} rad/s"],
)
def test_a_rate_is_turns_a_second(text):
    """The unit library counts a radian as nothing, and so takes 7 Hz for 7 rad/s."""
    assert units.read("speed", text, "rad/s") == pytest.approx(7 * TURN, rel=1e-12)
    assert units.read("rate", text, "Hz") == pytest.approx(7, rel=1e-12)


@pytest.mark.parametrize("text", ["7 1/s", "7 s^-1", "7 Bq", "7 1/min"])
def test_of_a_bare_rate_nobody_knows_whether_it_is_turns(text):
    with pytest.raises(UnitError):
        units.read("speed", text, "rad/s")


def test_a_bare_rate_is_a_rate():
    assert units.read_series("flash", "60, 40 1/s", "Hz") == [60, 40]
    assert units.read_series("flash", "1200, 600 rpm", "Hz") == pytest.approx([20, 10], rel=1e-12)


def test_units_of_more_than_a_rate_stay_as_they_are():
    assert units.read("emf", "1 V/krpm", "V*s/rad") == pytest.approx(60 / (1000 * TURN), rel=1e-12)
    assert units.read("emf", "1 V*s", "V*s/rad") == 1
