"""Every error a user can see says what, got, needs and try."""

import inspect
import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench import errors, units
from whirlbench.errors import InputError, InputErrors, OutOfRange, UnitError, UnknownKey, WhirlbenchError, within

KINDS = [kind for _, kind in inspect.getmembers(errors, inspect.isclass) if issubclass(kind, Exception)]
FOUR = [kind for kind in KINDS if issubclass(kind, InputError)]


def test_the_tree_at_the_top_of_the_file_names_every_error():
    words = set(errors.__doc__.replace("├──", " ").replace("└──", " ").split())
    assert {kind.__name__ for kind in KINDS} == {word for word in words if hasattr(errors, word) and word[0].isupper()}
    assert all(issubclass(kind, WhirlbenchError) for kind in KINDS)


@pytest.mark.parametrize("kind", FOUR)
def test_four_pieces_make_one_sentence(kind):
    error = kind("wind", "'5'", "a number and a unit", try_="write 5 m/s")
    assert str(error) == "wind: got '5', needs a number and a unit. Try: write 5 m/s."
    assert (error.what, error.got, error.needs, error.try_) == ("wind", "'5'", "a number and a unit", "write 5 m/s")


@pytest.mark.parametrize("kind", FOUR)
def test_a_place_is_put_before_the_field(kind):
    error = kind("type", "x", "y", try_="z").under("turbine.toml > generator")
    assert type(error) is kind
    assert str(error) == "turbine.toml > generator > type: got x, needs y. Try: z."


def test_several_errors_are_told_one_a_line():
    several = InputErrors([InputError("a", "b", "c", try_="d"), UnitError("e", "f", "g", try_="h")])
    assert str(several).splitlines() == ["a: got b, needs c. Try: d.", "e: got f, needs g. Try: h."]
    assert len(several.errors) == 2


@given(st.floats(), st.floats(-1e3, 0), st.floats(1, 1e3))
def test_within_lets_the_closed_range_pass_and_nothing_else(value, low, high):
    if low <= value <= high:
        within("speed", value, low=low, high=high, unit="m/s", try_="slower")
    else:
        with pytest.raises(OutOfRange) as refused:
            within("speed", value, low=low, high=high, unit="m/s", try_="slower")
        assert refused.value.what == "speed"
        assert refused.value.needs == f"{low:g} to {high:g} m/s"
        assert f"{value:g} m/s" in refused.value.got


def test_within_names_the_first_bad_number_of_an_array():
    with pytest.raises(OutOfRange, match="got 7 m, needs 0 to 5 m"):
        within("length", np.array([[1.0, 7.0], [9.0, 2.0]]), low=0, high=5, unit="m", try_="shorter")


def test_within_takes_open_ends():
    within("resistance", [0, 1e30, np.inf], low=0, high=np.inf, unit="ohm", try_="")
    with pytest.raises(OutOfRange):
        within("resistance", np.nan, low=-np.inf, high=np.inf, unit="ohm", try_="")


@pytest.mark.parametrize(
    ("name", "answer"), [("rottor", "rotor"), ("ROTOR", "rotor"), ("tower_", "tower"), ("rot", "rotor")]
)
def test_nearest_points_to_the_nearest(name, answer):
    assert errors.nearest(name, ["rotor", "tower", "base"]) == f"write '{answer}', the nearest known name"


def test_nearest_takes_a_name_cut_short_for_the_whole_one():
    known = ["500 can, 5 V (type 14415)", "370 can, 12 V", "500 can, 12 V (type 12560)"]
    assert errors.nearest("500 can, 5 V", known) == "write '500 can, 5 V (type 14415)', the nearest known name"


def test_nearest_lists_all_where_nothing_is_near():
    assert errors.nearest("xyzzy", ["rotor", "tower", "base"]) == "use one of base, rotor, tower"


def test_a_unit_error_says_what_would_fit():
    with pytest.raises(UnitError) as refused:
        units.read("wind", "5", "m/s")
    assert refused.value.what == "wind"
    assert refused.value.got == "'5'"
    assert "5 m/s" in refused.value.needs
    assert "unit" in refused.value.try_


def test_a_table_points_to_the_nearest_row():
    from whirlbench import tables

    with pytest.raises(UnknownKey, match="write 'grey board'"):
        tables.load("materials/density").find(name="gray board")


@pytest.mark.parametrize("kind", [InputError, OutOfRange, UnitError, UnknownKey, errors.Conflict])
def test_an_error_travels_whole_from_a_worker(kind):
    error = kind("wind", "'5'", "a unit", try_="write 5 m/s")
    for one in (error, InputErrors([error, error])):
        come = pickle.loads(pickle.dumps(one))
        assert type(come) is type(one)
        assert str(come) == str(one)
    assert pickle.loads(pickle.dumps(error)).try_ == "write 5 m/s"
