"""The balance of a whole turbine against a table computed elsewhere from the same curve and generator."""

import numpy as np
import pytest
from evidence import rows

from whirlbench.physics.circuit import Circuit
from whirlbench.predict import balance
from whirlbench.predict.curve import MetCurve
from whirlbench.predict.drivetrain import StageNumbers, Train
from whirlbench.predict.generator import Machine
from whirlbench.predict.operating import operating

RADIUS, WIND, DENSITY = 0.25, 4.0, 1.2
FRICTION = 0.38e-3  # as the load curve computed beside the table has it
ROWS = rows("predict/operating_point_vs_load")
PUSH = 0.5 * DENSITY * np.pi * RADIUS**2 * WIND**2


def one(number):
    return np.array([[number]])


def parabola():
    """The made-up rotor. Its torque is a straight line over speed, so the nodes lose nothing."""
    ratio = np.broadcast_to(np.linspace(0, 10, 41), (2, 1, 41))
    torque = PUSH * RADIUS * 0.30 * (0.5 - ratio / 16)
    nothing, wind = np.zeros_like(ratio), np.full_like(ratio, WIND)
    return MetCurve(
        rotor_radius=RADIUS,
        air_density=DENSITY,
        speed=ratio * WIND / RADIUS,
        torque=torque,
        blade_drag=nothing,
        rod_drag=nothing,
        thrust=nothing,
        free_speed=wind,
        axial_speed=wind,
        standstill=torque[1, :, :1],
        unresolved=0.0,
    )


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_operating_point_over_load_and_gear_ratio(row):
    stage = StageNumbers("gears", row.gear_ratio, one(row.eff_gear), one(row.eff_gear), one(0.0), one(0.0))
    train = Train((stage,), one(0.0), one(0.0))
    circuit = Circuit(winding_resistance=one(9.26), load_resistance=row.R_load_ohm)
    machine = Machine(one(14.66e-3), one(FRICTION), one(FRICTION), 0.0, 1e-7, circuit)
    curve = parabola()
    for spot in (balance.fastest(curve, train, machine), balance.from_rest(curve, train, machine, one(1.0))):
        state = operating(curve, spot, train, machine)
        close = {"rel": 6e-6}  # six digits
        assert state.tip_speed_ratio[0] == pytest.approx(row.tip_speed_ratio, **close)
        assert state.rotor_speed[0] * 30 / np.pi == pytest.approx(row.rotor_rpm, **close)
        assert state.voltage[0] == pytest.approx(row.V_V, **close)
        assert state.current[0] == pytest.approx(row.I_A, **close)
        assert state.power[0] == pytest.approx(row.P_W, **close)
        assert state.wind_power[0] == pytest.approx(7.54, abs=0.005)


@pytest.mark.parametrize("ratio", [2, 4, 8])
def test_the_best_load_of_each_ratio_is_where_the_table_puts_it(ratio):
    mine = [row for row in ROWS if row.gear_ratio == ratio]
    (best,) = [row for row in mine if row.note == "optimum"]
    stage = StageNumbers("gears", ratio, one(best.eff_gear), one(best.eff_gear), one(0.0), one(0.0))
    train, curve = Train((stage,), one(0.0), one(0.0)), parabola()

    def power(resistance):
        circuit = Circuit(winding_resistance=one(9.26), load_resistance=resistance)
        machine = Machine(one(14.66e-3), one(FRICTION), one(FRICTION), 0.0, 1e-7, circuit)
        return operating(curve, balance.fastest(curve, train, machine), train, machine).power[0]

    # a step of 3 % to either side loses power, so the top is where the table has it within 3 %
    assert power(best.R_load_ohm) > max(power(0.97 * best.R_load_ohm), power(1.03 * best.R_load_ohm))
