"""Cautions where a risk arises for this turbine, in plain words: what may happen, why, and what to do.

They are general. The rules of the room, the school and the event come first, and a qualified adult decides.
"""

from dataclasses import dataclass

import numpy as np

from whirlbench import tables
from whirlbench.physics import magnet, safety

_KNIFE = {"grey board", "index card", "foam board", "foam board heavy", "corrugated plastic", "polypropylene sheet"}
_SAWN = {"balsa", "basswood", "birch", "yellow birch", "pine", "birch plywood", "aluminium", "steel", "PVC"}
_FOAM = {"EPS foam", "XPS foam"}
_PRINTED = {"PLA", "PETG", "ABS"}
_TOUCH = 25.0  # [V] below it a dry hand feels nothing: common practice, the event's own limit comes first
_NEAR_FACE = 0.5e-3  # [m] in front of the pole face, where its field is taken


@dataclass(frozen=True)
class Hazard:
    """One caution.

    Attributes
    ----------
    risk : str
        What may happen.
    why : str
        Why with this turbine, with its own numbers.
    do : str
        What to do about it.
    """

    risk: str
    why: str
    do: str


def hazards(assembly, strength, facts):
    """Cautions for one turbine, the gravest first.

    Parameters
    ----------
    assembly : Assembly
        The turbine.
    strength : Strength
        Speeds and energies at their worst.
    facts : Facts
        Volts at the load and without it.

    Returns
    -------
    tuple of Hazard
        Only those whose risk this turbine has.
    """
    turbine = assembly.turbine
    found = [
        _thrown(strength),
        _spinning(strength),
        _nip(turbine),
        _fan(turbine),
        _magnets(turbine.generator),
        _volts(facts),
        _capacitor(turbine.generator),
        _cutting(turbine.rotor),
        _hot_glue(turbine.rotor),
        _cement(turbine.tower),
        _soldering(turbine),
        _printing(turbine),
        _ballast(turbine.base),
    ]
    return tuple(hazard for hazard in found if hazard)


def flux_index(generator):
    """Flux index of the largest loose magnet of a hand-wound generator.

    Parameters
    ----------
    generator : WoundGenerator
        The generator.

    Returns
    -------
    float
        Half a millimetre before the pole, over the whole cross-section [kG^2*mm^2].

    Notes
    -----
    The field in the middle of the face stands for the greatest one: good for saying far above or far below the limit.
    """
    remanence = magnet.remanence(generator.grade).number
    if generator.magnet == "block":
        size = (*generator.size, generator.size[-1])[:3]
        point = np.array([[size[0] / 2 + _NEAR_FACE, 0.0, 0.0]])
        field, area = magnet.cuboid_field(point, remanence=remanence, size=size), size[1] * size[2]
    else:
        diameter, length = generator.size[:2]
        point = np.array([[diameter / 2 + max(_NEAR_FACE, 0.02 * diameter), 0.0, 0.0]])
        field = magnet.diametric_cylinder_field(point, remanence=remanence, diameter=diameter, length=length)
        area = diameter * length
    return float(safety.magnet_flux_index(abs(field[0, 0]), area))


def _thrown(strength):
    if strength.throw_energy <= 0:
        return None
    ball = next(one for one in safety.comparisons(strength.throw_energy) if "ball" in one.topic)
    return Hazard(
        "a blade flies off",
        f"If the load comes off, the rotor may reach {strength.runaway_speed * 9.5493:.0f} rpm; a blade then leaves "
        f"with up to {strength.throw_speed:.2g} m/s and {strength.throw_energy:.2g} J, {ball.times:.2g} times the "
        "energy of the steel ball that safety spectacles are tested with.",
        "Nobody stands in the plane of the rotor or behind it while it turns; everyone near wears safety glasses, "
        "which are no excuse to stand there. Pull every blade by hand before each run. How far to stay away is the "
        "organiser's or the coach's rule: no published distance for rotors of this size was found, and this program "
        "invents none.",
    )


def _spinning(strength):
    if strength.tip_speed <= 0:
        return None
    return Hazard(
        "the turning rotor hits a hand or catches hair",
        f"Its tips may move at up to {strength.tip_speed:.2g} m/s, and they are hard to see.",
        "Tie back hair, cords and sleeves. Never stop it by hand: turn the fan off and wait, or turn the rotor out of "
        "the wind. Change blades only when it stands still and the fan is off.",
    )


def _nip(turbine):
    if not turbine.drivetrain:
        return None
    return Hazard(
        "gears or belts draw a finger in",
        "The drivetrain turns with the rotor and is open where the teeth or the belt run together.",
        "Cover it, and keep fingers and threads away while it turns. Set tension and mesh only at rest.",
    )


def _fan(turbine):
    if turbine.wind.kind != "fan":
        return None
    guard = _fact("fan guard largest opening")
    return Hazard(
        "the fan's own blades",
        "The wind comes from a fan, whose blades are stronger than those of the turbine.",
        f"Use only a fan with its guard on; one workplace rule lets no opening be wider than {guard:g} mm. Keep cords "
        "out of the way and pull the plug before touching anything behind the guard.",
    )


