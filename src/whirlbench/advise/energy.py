"""Where the wind's energy goes, by part group."""

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
    "rods": "drag of the rods",
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
