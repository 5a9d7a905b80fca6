"""Every slip in a file is told in four pieces with its place, and nothing but our own errors ever comes out."""

import contextlib
import copy
import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import InputError, InputErrors, UnknownKey, WhirlbenchError
from whirlbench.parts.bin import PartsBin
from whirlbench.parts.event import Event
from whirlbench.parts.files import read_bin, read_event, read_turbine
from whirlbench.parts.part import build
from whirlbench.parts.turbine import Turbine

EXAMPLES = Path(__file__).parents[2] / "src/whirlbench/examples"
KINDS = {"parts-bin.toml": (PartsBin, read_bin), "event.toml": (Event, read_event)}
FILES = sorted(path.name for path in EXAMPLES.glob("*.toml"))
DOCUMENTS = {name: tomllib.loads((EXAMPLES / name).read_text(encoding="utf-8")) for name in FILES}
FREE_TEXT = {"name", "note", "material", "type", "teeth", "surface", "nominal", "grade", "colour", "names", "feet"}
CHOICES = {"kind", "edge", "joint", "diodes", "magnet", "belt", "score", "process", "flow"}
MAY_BE_NEGATIVE = {"pitch", "twist", "free_play", "temperature"}
REQUIRED = [
    "name",
    "wind",
    "rotor",
    "generator",
    "load",
    "tower",
    "base",
    "rotor.holes",
    "rotor.pitch",
    "rotor.hub",
    "rotor.section",
    "rotor.shape",
    "rotor.hub.radius",
    "rotor.section.thickness",
    "rotor.shape.inner_radius",
    "rotor.shape.tip_radius",
    "rotor.shape.root_chord",
    "rotor.shape.tip_chord",
    "rotor.rod.diameter",
    "generator.type",
    "load.resistance",
    "tower.height",
    "tower.top_mass",
    "tower.tube",
    "tower.tube.nominal",
    "base.width",
    "base.mass",
    "wind.kind",
    "rotor.section.kind",
    "rotor.shape.kind",
    "generator.kind",
    "load.kind",
    "tower.tube.kind",
    "format",
]


def reading(name):
    """Model and reader of an example file."""
    return KINDS.get(name, (Turbine, read_turbine))


def nodes(value, path=()):
    """Every path below a document, tables and lists included."""
    keys = value if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    for key in keys:
        yield (*path, key)
        yield from nodes(value[key], (*path, key))


def at(document, path):
    """What stands at a path."""
    for key in path:
        document = document[key]
    return document


def place(path):
    """A path as an error writes it."""
    return " > ".join(f"#{key + 1}" if isinstance(key, int) else key for key in path)


def field(path):
    """Last word of a path."""
    return next(key for key in reversed(path) if isinstance(key, str))


def with_value(name, path, value):
    """A document with one value exchanged."""
    document = copy.deepcopy(DOCUMENTS[name])
    at(document, path[:-1])[path[-1]] = value
    return document


def without(name, path):
    """A document with one key taken out."""
    document = copy.deepcopy(DOCUMENTS[name])
    del at(document, path[:-1])[path[-1]]
    return document


def complaints(name, document):
    """Errors of a document, none where it is a good one."""
    try:
        build(reading(name)[0], document, from_file=True, where=name)
    except InputErrors as found:
        for error in found.errors:
            assert isinstance(error, InputError)
            assert all((error.what, error.got, error.needs, error.try_))
            assert error.what.startswith(name)
            assert len(str(error)) < 600
            assert not re.search(r"should be|pydantic|valid (dict|int|str)|instance of|_Carried", str(error))
        return found.errors
    return ()


FIELDS = [(name, path) for name in FILES for path in nodes(DOCUMENTS[name])]
KEYS = [(name, path) for name, path in FIELDS if isinstance(path[-1], str)]
LEAVES = [(name, path) for name, path in FIELDS if not isinstance(at(DOCUMENTS[name], path), dict | list)]
MEASURES = [(name, path) for name, path in LEAVES if isinstance(at(DOCUMENTS[name], path), str)]
MEASURES = [(name, path) for name, path in MEASURES if field(path) not in FREE_TEXT | CHOICES]


def ids(pair):
    return f"{pair[0]} {place(pair[1])}"


@pytest.mark.parametrize("name", FILES)
def test_every_example_loads_and_keeps_its_name(name):
    assert reading(name)[1](EXAMPLES / name).name == DOCUMENTS[name]["name"]


def test_examples_of_every_kind_are_there():
    assert {"starter.toml", "geared.toml", "advanced.toml", "twelve.toml", "parts-bin.toml", "event.toml"} <= set(FILES)
    assert len(MEASURES) > 150


