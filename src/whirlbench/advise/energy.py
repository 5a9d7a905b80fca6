"""Where the wind's energy goes, by part group, and the sentence that says so."""

from dataclasses import dataclass

_GROUPS = {
    "tower": "tower",
    "wake": "wind",
    "blades": "rotor",
    "rods": "rotor",
    "bearings": "drivetrain",
    "generator friction": "generator",
    "generator winding": "generator",
    "rectifier": "generator",
    "load": "load",
}
PLAIN = {
    "tower": "lost to the leaning tower",
    "wake": "left in the wind",
    "blades": "drag of the blades",
    "rods": "drag of bare rods",
    "bearings": "rotor bearings",
    "generator friction": "friction in the generator",
    "generator winding": "heat in the generator's wire",
    "rectifier": "heat in the diodes",
    "load": "arrives at your load",
}
# peak power coefficient of well-made rotors of this size: 0.25-0.40 (tests/published/rotor/small_rotors_published.csv)
WELL_MADE = 0.32


@dataclass(frozen=True)
class EnergySplit:
    """Energy path gathered by part group.

    Attributes
    ----------
    wind_power, caught : float
        Wind through the disc, and what the rotor shaft gives on [W].
    lost : dict of str to float
        Power that each group keeps: wind, rotor, drivetrain, generator, tower [W].
    load : float
        What arrives [W].
    """

    wind_power: float
    caught: float
    lost: dict
    load: float


def group_of(part):
    """Part group of a step on the energy path.

    Parameters
    ----------
    part : str
        Step of the path.

    Returns
    -------
    str
        wind, rotor, drivetrain, generator, load or tower.
    """
    return _GROUPS.get(part, "drivetrain")


def split(path):
    """Energy path gathered by part group.

    Parameters
    ----------
    path : dict of str to float
        Power each part keeps, from the wind to the load [W].

    Returns
    -------
    EnergySplit
        Sums by group.
    """
    lost = dict.fromkeys(("wind", "rotor", "drivetrain", "generator", "tower"), 0.0)
    for part, power in path.items():
        if part != "load":
            lost[group_of(part)] += power
    load = path["load"]
    return EnergySplit(sum(path.values()), lost["drivetrain"] + lost["generator"] + load, lost, load)


def sentence(state, path, *, standstill, breakaway):
    """One sentence that a 14-year-old reads: what becomes of the wind.

    Parameters
    ----------
    state : str
        ``running``, ``slow``, ``needs a push`` or ``stopped``.
    path : dict of str to float
        Power each part keeps at the state reached from rest [W].
    standstill, breakaway : float
        Torque the wind gives at rest and what breaking away takes [N*m].

    Returns
    -------
    str
        One or two sentences.
    """
    if state in ("stopped", "needs a push"):
        return _no_start(state, standstill, breakaway)
    parts = split(path)
    share = parts.caught / parts.wind_power if parts.wind_power else 0.0
    if state == "slow":
        return (
            "Your rotor starts but gets stuck turning slowly: the load and gears hold it below the speed where its "
            "blades pull well. The same turbine runs much faster once it is helped over that."
        )
    worst = max(("drivetrain", "generator"), key=lambda group: parts.lost[group])
    if share < 0.5 * WELL_MADE:
        return (
            f"Your rotor catches only {100 * share:.2g} % of the wind's power; well-made rotors of this size catch "
            "25 to 40 %. Start with the blades and with the speed they are allowed to turn."
        )
    eaten = parts.lost[worst] / parts.caught if parts.caught else 0.0
    return f"Your {worst} eats {100 * eaten:.0f} % of what the rotor catches."


def _no_start(state, standstill, breakaway):
    needed = breakaway / standstill if standstill > 0 else float("inf")
    lead = "Your turbine does not start by itself: "
    if standstill <= 0:
        return lead + "at rest the wind does not turn the blades at all. Check which way they are pitched."
    text = f"it takes {needed:.1f} times the torque that this wind gives the resting blades."
    tail = " Once pushed it keeps running." if state == "needs a push" else " A push would not keep it running either."
    return lead + text + tail
