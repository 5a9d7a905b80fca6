"""Mesh efficiency and tooth friction against the worked table, a compound train, and the few measured trains."""

import math

import numpy as np
import pytest
from evidence import rows

from whirlbench.physics.gear_friction import instantaneous_efficiency, loss_factor, mesh_efficiency, tooth_friction
from whirlbench.physics.gears import gear_mesh
from whirlbench.tables import load

WORKED = rows("gears/mesh_efficiency")
SIX_DECIMALS = 5.01e-7
READ_PAIRS = {
    "POM (acetal copolymer) on steel": "pom_steel",
    "PA6 (nylon 6) on steel": "nylon_steel",
    "polyacetal homopolymer on steel": "pom_steel_static",
    "nylon 6/6 on itself": "nylon_nylon",
    "printed PLA, dry sliding test": "pla_sliding_test",
    "printed PA6, dry sliding test": "nylon_sliding_test",
    "brass on steel": "brass_steel",
    "brass or sintered bronze on steel": "brass_steel_oiled",
    "POM on POM": "pom_pom",
    "PLA on PLA printed teeth": "pla_pla",
}


def mesh_of(row):
    return gear_mesh(int(row.z1), int(row.z2), 1e-3, pinion_shift=row.x1, wheel_shift=row.x2)


@pytest.mark.parametrize("row", WORKED, ids=lambda row: f"{row!r}-{row.mu}")
def test_first_order_loss(row):
    mesh = mesh_of(row)
    got = mesh_efficiency(mesh, row.mu)
    assert loss_factor(mesh) == pytest.approx(row.loss_factor_HV, abs=SIX_DECIMALS)
    assert got.first_order == pytest.approx(row.eff_first_order, abs=SIX_DECIMALS)
    assert 1 - got.upper_bound_loss == pytest.approx(row.eff_upper_bound_loss, abs=SIX_DECIMALS)


@pytest.mark.parametrize("row", WORKED, ids=lambda row: f"{row!r}-{row.mu}")
def test_balance_of_forces_sampled_as_the_table_was(row):
    # The table took 2000 places of the tooth cycle, from the first contact on.
    sampled = instantaneous_efficiency(mesh_of(row), row.mu, np.arange(2000) / 2000)
    assert sampled.mean() == pytest.approx(row.eff_mean_step_up, abs=SIX_DECIMALS)
    assert sampled.min() == pytest.approx(row.eff_worst_step_up, abs=SIX_DECIMALS)


@pytest.mark.parametrize("row", WORKED, ids=lambda row: f"{row!r}-{row.mu}")
def test_balance_of_forces(row):
    got = mesh_efficiency(mesh_of(row), row.mu)
    # wider than the print: the 2000 samples of the table end up to 0.0005 base pitch from where a pair comes or goes
    assert got.mean == pytest.approx(row.eff_mean_step_up, abs=1e-4 * row.mu)
    assert row.eff_worst_step_up - 6e-4 * row.mu < got.worst < row.eff_worst_step_up + SIX_DECIMALS


def test_pinion_driving_example():
    assert mesh_efficiency(gear_mesh(8, 64, 1e-3, pinion_shift=0.45), 0.2, "pinion").mean == pytest.approx(
        0.951, abs=5e-4
    )


@pytest.mark.parametrize("row", rows("gears/compound_1to32"), ids=str)
def test_compound_train(row):
    stages = [gear_mesh(8, wheel, 0.5e-3, pinion_shift=0.45) for wheel in (64, 32)]
    means = [mesh_efficiency(mesh, row.mu).mean for mesh in stages]
    ratio = math.prod(mesh.ratio for mesh in stages)
    sampling = 1e-4 * row.mu  # of the table, as above
    assert means == pytest.approx([row.eff_stage1, row.eff_stage2], abs=sampling)
    assert math.prod(means) == pytest.approx(row.eff_total, abs=2 * sampling)
    assert ratio == row.speed_ratio
    assert ratio**2 == row.inertia_multiplier
    assert ratio / math.prod(means) == pytest.approx(row.torque_demand_multiplier, rel=2 * sampling)


def test_whole_trains_lose_more_than_their_teeth():
    # 141:1 takes about four stages of 12/42; acetal on acetal at its middle, 0.4, leaves the rest to the bearings
    measured = next(row for row in rows("gears/whole_trains") if row.ratio == "141:1")
    stage = mesh_efficiency(
        gear_mesh(12, 42, 0.5e-3, pinion_shift=0.3), tooth_friction("pom_pom").number, "pinion"
    ).mean
    assert stage**4 > measured.efficiency


@pytest.mark.parametrize("row", [row for row in rows("gears/sliding_friction") if row.pair in READ_PAIRS], ids=str)
def test_shipped_friction_spans_its_source(row):
    got = tooth_friction(READ_PAIRS[row.pair])
    assert (got.number - got.sigma, got.number + got.sigma) == pytest.approx((row.mu_low, row.mu_high))
    assert row.how in got.source


def test_every_shipped_pair_has_doubt_and_says_how_it_was_seen():
    for row in load("gears/sliding_friction").rows:
        assert 0 < row.friction_low < row.friction_high
        assert row.seen in ("read", "memory")
        assert row.source
