"""A stage of two pulleys and a belt."""

from typing import Literal

from whirlbench.parts.bearings import Bearing
from whirlbench.parts.part import Force, Fraction, Length, Offset, Part


class BeltStage(Part):
    """Two pulleys and a belt: the first on the shaft towards the rotor.

    Attributes
    ----------
    belt : str
        ``round``, ``flat``, ``vee`` or ``timing``.
    rotor_diameter, generator_diameter : float
        Where the belt's inner side lies; pitch diameter of a timing belt [m].
    thickness : float
        Of the belt [m]; 0 for a timing belt, whose pitch line is the diameter.
    width : float or None
        Of a flat belt, or of a vee belt on its outer side [m]; None for the usual one. Only ``make`` asks for it.
    centre_distance : float
        Between the shafts [m].
    tension : float
        Mean pull in each strand [N].
    slip : float
        Share of the speed lost to creep [-].
    bearing : Bearing or None
        What carries the shaft between this stage and the next; None on the last stage.
    """

    kind: Literal["belt"] = "belt"
    belt: Literal["round", "flat", "vee", "timing"] = "round"
    rotor_diameter: Length
    generator_diameter: Length
    thickness: Offset = 0.0
    width: Length | None = None
    centre_distance: Length = 0.1
    tension: Force = 3.0
    slip: Fraction = 0.02
    bearing: Bearing | None = None
