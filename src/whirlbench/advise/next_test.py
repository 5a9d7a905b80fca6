"""The measurement that would improve the choice most, in watts, and what each of its readings would mean."""

import itertools
from dataclasses import dataclass

import numpy as np

from whirlbench import units
from whirlbench.advise.bench_tests import bench_tests, build_tests
from whirlbench.advise.information import information, perfect

_NOISE = 0.01  # share of the power below which no measurement pays
_EQUAL = 0.9  # tests within a tenth of the best are as good: their values are no better known
_FIRST = 10  # moves that always count as a choice
_CUTS = 19  # readings at which outcomes may be split
_THIRD = 1.05  # a third outcome must add this much to what two are worth
LEAVE = "leave it as it is"


@dataclass(frozen=True)
class Outcome:
    """What may be read, and what would then be best.

    Attributes
    ----------
    reading : str
        Range of the reading in the unit of the instrument.
    chance : float
        How likely it is, 0 to 1.
    best : str
        The change that is then best, or to leave it.
    gain_W : float
        Its expected gain then [W].
    """

    reading: str
    chance: float
    best: str
    gain_W: float


@dataclass(frozen=True)
class NextTest:
    """The measurement that would help most to choose.

    Attributes
    ----------
    measure : str
        What to do.
    narrows : str
        What it tells, in plain words.
    share : float
        Its value as a share of what knowing everything would be worth, 0 to 1.
    why : str
        The reason in a sentence.
    value_W : float
        Expected gain of the best choice after the test less that of the best choice now [W].
    minutes : float
        Work, common practice.
    outcomes : tuple of Outcome
        Two or three, from low to high readings; together all that may be read.
    """

    measure: str
    narrows: str
    share: float
    why: str
    value_W: float = 0.0
    minutes: float = 0.0
    outcomes: tuple = ()


@dataclass(frozen=True)
class Weighed:
    """A test with what it teaches.

    Attributes
    ----------
    test : BenchTest
        The measurement.
    found : Information
        Its value and readings.
    """

    test: object
    found: object


def chance_better(one, two):
    """Chance that one move gains more than another.

    Parameters
    ----------
    one, two : Valued
        Moves valued in the same worlds.

    Returns
    -------
    float
        0 to 1.
    """
    return float((one.gain > two.gain).mean())


def next_test(ranked, worlds, now=None, resistances=()):
    """The measurement that would help most to choose between the moves, or to leave the turbine as it is.

    Parameters
    ----------
    ranked : sequence of Valued
        Moves that may be done, best first, at least one.
    worlds : Worlds
        Belief about the turbine now, in which they were valued.
    now : Worth, optional
        The turbine as it is; without it only building a move and reading it is weighed.
    resistances : sequence of float
        Resistors at hand [ohm].

    Returns
    -------
    NextTest
        A measurement, or to build and try the first move where no measurement pays.
    """
    first, ranked = ranked[0], _choices(ranked)
    weighed = weigh(ranked, now, resistances)
    power = max(one.power.mean() for one in (now, first.worth) if one is not None)
    if not weighed or weighed[0].found.value <= _NOISE * power:
        return _try_it(first, weighed, ranked)
    best, most = weighed[0], perfect(_gains(ranked))
    share = best.found.value / max(most, best.found.value)
    value, today = _watts(best.found.value), first.move.change if first.mean > 0 else LEAVE
    why = (
        f"Knowing it before you choose is worth {value} on average, {100 * share:.0f} % of what knowing everything "
        f"would be worth: some readings would change the choice, which now is '{today}'."
    )
    test = best.test
    return _told(best, ranked, measure=test.measure, narrows=test.narrows, share=share, why=why)


def weigh(ranked, now=None, resistances=()):
    """Every test that can be made, by its worth.

    Parameters
    ----------
    ranked : sequence of Valued
        Moves that may be done, best first.
    now : Worth, optional
        The turbine as it is.
    resistances : sequence of float
        Resistors at hand [ohm].

    Returns
    -------
    list of Weighed
        Most valuable first; among equals a measurement before a build, then the shorter one.
    """
    tests = (*(bench_tests(now, resistances) if now is not None else ()), *build_tests(ranked, now))
    gains = _gains(ranked)
    weighed = [Weighed(test, information(test.predicted, test.doubt, gains)) for test in tests]
    weighed.sort(key=lambda one: -one.found.value)
    floor = _EQUAL * weighed[0].found.value if weighed else 0.0
    equal = [one for one in weighed if one.found.value >= floor]
    equal.sort(key=lambda one: (one.test.build, one.test.minutes))
    return equal + weighed[len(equal) :]


