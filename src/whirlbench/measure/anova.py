"""Analysis of variance, Tukey's comparisons, effects of two-level plans, and whether the scatter looks as it should."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import InputError
from whirlbench.measure.model import model

_DOUBTFUL = 0.01  # a check that cries wolf at 5 % would do so for every fifth team


@dataclass(frozen=True)
class Line:
    """One source of variation.

    Attributes
    ----------
    source : str
        A factor, two factors joined by `` x ``, ``blocks`` or ``scatter``.
    freedom : float
        Degrees of freedom.
    square_sum, mean_square : float
        In the square of the runs' unit.
    ratio, chance : float or None
        F, and how often luck alone makes it as large [-]; None for the scatter.
    """

    source: str
    freedom: float
    square_sum: float
    mean_square: float
    ratio: float | None
    chance: float | None


@dataclass(frozen=True)
class Effect:
    """What going from the first level to the second does in a two-level plan.

    Attributes
    ----------
    factors : tuple of str
        One factor, or several that act together.
    effect : float
        Mean at the second level less mean at the first, in the runs' unit.
    """

    factors: tuple
    effect: float


@dataclass(frozen=True)
class Limits:
    """Lenth's limits for the effects of a plan without repeats.

    Attributes
    ----------
    scatter : float
        Pseudo standard error of an effect.
    single, sure : float
        Margin of error of one effect, and of all of them at once.
    freedom : float
        Degrees of freedom, a third of the effects.
    """

    scatter: float
    single: float
    sure: float
    freedom: float


def one_way(groups):
    """Analysis of variance of several groups.

    Parameters
    ----------
    groups : sequence of sequence of float
        Outcomes, one sequence a group.

    Returns
    -------
    tuple of Line
        Between groups, and within.

    Raises
    ------
    InputError
        Fewer than two groups, or no group with two runs.
    """
    from scipy import stats

    groups = [np.asarray(group, dtype=float) for group in groups]
    freedom = sum(len(group) for group in groups) - len(groups)
    if len(groups) < 2 or freedom < 1 or min(map(len, groups)) < 1:
        got = f"{len(groups)} groups with {freedom + len(groups)} runs"
        raise InputError("groups", got, "two groups or more, some of two runs", try_="repeat the runs")
    found = stats.f_oneway(*groups)
    centre = np.concatenate(groups).mean()
    between = sum(len(group) * (group.mean() - centre) ** 2 for group in groups)
    within = sum(np.sum((group - group.mean()) ** 2) for group in groups)
    return (
        Line("groups", len(groups) - 1, float(between), float(between / (len(groups) - 1)), *map(float, found)),
        Line("scatter", freedom, float(within), float(within / freedom), None, None),
    )


def anova(runs, *, blocks=True):
    """Analysis of variance of a plan: blocks, factors, and pairs of factors that can be told from them.

    Parameters
    ----------
    runs : Runs
        One factor or more.
    blocks : bool
        Take the blocks out first, where there are any.

    Returns
    -------
    tuple of Line
        Type II; the scatter last.

    Raises
    ------
    InputError
        No run is left to show the scatter.
    """
    from pandas import DataFrame
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    used = runs.blocks if blocks and len(set(runs.blocks)) > 1 else ()
    fitted = model(runs.columns, levels=tuple(runs.levels.values()), blocks=used)
    if fitted.freedom < 1:
        got = f"{len(runs.outcomes)} runs for as many unknowns"
        raise InputError(
            "runs", got, "a few more", try_="repeat runs, or look at the effects of a plan without repeats"
        )
    table = {f"f{place}": column for place, column in enumerate(runs.columns)}
    called = {f"C(f{place}, Sum)": name for place, name in enumerate(runs.names)}
    terms = [":".join(f"C(f{place}, Sum)" for place in term) for term in fitted.places if term]
    if used:
        terms.insert(0, "C(block)")
        called["C(block)"] = "blocks"
        table["block"] = used
    found = anova_lm(ols(f"y ~ {' + '.join(terms)}", DataFrame({"y": runs.outcomes, **table})).fit(), typ=2)
    lines = []
    for name, row in found.iterrows():
        source = "scatter" if name == "Residual" else " x ".join(called[one] for one in name.split(":"))
        known = (None, None) if name == "Residual" else (float(row["F"]), float(row["PR(>F)"]))
        lines.append(Line(source, float(row["df"]), float(row["sum_sq"]), float(row["sum_sq"] / row["df"]), *known))
    return tuple(lines)


def tukey(groups):
    """Differences of all pairs of groups with 95 % intervals that hold all together.

    Parameters
    ----------
    groups : sequence of sequence of float
        Outcomes, one sequence a group.

    Returns
    -------
    tuple of array
        Differences, low ends and high ends; row less column.

    References
    ----------
    .. [1] C. Y. Kramer, Biometrics 12 (1956) 307-310, for groups of different size.
    """
    from scipy import stats

    found = stats.tukey_hsd(*groups)
    ends = found.confidence_interval()
    return found.statistic, ends.low, ends.high


def effects(runs):
    """Effects of a two-level plan, of single factors and of all that act together.

    Parameters
    ----------
    runs : Runs
        Every factor at two levels.

    Returns
    -------
    tuple of Effect
        Those that the runs can tell apart; single factors first.

    Raises
    ------
    InputError
        A factor with other than two levels.
    """
    from statsmodels.regression.linear_model import OLS

    for name, levels in runs.levels.items():
        if len(levels) != 2:
            raise InputError(name, f"{len(levels)} levels", "two", try_="look at the analysis of variance instead")
    levels = tuple(runs.levels.values())
    fitted = model(runs.columns, levels=levels, order=len(levels))
    found = OLS(np.asarray(runs.outcomes, dtype=float), fitted.matrix).fit().params
    return tuple(
        Effect(tuple(runs.names[place] for place in term), float(2 * found[columns.start]))
        for term, columns in fitted.places.items()
        if term
    )


def lenth(sizes):
    """Limits that tell effects from noise where no run was repeated: most effects are taken to be nothing.

    Parameters
    ----------
    sizes : sequence of float
        All effects of the plan, three or more.

    Returns
    -------
    Limits
        In the unit of the effects.

    Raises
    ------
    InputError
        Fewer than three effects.

    References
    ----------
    .. [1] R. V. Lenth, Technometrics 31 (1989) 469-473.
    """
    from scipy import stats

    sizes = np.abs(np.asarray(sizes, dtype=float))
    if len(sizes) < 3:
        raise InputError("effects", f"{len(sizes)}", "three or more", try_="repeat the runs instead")
    first = 1.5 * np.median(sizes)
    scatter = 1.5 * np.median(sizes[sizes <= 2.5 * first])
    freedom = len(sizes) / 3
    each = (1 + 0.95 ** (1 / len(sizes))) / 2
    single, sure = (float(scatter * stats.t.ppf(level, freedom)) for level in (0.975, each))
    return Limits(float(scatter), single, sure, freedom)


def residual_checks(runs, *, blocks=True):
    """Whether the scatter looks like honest noise, in plain words.

    Parameters
    ----------
    runs : Runs
        In the order in which they were taken.
    blocks : bool
        Take the blocks out first, where there are any.

    Returns
    -------
    tuple of str
        One sentence for each thing that looks wrong; empty when nothing does, or when there are too few runs to tell.
    """
    from statsmodels.regression.linear_model import OLS

    used = runs.blocks if blocks and len(set(runs.blocks)) > 1 else ()
    fitted = model(runs.columns, levels=tuple(runs.levels.values()), blocks=used)
    outcomes = np.asarray(runs.outcomes, dtype=float)
    fit = OLS(outcomes, fitted.matrix).fit()
    if fitted.freedom < 4 or fit.ssr <= 1e-20 * float(np.sum(outcomes**2)):
        return ()
    checks = (_odd_run(fit), _lopsided(fit.resid), _uneven(runs, fit.resid), _drifting(fit.resid))
    return tuple(sentence for sentence in checks if sentence)


def _odd_run(fit):
    """One run far off the others, allowing for the worst of so many (Bonferroni)."""
    from scipy import stats

    odd = np.abs(fit.get_influence().resid_studentized_external)
    odd = np.where(np.isfinite(odd), odd, 0.0)
    worst = int(np.argmax(odd))
    if 2 * len(odd) * stats.t.sf(odd[worst], fit.df_resid - 1) < _DOUBTFUL:
        return f"Run {worst + 1} in order is far from the others: look at what was written down before you trust it."
    return ""


def _lopsided(left):
    from scipy import stats

    if len(left) >= 8 and stats.shapiro(left).pvalue < _DOUBTFUL:
        return "The scatter is lopsided or has far outliers: gusts or a slipping part; look at the runs one by one."
    return ""


def _uneven(runs, left):
    """Brown and Forsythe's test of equal scatter."""
    from scipy import stats

    for name, column in runs.labels.items():
        groups = [left[[one == level for one in column]] for level in runs.levels[name]]
        if min(map(len, groups)) >= 4 and stats.levene(*groups).pvalue < _DOUBTFUL:
            wild = runs.levels[name][int(np.argmax([group.std() for group in groups]))]
            return (
                f"The runs at {name} {wild} scatter more than the others: something may be loose or close to stalling."
            )
    return ""


def _drifting(left):
    """Neighbours in time that are alike: von Neumann's ratio."""
    count = len(left)
    ratio = float(np.sum(np.diff(left) ** 2) / np.sum(left**2))
    if count >= 8 and (2 - ratio) / math.sqrt(4 * (count - 2) / (count**2 - 1)) > 2.6:
        return "Runs taken one after the other are alike: the fan or the air drifts; put reference runs in between."
    return ""
