"""Changes to tower and base: ballast, glue, a stiffer pipe, a clamp."""

import numpy as np

from whirlbench import units
from whirlbench.advise.move import Move

_HEAVY = "Lift ballast with two people and a straight back; wet cement burns skin, so let an adult mix it."
_SAW = "Clamp the pipe before you saw it; goggles on."
_CLEARANCE = 0.05  # [m] between blade tips and the floor or table
_GLUE = "Pipe cement and hot glue need fresh air and gloves; a qualified adult goes first."


def moves(turbine, parts_bin, event):
    """Every change to what holds the turbine up.

    Parameters
    ----------
    turbine : Turbine
        The turbine now.
    parts_bin : PartsBin
        Ballast, glue, pipes, a clamp.
    event : Event or None
        Whether the base may be clamped.

    Yields
    ------
    Move
        One change each.
    """
    base, tower = turbine.base, turbine.tower
    if not base.held:
        for extra in parts_bin.ballast * np.array([0.25, 0.5, 1.0]):
            if extra > 0:
                after = units.plain(base.ballast + extra, "kg")
                new = turbine.changed(base=base.changed(ballast=base.ballast + float(extra)))
                change = f"add {units.plain(extra, 'kg')} of ballast"
                yield Move("ballast", "tower", change, units.plain(base.ballast, "kg"), after, new, "ballast", _HEAVY)
        if parts_bin.feet and parts_bin.feet != base.surface:
            new = turbine.changed(base=base.changed(surface=parts_bin.feet, friction=None))
            change = f"change the feet: {parts_bin.feet}"
            yield Move("feet", "tower", change, base.surface, parts_bin.feet, new, "feet", fresh=("grip",))
        if parts_bin.base_width and parts_bin.base_width > base.width + 1e-3:
            steps = units.length(base.width), units.length(parts_bin.base_width)
            new = turbine.changed(base=base.changed(width=parts_bin.base_width))
            yield Move("base", "tower", f"a wider base: {steps[1]}", *steps, new, "base")
        if parts_bin.clamp:
            new = turbine.changed(base=base.changed(held=True))
            yield Move("clamp", "tower", "clamp the base to the table", "standing free", "clamped", new, "clamp")
    if tower.joint == "dry" and parts_bin.glue:
        new = turbine.changed(tower=tower.changed(joint="glued", joint_stiffness=None, free_play=0.0))
        yield Move(
            "joint", "tower", "glue the tower's foot joint", "dry joint", "glued", new, "glue", _GLUE, ("joint",)
        )
    for height in (0.9 * tower.height, 0.8 * tower.height, 0.65 * tower.height):
        if height + base.height > turbine.rotor.radius + _CLEARANCE:
            steps = units.length(tower.height), units.length(height)
            new = turbine.changed(tower=tower.changed(height=float(height)))
            yield Move("tower height", "tower", f"cut the tower to {steps[1]}", *steps, new, "cut", _SAW)
    for pipe in parts_bin.pipes:
        if pipe != tower.tube:
            new = turbine.changed(tower=tower.changed(tube=pipe))
            after = name(pipe)
            yield Move("tower pipe", "tower", f"stand it on {after}", name(tower.tube), after, new, "pipe")


def name(tube):
    """Tube in a few words.

    Parameters
    ----------
    tube : Pipe or Tube
        The tube.

    Returns
    -------
    str
        Such as ``1-1/4 in pipe``.
    """
    if tube.kind == "pvc pipe":
        return f"{tube.nominal} pipe"
    return f"{tube.outer_diameter * 1000:.0f} mm tube"
