"""Steps and tools of a build: only those that this turbine needs, cautions at the step where the risk arises."""

import math
from dataclasses import dataclass

_PRINTING = (
    "Print one test piece first: hole and rod have to fit.",
    "Print what lies in print/, each file as often as the bill of materials says.",
    "Weigh what was printed and write it on its label.",
)
# risks of the workshop's machines, whatever the turbine is made of: common practice
_LASER = (
    "fire, fumes and harm to eyes from a laser cutter",
    "The files of cut/ are for a laser or a plotter.",
    "Only somebody trained runs it, lid shut, extraction on, and never leaves it alone. Never cut PVC or a plastic "
    "that nobody can name: its fumes are poisonous.",
)
_PRINTER = (
    "hot parts and fumes of a 3-D printer",
    "The files of print/ are for a printer: nozzle and bed are hot.",
    "Print with fresh air, do not reach into a moving printer, mind sharp scrapers.",
)
WHERE = ("cut", "print", "glue", "drivetrain", "coil", "wire", "stand", "run")


@dataclass(frozen=True)
class BuildStep:
    """One step at the bench.

    Attributes
    ----------
    where : str
        One of ``WHERE``.
    title : str
        What is done.
    does : tuple of str
        In their order.
    cautions : tuple of tuple of str
        Risk, why, and what to do about it.
    """

    where: str
    title: str
    does: tuple
    cautions: tuple = ()


def build_steps(turbine, made, cautions):
    """Steps to build a turbine from the files of its pack.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    made : set of str
        Folders of the pack that hold files: ``paper``, ``cut``, ``print``.
    cautions : dict of str to tuple
        Risk, why and what to do, for each place of ``WHERE``.

    Returns
    -------
    tuple of BuildStep
        In the order of building; a caution whose step this build does not have stands at the run.
    """
    cautions = {
        **cautions,
        "cut": cautions.get("cut", ()) + ((_LASER,) if "cut" in made else ()),
        "print": cautions.get("print") or ((_PRINTER,) if "print" in made else ()),
    }
    told = [(where, title, does) for where, title, does in _steps(turbine, made) if does]
    homes = {where for where, _, _ in told}
    homeless = tuple(one for where, given in cautions.items() if where not in homes for one in given)
    return tuple(
        BuildStep(where, title, tuple(does), cautions.get(where, ()) + (homeless if where == "run" else ()))
        for where, title, does in told
    )


def tools(turbine, made):
    """Tools that a build takes.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    made : set of str
        Folders of the pack that hold files: ``paper``, ``cut``, ``print``.

    Returns
    -------
    tuple of str
        Measuring tools first.
    """
    rod = turbine.rotor.rod
    needed = [
        ("steel ruler of 300 mm, caliper, scale that shows 0.1 g, multimeter", True),
        ("safety glasses for everyone near", True),
        ("paper printer, scale set to 100 %, scissors, glue stick, tape", "paper" in made),
        ("sharp knife, metal ruler and cutting mat, or scissors for card", turbine.rotor.section.kind == "sheet"),
        ("laser cutter or plotter with someone who may run it", "cut" in made),
        ("3-D printer with a 0.4 mm nozzle, scraper, M3 screws and their key", "print" in made),
        (
            f"fine saw for rods, drill and bit of {1e3 * rod.diameter:.2f} mm, centre punch" if rod else "",
            rod is not None,
        ),
        ("glue for rods and blades", rod is not None),
        ("winding spindle with a 4 mm bolt, counter, tape", turbine.generator.kind == "wound"),
        ("soldering iron with a stand, fresh air", _soldered(turbine)),
        ("pipe saw or cutter, file", turbine.tower.tube.kind == "pvc pipe"),
        ("spring scale for the pull test", rod is not None),
    ]
    return tuple(words for words, wanted in needed if wanted)


def _soldered(turbine):
    generator = turbine.generator
    return generator.kind == "wound" or generator.rectifier is not None or turbine.load.kind == "leds"


def _steps(turbine, made):
    rotor = turbine.rotor
    degrees = math.degrees(rotor.pitch)
    yield "cut", "Check the size, then cut", _cutting(rotor, made)
    yield "print", "Print", _PRINTING if "print" in made else ()
    yield "glue", "Blades and hub", _blades(rotor, degrees)
    yield "drivetrain", "Drivetrain", _drivetrain(turbine)
    yield "coil", "Wind the coils", _coil(turbine.generator)
    soldering = "Join the wires" + (", diodes the right way round" if turbine.generator.rectifier else "")
    yield (
        "wire",
        "Wires and load",
        [f"{soldering}; insulate every joint.", "Measure the resistance of generator and load."],
    )
    yield "stand", "Tower and base", _stand(turbine)
    first = "Pull every blade outwards by hand and scale before the first run, and after every change."
    yield (
        "run",
        "First run",
        [
            first,
            "Turn the rotor by hand: nothing touches, nothing rubs.",
            "Begin with the least wind, the load connected.",
        ],
    )


def _cutting(rotor, made):
    does = []
    if "paper" in made:
        does.append("Print the sheets of paper/ at 100 % and lay a ruler on both check lines before anything is cut.")
    if "cut" in made:
        does.append("Set the cutter to CUT last; ENGRAVE and MARK first. The kerf is already in the path.")
    if rotor.section.kind == "sheet":
        does.append(f"Cut {rotor.blade_count} equal blades, all with the grain or the flutes along the blade.")
    return does


def _blades(rotor, degrees):
    does = []
    if rotor.rod is not None:
        does.append(
            "Cut the rods to the length in the bill of materials, all equal, and glue them along the marked line."
        )
        does.append(f"Drill the hub with the pattern; the rods go {1e3 * rotor.rod.socket_depth:.0f} mm deep.")
    places = ", ".join(map(str, rotor.holes))
    does.append(f"Weigh every blade, write the masses into the turbine's file, put the blades in holes {places}.")
    return [*does, f"Set every blade to {degrees:.1f}° with the pitch gauge, then lock it."]


def _drivetrain(turbine):
    return [f"Stage {number}: {_stage(stage)}." for number, stage in enumerate(turbine.drivetrain, 1)]


def _stage(stage):
    if stage.kind == "gears":
        return "set the shafts as far apart as the note of the gears says; feel a little play all round"
    apart = f"{1e3 * stage.centre_distance:.0f} mm apart, {stage.tension:g} N in each strand"
    return f"pulleys in one plane, shafts {apart}"


def _coil(generator):
    if generator.kind != "wound":
        return []
    return [
        f"Wind {generator.coils_in_series} coils of {generator.turns} turns as the coil card says, pulled lightly.",
        "Tape each coil before it leaves the former, scrape the enamel off both ends, measure its resistance.",
    ]


def _stand(turbine):
    does = [f"Cut the tower so that the rotor axis stands {1e3 * turbine.tower.height:.0f} mm above its foot joint."]
    if turbine.base.ballast:
        does.append(f"Fix {turbine.base.ballast:g} kg of ballast in four equal loads in the corners.")
    return does
