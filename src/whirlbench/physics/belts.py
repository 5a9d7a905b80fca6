"""Open belts on two pulleys: length, wrap, ratio, slip and loss."""

import math

import numpy as np

from whirlbench.errors import within
from whirlbench.tables import load
from whirlbench.value import Value

_OVERLAP = "set the shafts further apart: the pulleys overlap"
_PULLEY = "measure across the pulley where the belt lies; a bench drive has 2 mm to 1 m"


def open_belt_length(small_diameter, large_diameter, centre_distance):
    """Length of an open belt around two pulleys, exact.

    Parameters
    ----------
    small_diameter, large_diameter : float or array
        Pitch diameters of the two pulleys, in either order [m].
    centre_distance : float or array
        Distance of the shafts [m].

    Returns
    -------
    float or array, shape of the inputs
        Length along the pitch line [m].

    Raises
    ------
    OutOfRange
        Pulleys outside 2 mm to 1 m, or shafts so near that the pulleys overlap.

    References
    ----------
    .. [1] Plane geometry, L = 2 C cos f + pi (R + r) + 2 f (R - r); same expression read on a timing-belt calculator.
    """
    lean = _lean(small_diameter, large_diameter, centre_distance)
    arcs = math.pi * np.add(small_diameter, large_diameter) / 2 + lean * np.abs(
        np.subtract(large_diameter, small_diameter)
    )
    return 2 * centre_distance * np.cos(lean) + arcs


def wrap_angles(small_diameter, large_diameter, centre_distance):
    """Angles over which an open belt touches the small and the large pulley.

    Parameters
    ----------
    small_diameter, large_diameter : float or array
        Pitch diameters [m].
    centre_distance : float or array
        Distance of the shafts [m].

    Returns
    -------
    tuple of float or array
        Wrap of the smaller and of the larger pulley [rad]; together one turn.

    Raises
    ------
    OutOfRange
        Pulleys outside 2 mm to 1 m, or shafts so near that the pulleys overlap.

    References
    ----------
    .. [1] Plane geometry, as ``open_belt_length``.
    """
    lean = _lean(small_diameter, large_diameter, centre_distance)
    return math.pi - 2 * lean, math.pi + 2 * lean


def centre_distance_for_length(small_diameter, large_diameter, belt_length):
    """Distance of the shafts that makes an open belt of this length taut.

    Parameters
    ----------
    small_diameter, large_diameter : float or array
        Pitch diameters [m].
    belt_length : float or array
        Length along the pitch line [m]; a timing belt has its number of teeth times the pitch.

    Returns
    -------
    float or array, shape of the inputs
        Centre distance [m].

    Raises
    ------
    OutOfRange
        Pulleys outside 2 mm to 1 m, or a belt too short to go around them.

    Notes
    -----
    Newton from above. Length grows convexly with distance, so every step stays on the safe side of the answer.

    References
    ----------
    .. [1] Inverse of ``open_belt_length``.
    """
    touching = np.add(small_diameter, large_diameter) / 2
    shortest = open_belt_length(small_diameter, large_diameter, touching)
    spare = np.asarray(belt_length) - shortest
    within(
        "spare belt length",
        spare,
        low=0,
        high=math.inf,
        unit="m",
        try_="take a longer belt: it is shorter than two touching pulleys need",
    )
    distance = (belt_length - math.pi * touching) / 2
    for _ in range(30):
        excess = open_belt_length(small_diameter, large_diameter, distance) - belt_length
        slope = 2 * np.cos(_lean(small_diameter, large_diameter, distance))
        distance = np.maximum(distance - excess / slope, touching)
    return distance


