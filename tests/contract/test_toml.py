"""TOML written: what is read back is the same, and a change leaves all other lines as they stand."""

import difflib
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from turbines import EXAMPLES

from whirlbench.parts.toml import toml_text, with_changes

FILES = sorted(EXAMPLES.glob("*.toml"))
PLAIN = st.one_of(st.text(max_size=20), st.integers(-(2**60), 2**60), st.floats(allow_nan=False), st.booleans())
VALUES = st.recursive(
    PLAIN,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=5),
    max_leaves=12,
)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_example_goes_round(path):
    text = path.read_text(encoding="utf-8")
    data = tomllib.loads(text)
    assert tomllib.loads(toml_text(data)) == data
    assert toml_text(tomllib.loads(toml_text(data))) == toml_text(data)
    assert with_changes(text, {}) == text


@given(data=st.dictionaries(st.text(max_size=8), VALUES, max_size=5))
def test_any_data_goes_round(data):
    assert tomllib.loads(toml_text(data)) == data


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_key_can_be_changed_alone(path):
    """Every plain key of every example, one at a time: only its own lines differ."""
    text = path.read_text(encoding="utf-8")
    for table, inner in tomllib.loads(text).items():
        keys = [(table, key) for key, value in inner.items()] if isinstance(inner, dict) else [(table,)]
        for key in keys:
            new = with_changes(text, {key: "new value"}, remark="because")
            entered = [line for line in difflib.ndiff(text.splitlines(), new.splitlines()) if line[0] == "+"]
            data = tomllib.loads(new)
            for word in key:
                data = data[word]
            assert data == "new value"
            if f"\n[{table}." not in text and f"[[{table}" not in text:
                assert len(entered) == 1


def test_what_stands_around_a_change_stays():
    text = (EXAMPLES / "starter.toml").read_text(encoding="utf-8")
    changes = {("generator", "kind"): "measured", ("generator", "type"): None, ("base", "friction"): "0.3 +- 5 %"}
    new = with_changes(text, changes, remark="bench test")
    lines = [line for line in difflib.ndiff(text.splitlines(), new.splitlines()) if line[0] in "+-"]
    assert sorted(lines) == [
        '+ friction = "0.3 +- 5 %"  # bench test',
        '+ kind = "measured"  # bench test',
        '- kind = "catalogue"',
        '- type = "iron core 500 can, 5 V (type 14415)"',
    ]
    assert "# equal-area rings, from the axis outward" in new
    assert new.index("friction") > new.index("surface")


@pytest.mark.parametrize(
    "text",
    [
        'wind = { kind = "fan", speed = "4 m/s" }\n',
        'wind.kind = "fan"\nwind.speed = "4 m/s"\n',
        '[wind]\n"speed" = "4 m/s"\nkind = """\nfan"""\n',
        '[ wind ]\nkind="fan"\nspeed = [\n  "4 m/s", # first\n  "5 m/s",\n]\n[[more]]\nspeed = 1\n',
        '[other]\nspeed = 1\n[wind]\nkind = "fan"\n# a remark\n\n# about more\n[more]\nspeed = 2\n',
        'note = "[wind]"\n[wind]\n',
    ],
)
def test_any_layout_is_changed_rightly(text):
    wanted = tomllib.loads(text)
    wanted["wind"] = wanted["wind"] | {"speed": "6 m/s"}
    wanted["wind"].pop("kind", None)
    assert tomllib.loads(with_changes(text, {("wind", "speed"): "6 m/s", ("wind", "kind"): None})) == wanted


def test_a_table_that_is_not_there_is_made():
    text = 'name = "x"\n'
    new = with_changes(text, {("wind", "speed"): ["4 m/s"], ("rotor", "hub", "mass"): None})
    assert tomllib.loads(new) == {"name": "x", "wind": {"speed": ["4 m/s"]}, "rotor": {"hub": {}}} or tomllib.loads(
        new
    ) == {"name": "x", "wind": {"speed": ["4 m/s"]}}
