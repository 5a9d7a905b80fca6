"""What the sliding of teeth costs: mesh efficiency and the friction of tooth materials."""

import functools
import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import UnknownKey, nearest, within
from whirlbench.tables import load
from whirlbench.value import Value

_FRICTION = "tooth pairs run from 0.05 (oiled steel) to about 0.8 (dry printed plastic)"
_CLOSER = "set the shafts closer together, the teeth let go of each other"
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)
_PAIRS = np.arange(5)  # more than can touch at once with any allowed pressure angle
_APPROACH = {"wheel": 1.0, "pinion": -1.0}  # side of the pitch point where the driver's flanks approach


@dataclass(frozen=True)
class MeshEfficiency:
    """Share of the driving power that one pair of gears passes on; tooth friction only.

    Attributes
    ----------
    mean : float or array
        Over one tooth, by balance of forces [-].
    worst : float or array
        Lowest instantaneous value [-]: decides whether a train starts. 0 means that the teeth lock there.
    first_order : float or array
        1 - friction times loss factor, never below 0 [-].
    upper_bound_loss : float or array
        Loss by the simple school formula pi mu (1/z1 + 1/z2) [-].
    """

    mean: float | np.ndarray
    worst: float | np.ndarray
    first_order: float | np.ndarray
    upper_bound_loss: float | np.ndarray


def loss_factor(mesh):
    """Mean mesh loss per unit of friction coefficient, while friction is small.

    Parameters
    ----------
    mesh : GearMesh
        The pair.

    Returns
    -------
    float
        HV = pi (1/z1 + 1/z2) (1 - eps + recess² + approach²) [-].

    Raises
    ------
    OutOfRange
        Contact ratio below 1.

    Notes
    -----
    Constant friction coefficient, load shared equally by the pairs in contact, textbook path of contact. The closed
    form holds for a recess and an approach from 0 to 1; here the mean is taken directly, which it reproduces.

    References
    ----------
    .. [1] Loss factor of Ohlendorf and Niemann, recalled. K. Yada, JSME Int. J. C 40(1), 1997, p. 1 (abstract read)
       reviews the older forms.
    """
    _check_contact(mesh)
    count, pinion_arm, wheel_arm, share = _stretches(mesh, mesh.approach, mesh.recess)
    return float((share * (pinion_arm - wheel_arm) / count).sum())


def mesh_efficiency(mesh, friction_coefficient, driver="wheel"):
    """Efficiency of a pair of gears from the friction of its teeth.

    Parameters
    ----------
    mesh : GearMesh
        The pair.
    friction_coefficient : float or array
        Sliding friction of the tooth materials [-].
    driver : str
        ``"wheel"`` where the large gear drives (step-up), ``"pinion"`` where the small one does.

    Returns
    -------
    MeshEfficiency
        Numbers of the shape of ``friction_coefficient``.

    Raises
    ------
    OutOfRange
        Friction outside 0 to 1, or contact ratio below 1.
    UnknownKey
        Another driver.

    Notes
    -----
    Friction turns each tooth force by its angle, so driven over driving torque is the sum of (1 - mu s r1/rb1) over the
    sum of (1 - mu s r2/rb2), r the distance of a contact from the base tangent point and s = 1 in approach, -1 in
    recess; the load is shared equally by the pairs in contact. The path ends at the interference points, but undercut
    is not in it: where ``mesh.contact_ratio_real`` is lower the answer is optimistic. Bearings, misalignment and dirt
    come on top.

    References
    ----------
    .. [1] Balance of forces, own derivation; for small friction its mean falls together with ``loss_factor``.
       No published measurement of a small moulded or printed pair was found.
    """
    _check(mesh, friction_coefficient, driver)
    friction = np.asarray(friction_coefficient, dtype=float)
    contacts = _running_stretches(mesh)
    efficiency, share = _balance(contacts, friction[..., None, None], driver), contacts[-1]
    return MeshEfficiency(
        mean=_plain((efficiency * share).sum(axis=(-2, -1)) / share.sum()),
        worst=_plain(efficiency.min(axis=(-2, -1))),
        first_order=_plain(np.maximum(0.0, 1 - friction * loss_factor(mesh))),
        upper_bound_loss=_plain(friction * math.pi * (1 / mesh.pinion.teeth + 1 / mesh.wheel.teeth)),
    )


