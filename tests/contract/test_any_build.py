"""Every field of every example pushed to its ends: a prediction with finite numbers, or an error of ours."""

import copy
import re
import tomllib

import numpy as np
import pytest
from turbines import BUILDS, EXAMPLES

from whirlbench.errors import WhirlbenchError
from whirlbench.parts.part import build
from whirlbench.parts.turbine import Turbine
from whirlbench.predict import turbine as whole
from whirlbench.predict import wind, world

DOCUMENTS = {name: tomllib.loads((EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")) for name in BUILDS}
FACTORS = (0, 1e-3, 0.03, 0.3, 3, 30, 1e3, -1)
COUNTS = (1, 2, 7, 12, 100, 400)


def leaves(value, path=()):
    """Paths to all that is neither table nor list."""
    if not isinstance(value, dict | list):
        yield path
        return
    for key in value if isinstance(value, dict) else range(len(value)):
        yield from leaves(value[key], (*path, key))


def stretched(value):
    """The same field, much smaller and much larger."""
    if isinstance(value, int) and not isinstance(value, bool):
        return COUNTS
    match = re.match(r"([\d.]+)( \S.*)$", value) if isinstance(value, str) else None
    return [f"{float(match[1]) * factor!r}{match[2]}" for factor in FACTORS] if match else ()


def cases():
    for name, document in DOCUMENTS.items():
        for path in leaves(document):
            value = document
            for key in path:
                value = value[key]
            if stretched(value):
                yield pytest.param(name, path, stretched(value), id=f"{name} {'.'.join(map(str, path))}")


def outcome(document):
    """``refused``, or the prediction of a turbine in a few worlds."""
    try:
        turbine = build(Turbine, document, from_file=True)
        speed = wind.disc_speed(turbine.wind, turbine.rotor.radius).number
        turbine = whole.settled(turbine, speed)
        assembly = whole.assemble(turbine, world.draw(whole.priors(turbine), 3))
        found = whole.predict(assembly, speed)
        whole.start_wind(assembly, found)
        whole.equilibria(assembly, found)
    except WhirlbenchError:
        return "refused"
    return found


@pytest.mark.parametrize(("name", "path", "values"), list(cases()))
def test_a_field_at_its_ends(name, path, values):
    outcomes = []
    for value in values:
        document = copy.deepcopy(DOCUMENTS[name])
        holder = document
        for key in path[:-1]:
            holder = holder[key]
        holder[path[-1]] = value
        outcomes.append(outcome(document))
    for found in outcomes:
        if found == "refused":
            continue
        for state in (found.rest, found.pushed):
            numbers = [number for field, number in vars(state).items() if field != "path"]
            assert all(np.isfinite(number).all() for number in [*numbers, *state.path.values()])
            assert sum(state.path.values()) == pytest.approx(state.wind_power, rel=1e-9)
            assert all((power >= -1e-12 * state.wind_power).all() for power in state.path.values())


@pytest.mark.parametrize("name", BUILDS)
def test_the_examples_themselves_are_predicted(name):
    assert outcome(DOCUMENTS[name]) != "refused"
