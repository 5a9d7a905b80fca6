"""What readings taught, as ``fit`` and ``improve`` answer with it."""

import numpy as np

from whirlbench.actions.report import Report
from whirlbench.advise import words_of_belief
from whirlbench.predict import world


class Learned(Report):
    """What the readings taught of one factor; of the angle the angle itself in rad."""

    factor: str
    meaning: str
    unit: str
    factor_before: float
    sd_before: float
    factor_after: float
    sd_after: float
    narrowed: bool
    sentence: str


class BeliefReport(Report):
    """Joint belief about the logarithms of all factors, readings included."""

    factors: tuple[str, ...]
    log_mean: tuple[float, ...]
    log_covariance: tuple[tuple[float, ...], ...]

    def belief(self):
        """Return the same as numbers for a prediction."""
        return world.Beliefs(np.array(self.log_mean), np.array(self.log_covariance))


class Question(Report):
    """A reading that is asked about; nothing is learned from it."""

    line: int
    question: str


def belief_report(beliefs):
    """Joint belief as it is reported.

    Parameters
    ----------
    beliefs : Beliefs
        The belief.

    Returns
    -------
    BeliefReport
        The same numbers.
    """
    return BeliefReport(factors=world.FACTORS, log_mean=beliefs.mean, log_covariance=beliefs.covariance.tolist())


def learned(fit):
    """What readings taught, factor by factor.

    Parameters
    ----------
    fit : Fit or None
        None without readings.

    Returns
    -------
    tuple of Learned
        Narrowed ones first.
    """
    if fit is None:
        return ()
    names = [(name, True) for name in fit.learned] + [(name, False) for name in fit.unlearned]
    return tuple(_learned(fit, name, narrowed=narrowed) for name, narrowed in names)


def _learned(fit, name, *, narrowed):
    place = world.FACTORS.index(name)
    mean, sigma = float(fit.beliefs.mean[place]), fit.beliefs.sigma(name)
    return Learned(
        factor=name,
        meaning=world.MEANING[name],
        unit=words_of_belief.unit_of(name),
        factor_before=words_of_belief.size_of(name, float(fit.prior.mean[place])),
        sd_before=fit.prior.sigma(name),
        factor_after=words_of_belief.size_of(name, mean),
        sd_after=sigma,
        narrowed=narrowed,
        sentence=words_of_belief.sentence(name, mean, sigma),
    )


def tied(fit):
    """Pairs of factors that the readings cannot tell apart.

    Parameters
    ----------
    fit : Fit or None
        None without readings.

    Returns
    -------
    tuple of str
        In plain words.
    """
    return tuple(f"{world.MEANING[one]} and {world.MEANING[two]}" for one, two in fit.tied) if fit else ()


def questions(asked):
    """Readings that are asked about.

    Parameters
    ----------
    asked : sequence of Slip
        As they were found.

    Returns
    -------
    tuple of Question
        In their order.
    """
    return tuple(Question(line=slip.row, question=slip.question) for slip in asked)