def instantaneous_efficiency(mesh, friction_coefficient, travel, driver="wheel"):
    """Efficiency at one place of the tooth cycle, as ``mesh_efficiency`` averages it.

    Parameters
    ----------
    mesh : GearMesh
        The pair.
    friction_coefficient : float
        Sliding friction of the tooth materials [-].
    travel : float or array
        Way of a tooth pair since it first touched at the wheel tip, in base pitches [-], 0 to 1.
    driver : str
        ``"wheel"`` or ``"pinion"``.

    Returns
    -------
    float or array, shape of ``travel``
        Driven over driving power [-]; 0 where the teeth lock or none touch.

    Raises
    ------
    OutOfRange
        Friction or travel outside 0 to 1, or contact ratio below 1.
    UnknownKey
        Another driver.

    References
    ----------
    .. [1] As ``mesh_efficiency``.
    """
    _check(mesh, friction_coefficient, driver)
    within("travel", travel, low=0, high=1, unit="base pitches", try_="the cycle repeats after one base pitch")
    approach, recess = _free_path(mesh)
    place = np.asarray(travel, dtype=float)[..., None] - approach + _PAIRS
    side = np.where(place <= recess, np.where(place >= 0, 1.0, -1.0), 0.0)
    return _plain(_balance((np.abs(side).sum(axis=-1), *_arms(mesh, place, side)), friction_coefficient, driver))


def tooth_friction(pair):
    """Sliding friction coefficient of a pair of tooth materials.

    Parameters
    ----------
    pair : str
        Key of the shipped table, for example ``pom_pom``, ``pom_steel`` or ``pla_pla``; dry unless it says oiled.

    Returns
    -------
    Value
        Middle of the range found [-], half the range as its doubt, and the source.

    Raises
    ------
    UnknownKey
        No such pair; the message names the nearest.

    References
    ----------
    .. [1] Table ``gears/sliding_friction``, with a source for every row.
    """
    row = load("gears/sliding_friction").find("teeth", pair=pair)
    low, high = row.friction_low, row.friction_high
    return Value((low + high) / 2, (high - low) / 2, f"{row.source} ({row.seen})")


def _check(mesh, friction_coefficient, driver):
    within("friction coefficient", friction_coefficient, low=0, high=1, unit="", try_=_FRICTION)
    if driver not in _APPROACH:
        raise UnknownKey("driver", f"'{driver}'", "'wheel' or 'pinion'", try_=nearest(str(driver), _APPROACH))
    _check_contact(mesh)


def _check_contact(mesh):
    within("contact ratio of the gears", mesh.contact_ratio, low=1, high=len(_PAIRS) - 1, unit="", try_=_CLOSER)


def _plain(array):
    return array if np.ndim(array) else float(array)


def _balance(contacts, friction_coefficient, driver):
    """Driven over driving moment of the tooth forces; 0 where the driven side has none."""
    count, pinion_arm, wheel_arm, *_ = contacts
    turned = _APPROACH[driver] * friction_coefficient
    pinion, wheel = count - turned * pinion_arm, count - turned * wheel_arm
    driven, driving = (pinion, wheel) if driver == "wheel" else (wheel, pinion)
    return np.divide(driven, driving, out=np.zeros(np.shape(driven)), where=driven > 0)


def _arms(mesh, place, side):
    """Friction arms over base radius, summed over the pairs on the last axis; ``place`` in base pitches."""
    slope = math.tan(mesh.working_pressure_angle)
    turn = place * mesh.base_pitch
    pinion_arm = (side * (slope + turn / (mesh.pinion.base_diameter / 2))).sum(axis=-1)
    wheel_arm = (side * (slope - turn / (mesh.wheel.base_diameter / 2))).sum(axis=-1)
    return pinion_arm, wheel_arm


def _free_path(mesh):
    """Approach and recess, in base pitches, cut at the interference points."""
    to_pitch_point = math.tan(mesh.working_pressure_angle) / 2 / mesh.base_pitch
    return (
        min(mesh.approach, mesh.pinion.base_diameter * to_pitch_point),
        min(mesh.recess, mesh.wheel.base_diameter * to_pitch_point),
    )


@functools.lru_cache(maxsize=256)
def _running_stretches(mesh):
    return _stretches(mesh, *_free_path(mesh))


def _stretches(mesh, approach, recess):
    """Contacts over one base pitch of travel: pairs in contact, friction arms summed over them, weight in the mean.

    Between two events (a pair comes, goes, or passes the pitch point) each sum is a straight line of the travel. The
    efficiency is a ratio of two such lines, so its lowest value stands at an event; the mean is taken by Gauss points.
    Rows are the stretches between events, columns the ends of a stretch (weight 0) around its Gauss points.
    """
    events = np.concatenate([[0.0, 1.0], approach + recess - _PAIRS, approach - _PAIRS])
    events = np.unique(np.clip(events, 0.0, 1.0))
    middle = (events[1:] + events[:-1]) / 2 - approach
    half = np.diff(events) / 2
    side = np.where(middle[:, None] + _PAIRS <= recess, np.sign(middle[:, None] + _PAIRS), 0.0)
    count = np.abs(side).sum(axis=-1)
    kept = (half > 1e-9) & (count > 0)  # rounding makes empty stretches; and no work is passed without contact
    middle, half, side, count = (each[kept, None] for each in (middle, half, side, count))
    place = middle + half * np.concatenate([[-1.0], _NODES, [1.0]])
    share = half * np.concatenate([[0.0], _WEIGHTS, [0.0]])
    return count, *_arms(mesh, place[:, :, None] + _PAIRS, side), share
