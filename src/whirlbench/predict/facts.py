"""The turbine's own numbers that an event's rules ask for, cheap enough for hundreds of candidate builds."""

from dataclasses import dataclass

from whirlbench.errors import within
from whirlbench.predict.hub import evenly_spaced
from whirlbench.predict.loads import loads, stability


@dataclass(frozen=True)
class Facts:
    """What a rule can ask of a turbine; best estimates, worst over the winds looked at.

    Attributes
    ----------
    rotor_diameter : float
        [m].
    blade_count : int
        Number of blades.
    evenly_spaced : bool
        All gaps between blades are the same.
    height : float
        Floor to the highest blade tip of the upright tower [m].
    base_width : float
        Along the wind [m].
    mass : float
        Whole turbine with ballast [kg].
    voltage : float
        Highest at the load, from rest or after a push [V].
    open_voltage : float
        EMF when the load comes off and the rotor runs away, the peak of an alternating one [V].
    starts : bool
        Breaks away by itself in every wind.
    start_chance : float
        Share of the believed worlds in which it does, in the worst wind [-].
    held : bool
        The base is clamped or screwed down.
    generator : str
        Catalogue type or name.
    sliding, tipping : float
        Safety, worst of running, runaway and standstill; infinite where the base is held [-].
    """

    rotor_diameter: float
    blade_count: int
    evenly_spaced: bool
    height: float
    base_width: float
    mass: float
    voltage: float
    open_voltage: float
    starts: bool
    start_chance: float
    held: bool
    generator: str
    sliding: float
    tipping: float


def facts(assembly, *predictions):
    """Facts of a turbine for the rule check.

    Parameters
    ----------
    assembly : Assembly
        The turbine; one world is enough.
    *predictions : Prediction
        One for each wind that counts.

    Returns
    -------
    Facts
        Worst of the winds.

    Raises
    ------
    OutOfRange
        No prediction at all.
    """
    within("predictions", len(predictions), low=1, high=1000, unit="", try_="predict the turbine in one wind")
    rotor, stand = assembly.turbine.rotor, assembly.stand
    states = [loads(assembly, one) for one in predictions]
    held = [stability(assembly, one, these) for one, these in zip(predictions, states, strict=True)]
    volts_per_speed = float(assembly.machine.emf_constant[0, 0]) * assembly.train.step_up
    return Facts(
        rotor_diameter=2 * rotor.radius,
        blade_count=rotor.blade_count,
        evenly_spaced=evenly_spaced(rotor.holes, rotor.hub.holes),
        height=stand.axis_height + rotor.radius,
        base_width=stand.base_width,
        mass=stand.mass,
        voltage=max(float(max(one.rest.voltage[0], one.pushed.voltage[0])) for one in predictions),
        open_voltage=max(float(away.rotor_speed[0]) for _, away, _ in states) * volts_per_speed,
        starts=all(bool(one.starts[0]) for one in predictions),
        start_chance=min(float(one.starts.mean()) for one in predictions),
        held=stand.held,
        generator=generator_name(assembly.turbine.generator),
        sliding=min(float(one.sliding[0]) for one in held),
        tipping=min(float(one.tipping[0]) for one in held),
    )


def generator_name(generator):
    """What a list of allowed generators calls a generator.

    Parameters
    ----------
    generator : CatalogueGenerator, MeasuredGenerator or WoundGenerator
        The part.

    Returns
    -------
    str
        Its catalogue type, or its own name.
    """
    return generator.type if generator.kind == "catalogue" else generator.name
