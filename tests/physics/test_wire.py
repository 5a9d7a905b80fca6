"""Magnet wire: limits and scaling."""

import pytest

from whirlbench.errors import OutOfRange
from whirlbench.physics import wire


def test_gauge_rule_passes_its_two_fixed_points():
    """AWG 36 is 5 mil by definition, and 39 steps multiply the diameter by 92."""
    assert wire.gauge_diameter(36) == pytest.approx(0.127e-3)
    assert wire.gauge_diameter(10) / wire.gauge_diameter(49) == pytest.approx(92)


def test_resistance_times_mass_does_not_depend_on_diameter():
    def product(diameter):
        return wire.resistance_per_length(diameter) * wire.mass_per_length(diameter)

    assert product(0.1e-3) == pytest.approx(product(1e-3))
    assert product(0.1e-3) == pytest.approx(wire.RESISTIVITY * wire.DENSITY)


def test_copper_warms_by_0_39_percent_per_kelvin():
    cold, warm = (wire.resistance_per_length(0.25e-3, kelvin) for kelvin in (293.15, 303.15))
    assert warm / cold - 1 == pytest.approx(0.0393, abs=1e-9)


def test_enamel_adds_5_to_15_percent():
    assert 1.05 <= wire.enamelled_diameter(0.25e-3) / 0.25e-3 <= 1.15


@pytest.mark.parametrize(
    "call",
    [
        lambda: wire.gauge_diameter(60),
        lambda: wire.resistance_per_length(0.25),
        lambda: wire.resistance_per_length(0.25e-3, 20.0),
        lambda: wire.enamelled_diameter(0.0),
    ],
)
def test_wires_that_cannot_be_are_refused(call):
    with pytest.raises(OutOfRange):
        call()
