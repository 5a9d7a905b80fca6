"""A part to print: its shape, its mass and balance, and what whoever prints it should know."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench import tables
from whirlbench.errors import InputError, nearest, within
from whirlbench.make.drawing import MM, file_stem
from whirlbench.make.features import built
from whirlbench.make.mesh import Mesh, bulk

PRINTABLE = ("PLA", "PETG", "ABS")
_TWO_LINES = 0.8  # [mm] of a 0.4 mm nozzle: common practice


@dataclass(frozen=True, eq=False)
class Solid:
    """A watertight part, modelled as it stands on the print bed: z up.

    Attributes
    ----------
    name : str
        Also the stem of its files.
    steps : tuple of Step
        How it is built; the one source of its shape.
    mesh : Mesh
        Made from the steps [mm].
    material : str
        Name in the table of densities.
    fill : float
        Share of the volume that is plastic [-].
    mass : float
        [kg].
    centre : tuple of float
        Balance point [m], in the axes of the mesh.
    inertia : tuple of tuple of float
        Tensor about the balance point [kg*m^2].
    count : int
        How many to print.
    orientation : str
        How to lay it on the bed, and why.
    notes : tuple of str
        Tolerances applied, cautions.
    """

    name: str
    steps: tuple
    mesh: Mesh
    material: str
    fill: float
    mass: float
    centre: tuple
    inertia: tuple
    count: int = 1
    orientation: str = ""
    notes: tuple = ()

    @property
    def volume(self):
        """Volume inside the surface [mm^3]."""
        return bulk(self.mesh).volume

    @property
    def on_bed(self):
        """Mesh with its lowest point at z = 0 and its corner at x = y = 0 [mm]."""
        return replace(self.mesh, vertices=self.mesh.vertices - self.mesh.vertices.min(axis=0))


def solid(name, steps, *, material="PLA", fill=1.0, count=1, orientation="", notes=()):
    """Part from the steps that build it.

    Parameters
    ----------
    name : str
        Letters, digits, ``-`` and ``_``.
    steps : sequence of Step
        The first adds.
    material : str
        ``PLA``, ``PETG`` or ``ABS``.
    fill : float
        Share of the volume that is plastic, walls and infill together [-].
    count : int
        How many to print.
    orientation : str
        How to lay it on the bed.
    notes : sequence of str
        Tolerances applied, cautions.

    Returns
    -------
    Solid
        Watertight, weighed.

    Raises
    ------
    InputError
        A name with slashes, a material that no printer melts, no volume.
    OutOfRange
        A fill outside 0.02 to 1.
    """
    file_stem("name of the part", name)
    if material not in PRINTABLE:
        raise InputError("material", f"'{material}'", "a plastic to print", try_=nearest(material, PRINTABLE))
    within("fill", fill, low=0.02, high=1.0, unit="", try_="0.6 stands for two walls and 20 % infill of a thin blade")
    mesh = built(tuple(steps), name)
    whole = bulk(mesh)
    density = fill * tables.load("materials/density").find(name=material).density_kg_per_m3
    return Solid(
        name,
        tuple(steps),
        mesh,
        material,
        float(fill),
        mass=density * whole.volume / MM**3,
        centre=tuple(float(x) / MM for x in whole.centre),
        inertia=tuple(map(tuple, (density * np.array(whole.inertia) / MM**5).tolist())),
        count=count,
        orientation=orientation,
        notes=(*notes, _weight_note(density * whole.volume / MM**3, material, (fill, wall_share(mesh)))),
    )


def fit(what):
    """Number of the table of print fits.

    Parameters
    ----------
    what : str
        Row of ``make/print_fits``.

    Returns
    -------
    float
        [mm].
    """
    return tables.load("make/print_fits").find(what=what).value_mm


def wall_share(mesh):
    """Share of a print's volume that its two outermost lines take.

    Parameters
    ----------
    mesh : Mesh
        Closed surface [mm].

    Returns
    -------
    float
        Skin times the width of two lines over the volume, at most 1: a little too much where the skin bends [-].
    """
    corners = mesh.corners
    skin = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1).sum() / 2
    return min(1.0, float(skin) * _TWO_LINES / bulk(mesh).volume)


def _weight_note(mass, material, shares):
    fill, walls = shares
    told = f"{mass * 1e3:.1f} g of {material}, {100 * fill:.0f} % of the volume filled; weigh it, as prints differ"
    if fill >= walls:
        return told
    least = mass * walls / fill
    return f"{told}: two walls alone fill about {100 * walls:.0f} %, so expect {1e3 * least:.0f} g or more"
