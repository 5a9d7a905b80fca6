"""What a turbine does in a few winds with bands, quick enough for a page that waits."""

from dataclasses import replace

from whirlbench.actions.kept_turbine import restored
from whirlbench.actions.predict import PredictReport, point
from whirlbench.predict import rotor_response, wind, world
from whirlbench.predict import turbine as whole


def outlook(turbine, files, shares):
    """Predict a turbine in its own wind and in a few around it, its rotor solved in nine worlds instead of all.

    Parameters
    ----------
    turbine : str
        Canonical JSON of the parts.
    files : dict of str to str
        Text of the files that they lean on.
    shares : sequence of float
        Winds as shares of the turbine's own.

    Returns
    -------
    PredictReport
        One point a wind, rising; the best estimate is that of ``predict``, the bands are near its own.

    Raises
    ------
    InputError
        A part that cannot be computed, told in four pieces.
    """
    turbine = restored(turbine, files)
    own = wind.disc_speed(turbine.wind, turbine.rotor.radius).number
    speeds = [own if share == 1 else round(own * share, 2) for share in sorted(shares)]
    worlds = world.draw(whole.priors(turbine), world.COUNT)
    assembly = whole.assemble(whole.settled(turbine, speeds), worlds)
    few = replace(assembly, worlds=rotor_response.star(worlds))
    points = (
        point(assembly, speed, rotor=rotor_response.in_all(whole.rotor_in_wind(few, speed), worlds)) for speed in speeds
    )
    return PredictReport(turbine=turbine.name, points=tuple(points))