def speed_ratio(large_diameter, small_diameter, *, belt_thickness=0.0, slip=0.0):
    """Turns of the small pulley per turn of the large one that drives it.

    Parameters
    ----------
    large_diameter, small_diameter : float or array
        Diameters on which the belt lies [m]; for a timing belt the pitch diameters.
    belt_thickness : float
        Thickness of the belt [m]; its pitch line runs in the middle. 0 when pitch diameters are given.
    slip : float
        Share of the belt's way that is lost [-]; 0.01 to 0.03 is usual for flat and vee belts, 0 for timing belts.

    Returns
    -------
    float or array
        Speed ratio [-].

    Raises
    ------
    OutOfRange
        Pulleys outside 2 mm to 1 m, a belt thicker than 20 mm, or slip outside 0 to 0.3.

    References
    ----------
    .. [1] (D + t) / (d + t) (1 - slip), standard; slip range recalled from general handbooks.
    """
    _check_pulleys(small_diameter, large_diameter)
    within("belt thickness", belt_thickness, low=0, high=0.02, unit="m", try_="measure the bare belt with a calliper")
    within("belt slip", slip, low=0, high=0.3, unit="", try_="write 2 % as 0.02; above 0.3 tighten the belt first")
    return np.add(large_diameter, belt_thickness) / np.add(small_diameter, belt_thickness) * (1 - slip)


def tension_ratio(friction_coefficient, wrap):
    """Largest ratio of the tensions in the two strands before the belt slips.

    Parameters
    ----------
    friction_coefficient : float or array
        Of belt on pulley, or ``groove_friction`` in a groove [-].
    wrap : float or array
        Wrap angle [rad].

    Returns
    -------
    float or array
        Tight over slack tension, exp(mu wrap) [-].

    Raises
    ------
    OutOfRange
        Friction outside 0 to 5 or wrap outside one turn.

    Notes
    -----
    Slow belts only: centrifugal pull is left out.

    References
    ----------
    .. [1] Capstan formula of Euler and Eytelwein, read on a tribology page on V-belts.
    """
    within("belt friction", friction_coefficient, low=0, high=5, unit="", try_="rubber on a pulley has 0.25 to 0.6")
    within(
        "wrap angle",
        wrap,
        low=0,
        high=2 * math.pi,
        unit="rad",
        try_="the angle is wanted in radians, half a turn is 3.14",
    )
    return np.exp(np.multiply(friction_coefficient, wrap))


def groove_friction(friction_coefficient, groove_angle):
    """Friction coefficient that a belt wedged in a V groove acts with.

    Parameters
    ----------
    friction_coefficient : float or array
        Of belt on pulley [-].
    groove_angle : float or array
        Whole angle between the groove's walls [rad].

    Returns
    -------
    float or array
        mu / sin(groove / 2) [-].

    Raises
    ------
    OutOfRange
        Friction outside 0 to 1.5, or a groove outside 15° to 180°, narrower than which the belt sticks.

    References
    ----------
    .. [1] Read on a tribology page on V-belts.
    """
    within("belt friction", friction_coefficient, low=0, high=1.5, unit="", try_="rubber on a pulley has 0.25 to 0.6")
    within(
        "groove angle",
        groove_angle,
        low=math.radians(15),
        high=math.pi,
        unit="rad",
        try_="a usual groove has 34° to 40° (0.6 to 0.7 rad)",
    )
    return friction_coefficient / np.sin(np.divide(groove_angle, 2))


def largest_torque(diameter, mean_tension, friction_coefficient, wrap):
    """Largest torque on a pulley before the belt slips.

    Parameters
    ----------
    diameter : float or array
        Of the pulley that slips first, in an open drive the smaller one [m].
    mean_tension : float or array
        Pull in each strand at rest [N].
    friction_coefficient : float or array
        Of belt on pulley, or ``groove_friction`` in a groove [-].
    wrap : float or array
        Wrap angle on that pulley [rad].

    Returns
    -------
    float or array
        Torque [N*m].

    Raises
    ------
    OutOfRange
        Pulley outside 2 mm to 1 m, tension outside 0 to 1000 N, friction outside 0 to 5 or wrap outside one turn.

    Notes
    -----
    The mean of the two tensions stays that of rest: T1 + T2 = 2 T, T1 / T2 = ``tension_ratio``.

    References
    ----------
    .. [1] Capstan formula, as ``tension_ratio``.
    """
    within("pulley diameter", diameter, low=2e-3, high=1, unit="m", try_=_PULLEY)
    within("belt tension", mean_tension, low=0, high=1000, unit="N", try_="pull the belt with a spring balance")
    ratio = tension_ratio(friction_coefficient, wrap)
    return np.multiply(diameter, mean_tension) * (ratio - 1) / (ratio + 1)


