"""Polar tables that a user brings along."""

import csv
from pathlib import Path

import numpy as np

from whirlbench.errors import InputError, UnknownKey, nearest, within
from whirlbench.physics.section import ALPHA_DEG, LOG_REYNOLDS, PolarTable
from whirlbench.physics.sheet import far_coefficients

COLUMNS = ("alpha_deg", "re", "cl", "cd")

_FADE = 8.0  # [deg] beyond the last angle of the user's table the separated law takes over


def user_polar(path_or_rows, *, thickness_ratio=0.1, camber_ratio=0.0, aspect_ratio=7.0, name="own polar"):
    """Polar table from a user's own numbers, completed to the full circle.

    Parameters
    ----------
    path_or_rows : path or iterable of 4 numbers
        CSV file with the columns ``alpha_deg,re,cl,cd`` (``#`` opens a remark), or rows in that order.
    thickness_ratio, camber_ratio : float
        Thickness and camber over chord, used beyond the angles of the table only [-].
    aspect_ratio : float
        Blade length over mean chord; acts on separated flow only [-].
    name : str
        What to call the section.

    Returns
    -------
    PolarTable
        Lift and drag over all angles, Re 5e3 to 5e5; outside the table's Reynolds numbers its nearest one holds.

    Raises
    ------
    InputError
        A column that is missing, a cell that is no number, a drag of 0 or less, an angle twice, too few angles.
    UnknownKey
        A column that nothing answers to.
    OutOfRange
        Angle, Reynolds number or lift that no polar can have.

    Notes
    -----
    Linear between the user's angles and in ln Re, on the lift and the logarithm of the drag. Within 8 deg beyond the
    last angle the end values fade into the separated law.
    """
    from_file = isinstance(path_or_rows, str | Path)
    records = _read(Path(path_or_rows)) if from_file else list(enumerate(path_or_rows, start=1))
    numbers = np.array([_numbers(record, number) for number, record in records]).reshape(-1, 4)
    far = far_coefficients(thickness_ratio=thickness_ratio, camber_ratio=camber_ratio, aspect_ratio=aspect_ratio)
    reynolds = np.unique(numbers[:, 1])
    if len(reynolds) == 0:
        raise InputError("polar table", "no rows", "5 or more angles", try_="one row an angle: alpha_deg,re,cl,cd")
    cl, log_cd = (np.empty((len(reynolds), len(ALPHA_DEG))) for _ in range(2))
    for i, re in enumerate(reynolds):
        at = np.abs(LOG_REYNOLDS - np.log(re)).argmin()
        cl[i], log_cd[i] = _completed(numbers[numbers[:, 1] == re], re, far[0][at], np.log(far[1][at]))
    cl, log_cd = (_over_reynolds(grid, np.log(reynolds)) for grid in (cl, log_cd))
    source = f"user's table {Path(path_or_rows).name}" if from_file else "user's table"
    return PolarTable(ALPHA_DEG, LOG_REYNOLDS, cl, np.exp(log_cd), name, source, "own polar")


def _read(path):
    """Numbered cells of a file in the order of the columns."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as problem:
        raise InputError(
            "polar table", f"'{path.name}'", "a readable CSV file", try_="check the path and save as CSV"
        ) from problem
    lines = [
        (n, line) for n, line in enumerate(text.splitlines(), start=1) if line.strip() and not line.startswith("#")
    ]
    if not lines:
        raise InputError("polar table", "an empty file", "a header line", try_=f"begin with {','.join(COLUMNS)}")
    header = [cell.strip().lower() for cell in lines[0][1].split(",")]
    for column in header:
        if column not in COLUMNS:
            raise UnknownKey("polar table column", f"'{column}'", "a known column", try_=nearest(column, COLUMNS))
    for column in COLUMNS:
        if column not in header:
            raise InputError(
                "polar table", f"no column {column}", f"columns {', '.join(COLUMNS)}", try_="add the column"
            )
    order = [header.index(column) for column in COLUMNS]
    rows = zip((n for n, _ in lines[1:]), csv.reader(line for _, line in lines[1:]), strict=True)
    return [(n, [cells[i] if i < len(cells) else "" for i in order]) for n, cells in rows]


def _numbers(record, number):
    """Four checked numbers of one row."""
    where = f"polar table row {number}"
    if len(record) != len(COLUMNS):
        raise InputError(where, f"{len(record)} cells", "4 cells", try_=f"write {','.join(COLUMNS)}")
    found = []
    for column, cell in zip(COLUMNS, record, strict=True):
        try:
            found.append(float(cell))
        except (TypeError, ValueError) as problem:
            raise InputError(f"{where} {column}", f"'{cell}'", "a number", try_="use a point, no unit") from problem
    alpha, reynolds, cl, cd = found
    within(f"{where} alpha_deg", alpha, low=-180, high=180, unit="deg", try_="angles are in degrees")
    within(f"{where} re", reynolds, low=1e3, high=1e7, unit="", try_="write the chord Reynolds number, such as 60000")
    within(f"{where} cl", cl, low=-4, high=4, unit="", try_="lift coefficient, not a force")
    if not 0 < cd < 4:
        raise InputError(f"{where} cd", f"{cd:g}", "more than 0 and less than 4", try_="drag coefficient, not a force")
    return found


def _completed(rows, reynolds, far_cl, far_log_cd):
    """Lift and log drag on all angles from the rows of one Reynolds number."""
    alpha, cl, log_cd = rows[rows[:, 0].argsort()][:, (0, 2, 3)].T
    log_cd = np.log(log_cd)
    where = f"polar table at re {reynolds:g}"
    if len(alpha) < 5:
        raise InputError(where, f"{len(alpha)} angles", "5 or more angles", try_="add rows, from about -4 to 12 deg")
    if (np.diff(alpha) == 0).any():
        raise InputError(where, "an angle twice", "each angle once", try_="keep one of a rising and a falling sweep")
    if alpha[0] > 2 or alpha[-1] < 6:
        raise InputError(
            where, f"{alpha[0]:g} to {alpha[-1]:g} deg", "2 to 6 deg or wider", try_="add rows up to stall"
        )
    outside = np.maximum(alpha[0] - ALPHA_DEG, ALPHA_DEG - alpha[-1])
    way = np.clip(outside / _FADE, 0.0, 1.0)
    way = way**2 * (3.0 - 2.0 * way)
    own_cl, own_log_cd = np.interp(ALPHA_DEG, alpha, cl), np.interp(ALPHA_DEG, alpha, log_cd)
    return (1 - way) * own_cl + way * far_cl, (1 - way) * own_log_cd + way * far_log_cd


def _over_reynolds(grid, log_reynolds):
    """Rows at the Reynolds numbers of the table, the nearest end held outside."""
    if len(log_reynolds) == 1:
        return np.repeat(grid, len(LOG_REYNOLDS), axis=0)
    row = np.interp(LOG_REYNOLDS, log_reynolds, np.arange(len(log_reynolds)))
    low = np.minimum(row.astype(int), len(log_reynolds) - 2)
    up = (row - low)[:, None]
    return (1 - up) * grid[low] + up * grid[low + 1]
