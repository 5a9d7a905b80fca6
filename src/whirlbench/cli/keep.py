"""``whirlbench keep``."""

from whirlbench.cli import options, show


def keep(
    turbine: options.TurbineFile,
    *,
    team: options.TeamName,
    by: options.Author = "",
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Keep TURBINE as it is now, and say what differs from the version kept before."""
    from whirlbench.actions.keep import keep as act
    from whirlbench.parts.files import read_turbine
    from whirlbench.store.store import Store

    parts = read_turbine(turbine)
    with Store(place) as store:
        report = act(store, team, parts, author=by)
    show.answer(report, as_json, _in_words)


def _in_words(report):
    number = report.version.number
    if not report.new:
        show.say(f"{report.turbine}: nothing new, version {number} says the same.")
        return
    show.say(f"{report.turbine}: kept as version {number}.")
    for one in report.version.differences:
        show.say(f"    {one.sentence}")