def _choices(ranked):
    """Moves among which a reading may decide: the first few, and each that is best in some world."""
    best = set(np.argmax([one.gain for one in ranked], axis=0))
    return [one for i, one in enumerate(ranked) if i < _FIRST or i in best]


def _gains(ranked):
    """Gain of every choice in every world, the last choice to do nothing."""
    return np.column_stack([*(one.gain for one in ranked), np.zeros(len(ranked[0].gain))])


def _try_it(first, weighed, ranked):
    """Where no measurement pays: build the best move and see, or leave it."""
    if first.mean <= 0:
        why = "No change is expected to gain, and no measurement is worth its time for choosing among them."
        return NextTest(LEAVE, "nothing more", 0.0, why)
    words = {
        "measure": f"try it: {first.move.change}, then read volts and rpm",
        "narrows": "the change itself",
        "share": 0.0,
        "why": "No measurement would change this choice enough to pay; the build itself will tell.",
    }
    build = next((one for one in weighed if one.test.change == first.move.change), None)
    return _told(build, ranked, **words) if build else NextTest(**words, minutes=first.move.minutes)


def _told(weighed, ranked, **words):
    outcomes = _outcomes(weighed, [one.move.change for one in ranked])
    return NextTest(**words, value_W=weighed.found.value, minutes=weighed.test.minutes, outcomes=outcomes)


def _watts(power):
    return units.show(power, "mW" if abs(power) < 0.1 else "W", 2)


def _outcomes(best, changes):
    """Two or three ranges of the reading that parts the choices best."""
    names = [*changes, LEAVE]
    splits = [_split(column, best.found.gains) for column in best.found.readings.T]
    which = int(np.argmax([worth for worth, _ in splits]))
    _, cuts = splits[which]
    name, unit = best.test.reads[which]
    group = np.searchsorted(np.log(cuts), best.found.readings[:, which])
    found = []
    for i, text in enumerate(_ranges(name, unit, cuts)):
        here = best.found.gains[group == i]
        if len(here):
            mean = here.mean(axis=0)
            top = int(np.argmax(mean))
            found.append(Outcome(text, len(here) / len(group), names[top], float(mean[top])))
    return tuple(found)


def _ranges(name, unit, cuts):
    shown = [f"{cut:.3g} {unit}" for cut in cuts]
    between = [f"{name} between {one} and {two}" for one, two in itertools.pairwise(shown)]
    return [f"{name} below {shown[0]}", *between, f"{name} above {shown[-1]}"]


def _split(readings, gains):
    """What acting on two or three ranges of one reading is worth, and where they meet."""
    places = np.quantile(readings, np.linspace(0, 1, _CUTS + 2)[1:-1])
    cuts = sorted({float(f"{np.exp(place):.3g}") for place in places})
    order = np.argsort(readings)
    below = np.searchsorted(readings[order], np.log(cuts), side="right")
    sums = np.vstack([np.zeros(gains.shape[1]), np.cumsum(gains[order], axis=0)])

    def worth(*ends):
        edges = [0, *ends, len(readings)]
        return sum((sums[b] - sums[a]).max() for a, b in itertools.pairwise(edges)) / len(readings)

    kept = [i for i, count in enumerate(below) if 0 < count < len(readings)] or [0]
    base = sums[-1].max() / len(readings)
    two, one_cut = max((worth(below[i]), (i,)) for i in kept)
    pairs = [(worth(below[i], below[j]), (i, j)) for i in kept for j in kept if below[i] < below[j]]
    three, two_cuts = max(pairs, default=(two, one_cut))
    better = three - base > _THIRD * max(two - base, 0.0) + 1e-12
    chosen = two_cuts if better else one_cut
    return max(two, three), [cuts[i] for i in chosen]
