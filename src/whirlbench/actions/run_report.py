"""What a run says in short, as ``capture`` and ``run show`` answer with it."""

from whirlbench.actions.report import Report


class QuantityLine(Report):
    """One quantity over a run, in ``unit``, SI where it is a column of readings."""

    name: str
    unit: str
    count: int
    mean: float
    sd: float
    drift: float
    drift_sd: float


def quantity_lines(summary):
    """Lines of a summary.

    Parameters
    ----------
    summary : RunSummary
        Of a run.

    Returns
    -------
    tuple of QuantityLine
        In the order in which they came.
    """
    return tuple(
        QuantityLine(
            name=name,
            unit=unit,
            count=trend.count,
            mean=trend.mean,
            sd=trend.sd,
            drift=trend.drift,
            drift_sd=trend.drift_doubt,
        )
        for (name, unit), trend in summary.trends.items()
    )


def energy_of(summary):
    """Energy of a run.

    Parameters
    ----------
    summary : RunSummary
        Of a run.

    Returns
    -------
    dict of str to float
        ``energy_J`` and ``energy_sd_J``, None where no power can be had.
    """
    energy = summary.energy
    return {"energy_J": energy and energy.number, "energy_sd_J": energy and energy.sigma}
