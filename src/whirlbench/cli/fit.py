"""``whirlbench fit``."""

from whirlbench import units
from whirlbench.cli import options, show, taken
from whirlbench.parts.files import read_turbine

_SHOWN = {"voltage": ("volts", "V"), "current": ("amps", "mA"), "rotor_speed": ("speed", "rpm"),
          "tip_deflection": ("tower pull", "mm")}  # fmt: skip


_ASKED = 12  # questions on one page


def fit(
    turbine: options.TurbineFile,
    readings: taken.ReadingsFile = None,
    *,
    team: taken.TeamName = None,
    place: options.StorePlace = None,
    plot: options.Plot = None,
    as_json: options.AsJson = False,
):
    """Calibrate the model of TURBINE by READINGS, and say what they taught and what they could not."""
    from whirlbench.actions.fit import fit as act

    parts = read_turbine(turbine)
    report = act(parts, taken.readings(readings, team, place, turbine=parts))
    if plot:
        from whirlbench.charts import files, page
        from whirlbench.charts import fit as charts

        told = report.model_dump()
        bands = [charts.band(told[f"over_{over}"], _alike(told, over), over=over) for over in ("wind", "load")
                 if told[f"over_{over}"]]  # fmt: skip
        gaps = [charts.residuals(told["readings"])] if report.misfit is not None else []
        files.save(page.beside(*gaps, *bands), plot)
    show.answer(report, as_json, _in_words)


def _alike(told, over):
    """Readings that belong to a band: with its load, or in its wind."""
    field = {"wind": "load_resistance_ohm", "load": "wind_speed_m_s"}[over]
    wanted = told[f"over_{over}"][0][field]
    return [one for one in told["seen"] if wanted and one[field] and abs(one[field] / wanted - 1) < 0.1]


def _in_words(report):
    narrowed = [one for one in report.learned if one.narrowed]
    show.say(f"{report.turbine}: {len(report.readings)} numbers read.")
    for asked in report.questions[:_ASKED]:
        show.say(f"Please check line {asked.line} of the readings: {asked.question}. It was not learned from.")
    if len(report.questions) > _ASKED:
        show.say(f"And {len(report.questions) - _ASKED} readings more that were not learned from; --json tells all.")
    show.table(
        ["line>", "", "read>", "before>", "after>", "off before>", "off after>"],
        [_row(one) for one in report.readings],
        title="Readings against the model ('off' in doubts of the reading)",
    )
    show.say("Learned:" if narrowed else "The readings narrow nothing yet.")
    for one in narrowed:
        show.say(f"  {one.sentence[0].upper()}{one.sentence[1:]}; before: {_doubt(one)}.")
    rest = [one.meaning for one in report.learned if not one.narrowed]
    if rest:
        show.say(f"Not learned: {', '.join(rest)}.")
    for pair in report.cannot_tell_apart:
        show.say(f"Tied together: {pair}.")
    for over, head in (("over_wind", "wind>"), ("over_load", "load>")):
        points = getattr(report, over)
        if points:
            show.table(
                [head, "before>", "likely before>", "after>", "likely after>"], [_band(one, over) for one in points]
            )
    for note in report.notes:
        show.say(note)


def _doubt(one):
    from whirlbench.advise.words_of_belief import doubt_of

    return f"+- {doubt_of(one.factor, one.sd_before)}"


def _row(one):
    if one.quantity == "start":
        state = ["turns" if number else "rests" for number in (one.read, one.before, one.after)]
        return [str(one.line), "start", *state, "", ""]
    word, unit = _SHOWN[one.quantity]
    numbers = [units.show(number, unit, 3) for number in (one.read, one.before, one.after)]
    return [str(one.line), word, *numbers, f"{one.gap_before:+.1f}", f"{one.gap_after:+.1f}"]


def _band(one, over):
    at = options.ohms(one.load_resistance_ohm) if over == "over_load" else f"{one.wind_speed_m_s:.3g} m/s"
    return [
        at,
        show.watts(one.before_W),
        show.between(one.before_low_W, one.before_high_W),
        show.watts(one.after_W),
        show.between(one.after_low_W, one.after_high_W),
    ]
