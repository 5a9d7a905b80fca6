"""Maintainer's script: compute the shipped airfoil polars again.

Run ``python docs/make_section_tables.py`` with the extra ``airfoils`` installed (it takes about ten seconds).
It overwrites ``src/whirlbench/tables/sections/<name>.csv`` and ``catalogue.csv``, and the outlines that blades are made
by, ``src/whirlbench/tables/coordinates/<name>.csv``; with the word ``coordinates`` behind it, the outlines only.

Sections with ``coordinates`` "formula" in the catalogue are drawn from published formulas; all others are read from the
coordinate library that comes with ``neuralfoil``. The polars are raw: known biases are taken off when
`physics.airfoil` loads them. The outlines keep the direction of the library's axes, from which the polars count alpha;
only the nose is put at y = 0, and a spline through the library's points gives all of them the same count.

A row of a table is one n_crit and one angle: lift at the 24 Reynolds numbers of `physics.section`, then drag.
"""

import sys
from importlib.metadata import version
from pathlib import Path

import aerosandbox as asb
import numpy as np

from whirlbench.physics.airfoil import NEURAL_ALPHA_DEG, four_digit_coordinates, neural_coefficients
from whirlbench.physics.section import LOG_REYNOLDS

TABLES = Path(__file__).parents[1] / "src/whirlbench/tables"
HERE, OUTLINES = TABLES / "sections", TABLES / "coordinates"
A_SIDE = 61  # points of an outline from nose to tail
FLOWS = (4.0, 9.0)  # n_crit: air of a room fan, smooth tunnel

LIBRARY = {
    "a18": "A18",
    "ag24": "AG24",
    "ag35": "AG35",
    "bw3": "BW-3",
    "clarky": "Clark-Y",
    "e205": "E205",
    "e214": "E214",
    "e216": "E216",
    "e387": "E387",
    "e423": "E423",
    "e61": "E61",
    "e71": "E71",
    "fx63137": "FX 63-137",
    "mh32": "MH 32",
    "rg15": "RG-15",
    "s1223": "S1223",
    "s3021": "S3021",
    "s4083": "S4083",
    "s7012": "S7012",
    "s7055": "S7055",
    "sd2030": "SD2030",
    "sd7003": "SD7003",
    "sd7037": "SD7037",
    "sd7062": "SD7062",
    "sd7080": "SD7080",
    "sg6040": "SG6040",
    "sg6041": "SG6041",
    "sg6042": "SG6042",
    "sg6043": "SG6043",
    "usa35b": "USA 35B",
}
CAMBERS = (0, 2, 4, 6)  # [% of the chord] at 40 % of it
THICKNESSES = (6, 9, 12, 15, 18)  # [% of the chord]
CAMBERED_63 = (12, 15, 18, 21, 24)  # [% of the chord]


def cambered_63(thickness):
    """Coordinates of NACA 63-8xx: mean line a = 1.0 with design lift 0.8 under a scaled 63-series thickness form.

    The thickness form is that of the 18 % thick NACA 63(3)-018 of the coordinate library, scaled in proportion; the
    true 63-series forms are not exactly proportional to each other. Thickness is laid square to the chord, not to the
    mean line, because the slope of the a = 1.0 line grows without end at nose and tail.
    """
    x = 0.5 * (1 - np.cos(np.linspace(0, np.pi, 101)))
    parent = asb.Airfoil("naca633018")
    half = 0.5 * parent.local_thickness(x) * thickness / parent.max_thickness()
    inner = np.clip(x, 1e-12, 1 - 1e-12)
    mean = -0.8 / (4 * np.pi) * ((1 - inner) * np.log(1 - inner) + inner * np.log(inner))
    return outline(x, mean + half, mean - half)


def outline(x, upper, lower):
    """Coordinates from the tail over the top to the nose and back below."""
    return np.concatenate([x[::-1], x[1:]]), np.concatenate([upper[::-1], lower[1:]])