def _magnets(generator):
    if generator.kind != "wound":
        return None
    index, limit = flux_index(generator), _fact("hazardous magnet limit, flux index")
    return Hazard(
        "strong magnets pinch, shatter, and are deadly when swallowed",
        f"A hand-wound generator uses loose {generator.grade} magnets. Two that are swallowed can close on the bowel "
        f"between them. A United States rule calls loose small magnets hazardous from a flux index of {limit:g} kG²mm² "
        f"on; this one has about {float(f'{index:.2g}'):,.0f}.",
        "Count the magnets in and out, keep them from young children, and get medical help at once if one may have "
        "been swallowed. Wear safety glasses, slide magnets apart, and keep them from heart pacemakers, cards and "
        "phones.",
    )


def _volts(facts):
    if facts.open_voltage <= _TOUCH:
        return None
    return Hazard(
        "an electric shock from open leads",
        f"With the load off, the leads may carry up to {facts.open_voltage:.2g} V.",
        "Insulate every joint, connect before the wind is on, and ask an adult who knows electricity before touching "
        "bare leads of a turning generator.",
    )


def _capacitor(generator):
    if generator.rectifier is None or not generator.rectifier.capacitor:
        return None
    return Hazard(
        "a charged capacitor sparks or bursts",
        "It keeps its charge after the rotor stops, and an electrolytic one put in the wrong way round can burst.",
        "Mind plus and minus, take one rated well above the open-circuit volts, and let it empty through a resistor "
        "before touching its leads.",
    )


def _cutting(rotor):
    materials = {rotor.section.material} | ({rotor.rod.material} if rotor.rod else set())
    cut = sorted(materials & (_KNIFE | _SAWN | _FOAM))
    if not cut:
        return None
    return Hazard(
        "cuts from knives and saws, and dust",
        f"Blades and rods of {' and '.join(cut)} are cut, sawn or sanded to shape.",
        "Clamp the work, cut away from the body with a sharp blade along a metal ruler, wear safety glasses and, when "
        "sanding, a dust mask. No gloves at drills or other turning tools. An adult decides who may use which tool.",
    )


def _hot_glue(rotor):
    if rotor.rod is None:
        return None
    return Hazard(
        "burns from hot glue",
        "The blades are glued to rods; if with hot glue, it is hot enough to blister skin and sticks to it.",
        "Stand the gun on a board, do not touch the bead until it is cold, and cool a burn with water at once. Warm "
        "glue creeps: test the joint by pulling.",
    )


def _cement(tower):
    if tower.joint != "glued" or tower.tube.kind != "pvc pipe":
        return None
    return Hazard(
        "fumes and fire from pipe cement",
        "The tower's pipe joint is glued; pipe cement gives off fumes that burn easily and should not be breathed.",
        "Let a qualified adult do it, outdoors or with fresh air, away from flames and sparks, with gloves as the tin "
        "says.",
    )


def _soldering(turbine):
    reasons = [
        ("a hand-wound generator", turbine.generator.kind == "wound"),
        ("diodes", turbine.generator.rectifier is not None),
        ("LEDs", turbine.load.kind == "leds"),
    ]
    present = [name for name, there in reasons if there]
    if not present:
        return None
    return Hazard(
        "burns and fumes from soldering",
        f"There are wires to join: {' and '.join(present)}.",
        "Solder with fresh air, safety glasses and a stand for the iron; put it down before reaching for anything, "
        "and wash hands afterwards. Beginners work beside an adult who can solder.",
    )


def _printing(turbine):
    section = turbine.rotor.section
    printed = ["the blades"] if section.kind != "sheet" and section.material in _PRINTED else []
    if any(stage.kind == "gears" and stage.teeth.startswith("pla") for stage in turbine.drivetrain):
        printed.append("gears")
    if not printed:
        return None
    return Hazard(
        "hot parts, fumes and weak layers of 3-D prints",
        f"For {' and '.join(printed)} of printed plastic: nozzle and bed are hot, and a print splits most easily "
        "between its layers.",
        "Print with fresh air and do not reach into a moving printer; mind sharp scrapers. Lay blades down so that "
        "their pull runs along the layers, and let none near a heater or a hot car.",
    )


def _ballast(base):
    if base.ballast <= 0:
        return None
    ph = _fact("wet cement alkalinity")
    return Hazard(
        "heavy ballast and burns from wet concrete",
        f"{base.ballast:.2g} kg of ballast are lifted onto the base. If it is concrete: wet cement is as caustic as "
        f"lye (pH about {ph:g}) and burns skin before it hurts.",
        "Lift with straight backs and two people, keep feet from under it. Mix concrete only with an adult, in gloves, "
        "goggles and a dust mask, and wash splashes off at once.",
    )


def _fact(topic):
    return tables.load("safety/facts").find(topic=topic).value
