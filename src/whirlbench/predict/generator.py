"""The generator, its diodes and its load as numbers in every world."""

import functools
from dataclasses import dataclass

import numpy as np

from whirlbench import tables
from whirlbench.physics import coil, load, magnet, wire
from whirlbench.physics.circuit import Circuit, electrical_state
from whirlbench.value import Value

BRUSH_DROP = Value(0.05, 0.03, "from memory: metal brushes lose some hundredths of a volt, carbon some tenths")
_DIODES = {"silicon": "silicon rectifier (1N400x class)", "schottky": "Schottky, tens of mA"}


@dataclass(frozen=True)
class GeneratorData:
    """What is known of a generator, with its doubt.

    Attributes
    ----------
    name : str
        Its name.
    emf_constant : Value
        Volts per shaft speed, the peak for ac [V*s/rad].
    resistance, friction, breakaway : Value
        [ohm], [N*m], [N*m].
    viscous, inertia, mass : float
        [N*m*s/rad], [kg*m^2], [kg].
    current : str
        ``dc`` or ``ac``.
    """

    name: str
    emf_constant: Value
    resistance: Value
    friction: Value
    breakaway: Value
    viscous: float
    inertia: float
    mass: float
    current: str


@dataclass(frozen=True)
class Machine:
    """Generator, diodes and load in every world.

    Attributes
    ----------
    emf_constant, friction, breakaway : array, shape (n, 1)
        [V*s/rad], [N*m], [N*m].
    viscous, inertia : float
        [N*m*s/rad], [kg*m^2].
    circuit : Circuit
        Winding, diodes and load; its winding resistance is an array of shape (n, 1).
    """

    emf_constant: np.ndarray
    friction: np.ndarray
    breakaway: np.ndarray
    viscous: float
    inertia: float
    circuit: Circuit

    def electrical(self, speed):
        """State of the circuit at a shaft speed.

        Parameters
        ----------
        speed : array, broadcast with (n, 1)
            Of the generator shaft [rad/s].

        Returns
        -------
        ElectricalState
            Currents, voltages and powers.
        """
        return electrical_state(self.circuit, self.emf_constant * speed)

    def torque(self, speed):
        """Torque that the generator asks for at a shaft speed, friction included.

        Parameters
        ----------
        speed : array, broadcast with (n, 1)
            [rad/s].

        Returns
        -------
        array
            [N*m].
        """
        safe = np.maximum(speed, 1e-12)
        return self.electrical(safe).gap_power / safe + self.friction + self.viscous * speed


def generator_data(generator):
    """What is known of a generator part.

    Parameters
    ----------
    generator : CatalogueGenerator, MeasuredGenerator or WoundGenerator
        The part.

    Returns
    -------
    GeneratorData
        Numbers with doubt.

    Raises
    ------
    UnknownKey
        A type that the catalogue does not hold.
    """
    if generator.kind == "catalogue":
        return _catalogue(generator.type)
    if generator.kind == "measured":
        return GeneratorData(
            generator.name,
            generator.emf_constant,
            generator.resistance,
            generator.friction,
            generator.breakaway,
            viscous=generator.viscous,
            inertia=generator.inertia,
            mass=generator.mass,
            current=generator.current,
        )
    return _wound(generator)


def machine(data, rectifier, load_part, worlds):
    """Generator, diodes and load as numbers.

    Parameters
    ----------
    data : GeneratorData
        The generator.
    rectifier : Rectifier or None
        Its diodes.
    load_part : Resistor or Leds
        The load; a free load must be settled first.
    worlds : Worlds
        The believed worlds.

    Returns
    -------
    Machine
        Arrays of one row a world.

    Raises
    ------
    InputError
        LEDs or a capacitor on alternating current without diodes.
    """
    resistance, threshold = load_numbers(load_part)
    circuit = Circuit(
        winding_resistance=data.resistance.number * worlds.factor("resistance"),
        kind=data.current,
        rectifier_drop=0.0 if rectifier is None else _drop(rectifier.diodes),
        diode_count=0 if rectifier is None else rectifier.in_path,
        reservoir=rectifier is not None and rectifier.capacitor and data.current == "ac",
        load_resistance=resistance,
        load_threshold=threshold,
        brush_drop=BRUSH_DROP.number * worlds.factor("brush") if data.current == "dc" else 0.0,
    )
    friction = data.friction.number * worlds.factor("friction")
    breakaway = np.maximum(data.breakaway.number * worlds.factor("friction"), friction)
    emf_constant = data.emf_constant.number * worlds.factor("emf")
    return Machine(emf_constant, friction, breakaway, data.viscous, data.inertia, circuit)


