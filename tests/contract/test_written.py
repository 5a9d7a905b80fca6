"""Parts written as TOML text read back as the same parts."""

import math

import pytest
from turbines import EXAMPLES, example

from whirlbench.parts.files import from_text, read_bin, read_event
from whirlbench.parts.plain import text_of as canonical
from whirlbench.parts.written import text_of


def numbers(text):
    """Canonical JSON with its numbers apart, and the numbers."""
    import json

    found = []
    return json.loads(text, parse_float=lambda number: found.append(float(number)) or "#"), found


def same(first, second):
    """Whether two parts say the same to twelve digits."""
    (shape, left), (other, right) = numbers(canonical(first)), numbers(canonical(second))
    return shape == other and all(math.isclose(a, b, rel_tol=1e-11) for a, b in zip(left, right, strict=True))


@pytest.mark.parametrize("name", ["starter", "geared", "advanced", "twelve"])
def test_a_turbine_reads_back(name):
    turbine = example(name)
    text = text_of(turbine)
    assert same(turbine, from_text(type(turbine), text, where="again"))
    assert "0000000" not in text
    assert "9999999" not in text


@pytest.mark.parametrize(("name", "read"), [("event", read_event), ("parts-bin", read_bin)])
def test_what_a_room_is_set_to_reads_back(name, read):
    part = read(EXAMPLES / f"{name}.toml")
    assert same(part, from_text(type(part), text_of(part), where="again"))
