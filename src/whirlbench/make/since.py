"""What is left to make when a turbine grows out of an earlier one: the pieces that differ."""

from dataclasses import replace

from whirlbench.make.cut_files import svg_bytes
from whirlbench.make.mesh_files import stl_bytes
from whirlbench.make.pieces import Flat


def still_to_make(drawn, compared, before):
    """Pieces of one kind that the earlier turbine does not have, or has too few of.

    Parameters
    ----------
    drawn : sequence of Flat or Solid
        Pieces of the new turbine.
    compared : sequence of Flat or Solid
        The same pieces, freed of what is set and not made.
    before : sequence of Flat or Solid
        Pieces of the earlier turbine, freed of the same.

    Returns
    -------
    tuple of tuple of Flat or Solid and tuple of str
        What is to be made, each as often as it is missing, and the names of what stays.
    """
    have = {}
    for one in before:
        have[_shape(one)] = have.get(_shape(one), 0) + one.count
    wanted, stays = [], []
    for piece, one in zip(drawn, compared, strict=True):
        missing = piece.count - min(piece.count, have.get(_shape(one), 0))
        if missing:
            wanted.append(replace(piece, count=missing))
        else:
            stays.append(piece.drawing.name if isinstance(piece, Flat) else f"printed {piece.name}")
    return tuple(wanted), tuple(stays)


def freed(turbine, like=None):
    """Turbine without what is weighed or set at the hub, so that a turned blade is the same blade.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    like : Turbine, optional
        Whose pitch it takes, where its blades turn on rods.

    Returns
    -------
    Turbine
        For comparing pieces, not for making them.
    """
    rotor = turbine.rotor
    pitch = like.rotor.pitch if like is not None and rotor.rod is not None else rotor.pitch
    return turbine.changed(rotor=rotor.changed(weighed=(), mass_radius=None, pitch=pitch))


def told_apart(kind, turbine, before):
    """Whether something that the drawings of a flat kind do not show has changed.

    Parameters
    ----------
    kind : str
        One of ``make.pieces.KINDS``.
    turbine, before : Turbine
        The new and the earlier one.

    Returns
    -------
    bool
        Such as the thickness of the card, the height of the tower, or the turns of the coil.
    """
    shown = {
        "blades": lambda one: one.rotor.section,
        "coil": lambda one: one.generator,
        "tower": lambda one: (one.tower.height, one.tower.joint, one.tower.tube, one.base.height),
        "base": lambda one: one.base,
    }.get(kind, lambda _: None)
    return shown(turbine) != shown(before)


def _shape(piece):
    """What makes two pieces the same: their drawing or their mesh and plastic, whatever they are called."""
    if isinstance(piece, Flat):
        return piece.stock, svg_bytes(replace(piece.drawing, name="piece"))
    return piece.material, piece.fill, stl_bytes(piece.on_bed)