def load_numbers(load_part):
    """Resistance and threshold of a load.

    Parameters
    ----------
    load_part : Resistor or Leds
        The load.

    Returns
    -------
    tuple of 2 floats
        Resistance [ohm] and threshold [V].
    """
    if load_part.kind == "resistor":
        return load_part.resistance, 0.0
    row = tables.load("load/leds").find("load > colour", colour=load_part.colour)
    string = load.led_string(
        row.threshold_V,
        row.dynamic_ohm,
        in_series=load_part.in_series,
        in_parallel=load_part.in_parallel,
        series_resistance=load_part.series_resistance,
    )
    return string.load_resistance, string.load_threshold


@functools.cache
def _drop(diodes):
    return tables.load("generator/rectifier_drops").find(device=_DIODES[diodes]).Vf_V


@functools.cache
def _catalogue(name):
    row = tables.load("generator/dc_motors").find("generator > type", name=name)
    source = f"catalogue: {row.source}"

    def value(number, relative):
        return Value(number, number * relative, source)

    return GeneratorData(
        name,
        value(row.ke_V_s_per_rad, row.ke_rel_sigma),
        value(row.R_ohm, row.R_rel_sigma),
        value(row.friction_N_m, row.friction_rel_sigma),
        value(row.breakaway_N_m, row.friction_rel_sigma),
        viscous=0.0,
        inertia=row.inertia_kg_m2,
        mass=row.mass_kg or 0.05,
        current=row.kind,
    )


@functools.lru_cache(maxsize=64)
def _wound(generator):
    """Peak EMF constant and resistance of air-core coils around a turning magnet."""
    remanence = magnet.remanence(generator.grade)
    flux = _peak_flux(generator, remanence.number)
    constant = coil.emf_constant(flux, turns=generator.turns, coils_in_series=generator.coils_in_series)
    diameter = wire.gauge_diameter(generator.gauge)
    mean_radius = 0.5 * (generator.coil_inner_radius + generator.coil_outer_radius)
    each = coil.coil_resistance(generator.turns, mean_radius, wire.resistance_per_length(diameter))
    resistance = generator.coils_in_series * each + generator.extra_resistance
    # position of the coil by hand to about 1 mm is worth some 10 % of flux: common practice
    spread = float(np.hypot(0.10, remanence.relative))
    return GeneratorData(
        generator.name,
        Value(constant, constant * spread, "field of the magnet through the winding, computed"),
        Value(resistance, 0.05 * resistance, "wire length and gauge, computed"),
        generator.friction,
        generator.breakaway,
        viscous=0.0,
        inertia=generator.inertia,
        mass=generator.mass,
        current="ac",
    )


def _peak_flux(generator, remanence):
    """Amplitude of the fundamental flux through the average turn [Wb]."""
    window = {
        "radii": (generator.coil_inner_radius, generator.coil_outer_radius),
        "distances": (generator.distance_near, generator.distance_far),
    }
    if generator.magnet == "block":
        size = (*generator.size, generator.size[-1])[:3]
        turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
        field = functools.partial(magnet.cuboid_field, remanence=remanence, size=size)
        return coil.flux_wave(coil.thick_coil_flux(field, turn, points=3, **window)).fundamental
    diameter, length = generator.size[:2]
    field = functools.partial(magnet.diametric_cylinder_field, remanence=remanence, diameter=diameter, length=length)
    return float(coil.thick_coil_flux(field, 0.0, points=3, **window))  # by symmetry a pure sine