@pytest.mark.parametrize("case", KEYS, ids=ids)
def test_a_misspelt_key_is_told_with_its_place_and_the_nearest_true_one(case):
    name, path = case
    key = path[-1]
    for wrong in (key + "x", key[:-1] + "q" + key[-1:]):
        document = copy.deepcopy(DOCUMENTS[name])
        table = at(document, path[:-1])
        table[wrong] = table.pop(key)
        found = complaints(name, document)
        if key == "kind" and not any(isinstance(error, UnknownKey) for error in found):
            # without a kind the table's other keys have no meaning; the kinds are told instead
            (error,) = [error for error in found if error.what == f"{name} > {place(path)}"]
            assert at(DOCUMENTS[name], path) in error.needs
            continue
        (error,) = [error for error in found if isinstance(error, UnknownKey)]
        assert error.what == f"{name} > {place((*path[:-1], wrong))}"
        assert f"write '{key}'" in error.try_


@pytest.mark.parametrize("case", KEYS, ids=ids)
def test_a_missing_key_is_named_or_has_a_default(case):
    name, path = case
    for error in complaints(name, without(name, path)):
        assert error.what == f"{name} > {place(path)}"
        assert error.got == "nothing"


@pytest.mark.parametrize("path", REQUIRED)
def test_what_a_turbine_cannot_do_without_is_asked_for(path, tmp_path):
    steps = tuple(path.split("."))
    if path == "format":  # the file's own mark: the reader asks for it
        file = tmp_path / "starter.toml"
        file.write_text((EXAMPLES / "starter.toml").read_text(encoding="utf-8").replace("format = 1\n", ""))
        with pytest.raises(InputError, match=r"starter.toml > format: got nothing, .* Try: add the line format = 1"):
            read_turbine(file)
        return
    (error,) = complaints("starter.toml", without("starter.toml", steps))
    assert error.what == f"starter.toml > {place(steps)}"
    assert steps[-1] in error.try_ or steps[-1] == "kind"


@pytest.mark.parametrize("case", MEASURES, ids=ids)
def test_a_measure_without_unit_of_another_kind_absurd_or_negative_is_refused_at_its_place(case):
    name, path = case
    good = at(DOCUMENTS[name], path)
    unit = re.sub(r"^[\d./e+-]+(-\d+/\d+)?\s*", "", good).split("+-")[0].strip()
    wrong = [f"3 {other}" for other in ("candela", "nonsense")] + ["", "some", "nan", f"1e9 {unit}", f"1e999 {unit}"]
    wrong += [5, 5.0, "5"] if unit != "%" else ["5", "500 %"]
    wrong += [] if field(path) in MAY_BE_NEGATIVE else [f"-1 {unit}"]
    wrong += [True, [], {}, {"a": 1}, [good]]
    for value in wrong:
        found = complaints(name, with_value(name, path, value))
        assert found, f"{value!r} passed as {place(path)}"
        assert {error.what for error in found} == {f"{name} > {place(path)}"}, value


@pytest.mark.parametrize("case", [case for case in LEAVES if case not in MEASURES], ids=ids)
def test_counts_choices_switches_and_texts_are_refused_at_their_place(case):
    name, path = case
    good = at(DOCUMENTS[name], path)
    wrong = [[], {}, {"a": 1}, float("nan")]
    if isinstance(good, bool):
        wrong += ["maybe", 2, 1.5]
    elif isinstance(good, int):
        wrong += [-1, 10**9, 10**400, 1.5, "many", ""]
    elif isinstance(good, str):
        wrong += [5, 1.5, True, *(["nonsense", ""] if field(path) in CHOICES else [])]
    for value in wrong:
        found = complaints(name, with_value(name, path, value))
        assert found, f"{value!r} passed as {place(path)}"
        # a list of holes is judged as a whole, a kind together with its table
        places = {error.what.removeprefix(f"{name} > ") for error in found}
        assert all(place(path).startswith(told) or told.startswith(place(path[:-1])) for told in places), places


@pytest.mark.parametrize("case", [case for case in LEAVES if field(case[1]) in CHOICES - {"kind"}], ids=ids)
def test_a_misspelt_choice_is_answered_with_the_nearest(case):
    name, path = case
    good = at(DOCUMENTS[name], path)
    (error,) = complaints(name, with_value(name, path, good[:-1] + "x" + good[-1:]))
    assert error.what == f"{name} > {place(path)}"
    assert f"write '{good}'" in error.try_


@pytest.mark.parametrize("case", [case for case in LEAVES if case[1][-1] == "kind"], ids=ids)
def test_a_misspelt_kind_is_answered_with_the_nearest(case):
    name, path = case
    good = at(DOCUMENTS[name], path)
    (error,) = complaints(name, with_value(name, path, good + "s"))
    assert error.what == f"{name} > {place(path)}"
    assert f"write '{good}'" in error.try_


def test_everything_that_is_wrong_is_told_at_once():
    document = copy.deepcopy(DOCUMENTS["geared.toml"])
    document["colour"] = "red"
    document["rotor"]["pitch"] = 10
    document["rotor"]["section"] |= {"thicknes": "2 mm", "camber": "50 %"}
    document["drivetrain"][0] |= {"rotor_teeth": 2, "modul": "1 mm"}
    del document["base"]["mass"]
    found = complaints("geared.toml", document)
    assert [error.what.removeprefix("geared.toml > ") for error in found] == [
        "rotor > pitch",
        "rotor > section > camber",
        "rotor > section > thicknes",
        "drivetrain > #1 > rotor_teeth",
        "drivetrain > #1 > modul",
        "base > mass",
        "colour",
    ]