def timing_pitch_diameter(teeth, belt_pitch):
    """Pitch diameter of a timing pulley.

    Parameters
    ----------
    teeth : int or array
        Teeth of the pulley.
    belt_pitch : float
        Pitch of the belt [m].

    Returns
    -------
    float or array, shape of ``teeth``
        Pitch diameter z p / pi [m], larger than the pulley's outside.

    Raises
    ------
    OutOfRange
        Teeth outside 8 to 400 or pitch outside 1 to 25 mm.

    References
    ----------
    .. [1] Standard; the 2 mm pitch was read, the inch pitches (ISO 5296) recalled.
    """
    _check_teeth(teeth)
    within("belt pitch", belt_pitch, low=1e-3, high=25e-3, unit="m", try_="measure over ten teeth and divide by ten")
    return np.multiply(teeth, belt_pitch) / math.pi


def teeth_in_mesh(teeth, wrap):
    """Teeth of a timing pulley that the belt holds.

    Parameters
    ----------
    teeth : int or array
        Teeth of the pulley.
    wrap : float or array
        Wrap angle [rad].

    Returns
    -------
    float or array
        Teeth in mesh [-]; keep 6 or more (common practice, weak source).

    Raises
    ------
    OutOfRange
        Teeth outside 8 to 400 or wrap outside one turn.

    References
    ----------
    .. [1] Plane geometry, z wrap / (2 pi).
    """
    _check_teeth(teeth)
    within(
        "wrap angle",
        wrap,
        low=0,
        high=2 * math.pi,
        unit="rad",
        try_="the angle is wanted in radians, half a turn is 3.14",
    )
    return np.multiply(teeth, wrap) / (2 * math.pi)


def belt_efficiency(kind):
    """Efficiency of a well set belt drive.

    Parameters
    ----------
    kind : str
        ``timing``, ``flat``, ``vee`` or ``round``.

    Returns
    -------
    Value
        Driven over driving power [-], its doubt and its source. Slip is not in it: it belongs to ``speed_ratio``.

    Raises
    ------
    UnknownKey
        Another kind.

    Notes
    -----
    No figure was found for round or rubber belts at milliwatts, where bending the belt costs most: that row is a
    judgement with a wide doubt. Misalignment and slack cost up to 0.10 more.

    References
    ----------
    .. [1] Table ``belts/efficiency``, with a source for every row.
    """
    row = load("belts/efficiency").find(kind=kind)
    return Value(row.efficiency, row.sigma, f"{row.source} ({row.seen})")


def _check_pulleys(*diameters):
    for diameter in diameters:
        within("pulley diameter", diameter, low=2e-3, high=1, unit="m", try_=_PULLEY)


def _check_teeth(teeth):
    within(
        "pulley teeth",
        teeth,
        low=8,
        high=400,
        unit="teeth",
        try_="count the teeth of the pulley; small ones have 10 to 20",
    )


def _lean(small_diameter, large_diameter, centre_distance):
    """Angle of the strands to the line of centres [rad]."""
    _check_pulleys(small_diameter, large_diameter)
    gap = np.asarray(centre_distance) - np.add(small_diameter, large_diameter) / 2
    within("gap between the pulleys", gap, low=-1e-9, high=10, unit="m", try_=_OVERLAP)
    return np.arcsin(np.abs(np.subtract(large_diameter, small_diameter)) / 2 / centre_distance)