def sections():
    """Name, label, position of camber, kind of coordinates, and the coordinates of every section."""
    for name, label in LIBRARY.items():
        foil = asb.Airfoil(name)
        yield name, label, "", "library", foil.x(), foil.y()
    for camber in CAMBERS:
        for thickness in THICKNESSES:
            digits = f"{camber}{4 if camber else 0}{thickness:02d}"
            yield (
                f"naca{digits}",
                f"NACA {digits}",
                0.4,
                "formula",
                *four_digit_coordinates(camber / 100, 0.4, thickness / 100),
            )
    for thickness in CAMBERED_63:
        yield f"naca638{thickness}", f"NACA 63-8{thickness}", 0.5, "formula and library", *cambered_63(thickness / 100)


def write(name, x, y):
    """One table of polars."""
    lines = [
        f"# source: computed with the neuralfoil library {version('neuralfoil')}, size xlarge, n_crit 4 and 9",
        "# seen: computed",
        "# cl_i and cd_i: Reynolds number 5e3 * 100 ** ((i - 1) / 23); raw, biases not taken off",
        ",".join(["n_crit", "alpha_deg"] + [f"{c}_{i}" for c in ("cl", "cd") for i in range(1, len(LOG_REYNOLDS) + 1)]),
    ]
    for n_crit in FLOWS:
        cl, cd = neural_coefficients(x, y, n_crit)
        for alpha, lift, drag in zip(NEURAL_ALPHA_DEG, cl.T, cd.T, strict=True):
            cells = [f"{n_crit:g}", f"{alpha:g}", *(short(v, ".3f") for v in lift), *(short(v, ".4g") for v in drag)]
            lines.append(",".join(cells))
    (HERE / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def write_coordinates(name, source, x, y):
    """One table of an outline."""
    points = asb.Airfoil(name, coordinates=np.column_stack([x, y])).repanel(n_points_per_side=A_SIDE).coordinates
    lines = [
        f"# source: {source}",
        "# seen: computed",
        "# from the tail over the top to the nose and back below, over the chord; a spline through the points",
        "x,y",
        *(f"{px:.5f},{py:.5f}" for px, py in points - [0.0, points[A_SIDE - 1, 1]]),
    ]
    (OUTLINES / f"{name}.csv").write_text("\n".join(lines).replace("-0.00000", "0.00000") + "\n", encoding="utf-8")


def short(number, style):
    """The number without the zero before its point, to keep the file small."""
    text = format(number, style).replace("-0.000", "0.000")
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def outlines():
    """Write every outline that is no formula."""
    OUTLINES.mkdir(exist_ok=True)
    library = f"the coordinate library that comes with aerosandbox {version('aerosandbox')}"
    for name, label, _, kind, x, y in sections():
        origin = library if kind == "library" else f"mean line a = 1.0 and the 63-series thickness form of {library}"
        if kind != "formula":
            write_coordinates(name, f"{label}: {origin}", x, y)


def main():
    """Write every table and the catalogue."""
    outlines()
    catalogue = [
        "# source: shapes of the sections in this folder; thickness and camber computed from the coordinates",
        "# seen: computed",
        "# coordinates: formula = drawn by physics.airfoil; library = read by docs/make_section_tables.py",
        "name,label,thickness_ratio,camber_ratio,camber_position,coordinates",
    ]
    for name, label, position, coordinates, x, y in sections():
        foil = asb.Airfoil(name, coordinates=np.column_stack([x, y])).normalize()
        camber = int(name[4]) / 100 if coordinates == "formula" else abs(foil.max_camber())
        catalogue.append(f"{name},{label},{foil.max_thickness():.4f},{camber:.4f},{position},{coordinates}")
        write(name, x, y)
    (HERE / "catalogue.csv").write_text("\n".join(catalogue) + "\n", encoding="utf-8")


if __name__ == "__main__":
    outlines() if sys.argv[1:] == ["coordinates"] else main()
