"""What the workbench shows of a turbine while it is changed: its picture, and what it does by best estimate."""

from whirlbench.actions.figure import Figure, figure
from whirlbench.actions.glance import GlanceReport, glance
from whirlbench.actions.kept_turbine import restored
from whirlbench.actions.report import Report
from whirlbench.actions.starts import start
from whirlbench.charts.turbine import front_view, side_view
from whirlbench.parts.plain import text_of

_SHARES = (0.7, 1.3)  # winds beside the turbine's own: as few as make a curve, for a slider waits for them


class BenchReport(Report):
    """Answer of ``bench``."""

    glance: GlanceReport
    figure: Figure
    front_view: str
    side_view: str


def bench(turbine, files, inches):
    """Look at a turbine on the workbench.

    Parameters
    ----------
    turbine : str
        Canonical JSON of the parts.
    files : dict of str to str
        Text of the files that they lean on.
    inches : bool
        Write dimensions of the picture in inches.

    Returns
    -------
    BenchReport
        Best estimate and picture.

    Raises
    ------
    InputError
        A part that cannot be computed, told in four pieces.
    """
    part = restored(turbine, files)
    numbers = figure(part)
    return BenchReport(
        glance=glance(part, shares=_SHARES),
        figure=numbers,
        front_view=front_view(numbers, inches=inches),
        side_view=side_view(numbers, inches=inches),
    )


def warm():
    """Load all that the bench needs into a fresh process."""
    bench(text_of(start("starter", "warm")), {}, False)
    return True
