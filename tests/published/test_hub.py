"""Balance against brute force over all hole sets and against worked balance grades."""

import math

import pytest
from evidence import rows

from whirlbench.physics import hub

SPEED = 800 * math.pi / 30
MASS = 0.30


@pytest.mark.parametrize("row", rows("hub/balance_holes"), ids=str)
def test_hole_sets_against_brute_force(row):
    blades, holes = int(row.n_blades), int(row.N_holes)
    found = hub.balanced_placements(blades, holes)
    assert hub.can_balance(blades, holes) == (row.balanceable == "yes") == bool(found)
    assert len(found) == row.count_balanced_placements
    kinds = {placement.kind for placement in found}
    assert bool(kinds & {"even", "symmetric"}) == (row.balanced_and_rotationally_symmetric == "yes")
    assert ("even" in kinds) == (row.evenly_spaced_possible == "yes" and blades > 1)  # one blade divides, unbalanced
    if found:
        example = tuple(int(hole) for hole in row.example_holes.split())
        assert example in {placement.holes for placement in found}


@pytest.mark.parametrize(("holes", "counts"), [(6, 5), (10, 7)])
def test_number_of_balanced_counts_in_the_integer_encyclopedia(holes, counts):
    # A322366 counts from 0 blades, which always balance
    assert 1 + sum(hub.can_balance(blades, holes) for blades in range(1, holes + 1)) == counts


@pytest.mark.parametrize("row", rows("hub/balance_grades"), ids=str)
def test_worked_balance_grades(row):
    got = hub.permissible_imbalance(row.grade, MASS, SPEED)  # kg*m; 1 kg*m is 1e6 g*mm
    assert got * 1e6 == pytest.approx(row.U_per_gmm_0p30kg_800rpm, rel=5e-6)
    assert got / MASS * 1000 == pytest.approx(row.e_per_mm_800rpm, rel=5e-6)
    assert got / 0.120 * 1000 == pytest.approx(row.blade_mass_mismatch_g_at_120mm, rel=5e-6)
    assert hub.grade_reached(got, MASS, SPEED).grade == row.grade