def test_a_part_changed_in_code_is_checked_like_a_file():
    turbine = read_turbine(EXAMPLES / "starter.toml")
    with pytest.raises(InputErrors, match="pitch"):
        turbine.rotor.changed(pitch=99.0)
    with pytest.raises(InputErrors, match="different holes"):
        turbine.rotor.changed(holes=(1, 1))
    assert turbine.rotor.changed(pitch=0.1).pitch == 0.1
    assert turbine.rotor.pitch != 0.1


# --- any document at all -------------------------------------------------------------------------------------------

SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(-3, 30),
    st.floats(),
    st.text(max_size=12),
    st.sampled_from(["1 mm", "20 deg", "-1 kg", "5 m/s +- 300 %", "0 ohm", "dc", "fan", "belt", "own polar", "1e30 m"]),
    st.dates(),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=5,
)


@given(st.sampled_from(FIELDS), VALUES, st.sampled_from(FIELDS), VALUES)
def test_any_value_anywhere_is_taken_or_refused_in_four_pieces(case, value, other, second):
    name, path = case
    document = with_value(name, path, value)
    if other[0] == name:
        with contextlib.suppress(KeyError, IndexError, TypeError, AttributeError):
            at(document, other[1][:-1])[other[1][-1]] = second
    complaints(name, document)


@given(st.sampled_from(FILES), st.data())
def test_a_value_moved_to_another_place_is_taken_or_refused_in_four_pieces(name, data):
    paths = list(nodes(DOCUMENTS[name]))
    source, target = data.draw(st.sampled_from(paths)), data.draw(st.sampled_from(paths))
    complaints(name, with_value(name, target, copy.deepcopy(at(DOCUMENTS[name], source))))


@given(VALUES)
def test_any_document_is_refused_in_four_pieces(value):
    for name in ("starter.toml", "parts-bin.toml", "event.toml"):
        complaints(name, value)


# --- files as they come off a disk -------------------------------------------------------------------------------


def refused(reader, path):
    """Text of the error that a reader raises; any other exception fails the test."""
    with pytest.raises(WhirlbenchError) as found:
        reader(path)
    errors = getattr(found.value, "errors", (found.value,))
    assert all(error.what and error.got and error.needs and error.try_ for error in errors)
    return str(found.value)


@pytest.mark.parametrize("reader", [read_turbine, read_bin, read_event])
def test_files_that_are_none(reader, tmp_path):
    assert "a file that can be read" in refused(reader, tmp_path / "missing.toml")
    assert "a file that can be read" in refused(reader, tmp_path)
    broken = tmp_path / "broken.toml"
    for content, told in [
        (b"", "format = 1 at the top"),
        (b"# only a remark\n", "format = 1 at the top"),
        (bytes(range(256)), "UTF-8 text"),
        ("format = 1".encode("utf-16"), "UTF-8 text"),
        (b"format = 1\nname = Team\n", "at line 2"),
        (b"format = 1\n[rotor\n", "at line 2"),
        (b"format = 1\nformat = 1\n", "at line 2"),
        (b"format = 1\nname = 'a'\nname = 'b'\n", "at line 3"),
        (b"format = " + b"9" * 5000, "TOML"),
        (b"a = " + b"[" * 5000, "TOML"),
        (b"PK\x03\x04", "TOML"),
    ]:
        broken.write_bytes(content)
        assert told in refused(reader, broken)
        assert "broken.toml" in refused(reader, broken)


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("mark", ["2", "0", '"1"', "1.5", "[]"])
def test_a_format_of_another_time_is_refused(name, mark, tmp_path):
    text = (EXAMPLES / name).read_text(encoding="utf-8").replace("format = 1\n", f"format = {mark}\n", 1)
    (tmp_path / name).write_text(text, encoding="utf-8")
    told = refused(reading(name)[1], tmp_path / name)
    assert told.startswith(f"{name} > format: got ")
    assert "needs 1" in told


def test_a_missing_format_does_not_hide_the_rest(tmp_path):
    text = (EXAMPLES / "starter.toml").read_text(encoding="utf-8").replace("format = 1\n", "").replace("35 deg", "35")
    (tmp_path / "t.toml").write_text(text, encoding="utf-8")
    assert [line.split(":")[0] for line in refused(read_turbine, tmp_path / "t.toml").splitlines()] == [
        "t.toml > format",
        "t.toml > rotor > pitch",
    ]


def test_a_byte_order_mark_does_no_harm(tmp_path):
    text = (EXAMPLES / "starter.toml").read_text(encoding="utf-8")
    (tmp_path / "t.toml").write_text(text.replace("\n", "\r\n"), encoding="utf-8-sig", newline="")
    assert read_turbine(tmp_path / "t.toml") == read_turbine(EXAMPLES / "starter.toml")
