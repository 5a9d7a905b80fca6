"""Margins of the whole turbine against worked rows: base, tower, rods, thrown blade, balance."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from evidence import rows
from turbines import example

from whirlbench.parts.base import Base
from whirlbench.parts.tower import Pipe, Tower
from whirlbench.physics import base, tower
from whirlbench.predict import strength as whole_strength
from whirlbench.predict import turbine as whole
from whirlbench.predict import world
from whirlbench.predict.loads import Load, stability
from whirlbench.tables import load
from whirlbench.value import Value

STARTER = example("starter")
WORKED = {row.key: row.value for row in rows("base/ballast_and_stability")}
FACTS = {row.topic: row.value for row in load("safety/facts").rows}
ROD = load("rod/rods").find(rod="1/4 in")
RPM = math.pi / 30


def state(name, *, speed=0.0, thrust=0.0, torque=0.0):
    return Load(name, np.array([speed]), np.array([thrust]), np.array([torque]))


def still(wind_speed=0.0, speed=0.0):
    """A prediction that says no more than the wind and one speed."""
    turns = SimpleNamespace(turning=np.array([speed > 0]), rotor_speed=np.array([speed]))
    return SimpleNamespace(wind_speed=wind_speed, pushed=turns, rest=turns)


def margins(monkeypatch, assembly, states, prediction):
    monkeypatch.setattr(whole_strength, "loads", lambda assembly, prediction: states)
    found = whole_strength.strength(assembly, (prediction,))
    return found, {margin.name: margin for margin in found.margins}


def built(**parts):
    return whole.assemble(STARTER.changed(**parts), world.best_estimate())


def thirty_grams():
    """Blades of the safety facts: 30 g with the centre of mass 150 mm out, on 1/4 in birch rods."""
    rotor = STARTER.rotor.changed(weighed=(0.030,) * 3, mass_radius=0.15)
    return built(rotor=rotor)


def test_worked_base():
    """0.40 m base, 5 kg in all, 3 N at 1.0 m, friction 0.4."""
    tube = tower.tube_mass(0.9, 0.02134, 0.01529, density=1400)
    post = Tower(tube=Pipe(nominal="1/2 in"), height=0.9, top_mass=0.5)
    foot = Base(width=0.40, height=0.1, mass=5.0 - 0.5 - tube, friction=Value(0.4))
    assembly = built(tower=post, base=foot)
    assert assembly.stand.mass == pytest.approx(5.0)
    pushes = (state("running", thrust=1.0), state("runaway", thrust=3.0), state("standstill", thrust=2.0))
    found = stability(assembly, still(), pushes)
    assert found.tipping[0] == pytest.approx(WORKED["tipping_safety"], abs=0.005)
    assert found.sliding[0] == pytest.approx(WORKED["sliding_safety"], abs=0.005)
    assert (found.tipping_state, found.sliding_state) == ("runaway", "runaway")


@pytest.mark.parametrize("row", rows("tower/worked"), ids=str)
def test_worked_towers(monkeypatch, row):
    post = Tower(tube=Pipe(nominal=row.pipe), height=row.L_m, top_mass=row.tip_mass_kg, joint="clamped")
    assembly = built(tower=post)
    pushes = (state("running", thrust=row.thrust_N), state("runaway"), state("standstill"))
    hit = row.rpm_3P * RPM
    _, found = margins(monkeypatch, assembly, pushes, still(speed=hit))
    assert found["tower bending"].value == pytest.approx(51 / row.bending_stress_MPa, rel=1e-5)
    stand = assembly.stand
    # a clamped joint is taken as 1 MN*m/rad, not as endless: it softens the tower by this share
    soft = 3 * stand.bending_stiffness / (row.L_m * 1e6)
    # that correction forgets the tube's own mass, worth 0.014 % for the thickest tube
    assert found["tower natural frequency"].value == pytest.approx(row.f_exact_Hz / math.sqrt(1 + soft), rel=2e-4)
    weight = tower.weight_factor(row.L_m, stand.bending_stiffness, row.tip_mass_kg + row.pipe_mass_kg / 2)
    got = found["tower tip deflection"].value
    assert got == pytest.approx(row.deflection_mm / 1000 * (1 + soft) * weight, rel=1e-4)
    met = found["resonance at 0 m/s"]
    # the printed speed is that of Rayleigh's frequency, up to 0.12 % high
    assert met.value == pytest.approx(0, abs=1.2e-3 + soft)
    assert met.kept is False
    assert not met.decides


def test_worked_rod(monkeypatch):
    """A thrust whose bending moment alone is a tenth of what breaks a 1/4 in birch dowel."""
    assembly = thirty_grams()
    rotor = assembly.turbine.rotor
    weight = 0.030 * base.GRAVITY * (0.15 - rotor.hub.radius)  # of the level blade, across the flapwise moment
    flap = math.sqrt((ROD.M_break_paper_birch_Nm / 10) ** 2 - weight**2)
    thrust = 3 * flap / (2 * rotor.radius / 3 - rotor.hub.radius)
    pushes = (state("running"), state("runaway"), state("standstill", thrust=thrust))
    _, found = margins(monkeypatch, assembly, pushes, still())
    assert found["blade rod, standstill"].value == pytest.approx(10, rel=1e-5)
    assert found["blade rod, standstill"].kept


def test_thrown_blade(monkeypatch):
    assembly = thirty_grams()
    away = state("runaway", speed=1000 * RPM)
    pushes = (state("running", speed=500 * RPM), away, state("standstill"))
    found, by_name = margins(monkeypatch, assembly, pushes, still())
    blade = "blade 30 g, centre of mass 0.15 m, 1000 rpm: "
    assert found.throw_speed == pytest.approx(FACTS[blade + "speed"], abs=0.05)
    assert found.throw_energy == pytest.approx(FACTS[blade + "kinetic energy"], abs=0.05)
    pull = by_name["pull on a blade root, runaway"].value
    assert pull == pytest.approx(FACTS[blade + "pull on the root"], abs=0.05)
    # four times the pull at half the speed is the pull at full speed; twice that at runaway is more
    assert by_name["pull test by hand"].value == pytest.approx(2 * pull)


@pytest.mark.parametrize("row", rows("hub/balance_grades"), ids=str)
def test_balance_grades(monkeypatch, row):
    """0.30 kg at 800 rpm with one blade heavier at 120 mm, a little inside and a little outside each grade."""
    for share, inside in ((0.99, True), (1.01, False)):
        heavier = share * row.blade_mass_mismatch_g_at_120mm / 1000
        hub_part = STARTER.rotor.hub.changed(mass=0.3 - 0.09 - heavier)
        rotor = STARTER.rotor.changed(hub=hub_part, weighed=(0.03, 0.03 + heavier, 0.03), mass_radius=0.12)
        speed = 800 * RPM
        pushes = (state("running", speed=speed), state("runaway", speed=speed), state("standstill"))
        found, by_name = margins(monkeypatch, built(rotor=rotor), pushes, still())
        balance = found.balance
        assert balance.imbalance == pytest.approx(share * row.U_per_gmm_0p30kg_800rpm * 1e-6, rel=1e-5)
        assert balance.velocity == pytest.approx(share * row.G_mm_per_s / 1000, rel=1e-4)
        assert (balance.grade == row.grade) is inside
        assert balance.shaking_force == pytest.approx(balance.imbalance * speed**2)
        assert by_name["rotor balance"].kept is (inside or row.grade != "G40")
