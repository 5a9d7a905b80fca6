"""Ways to a better turbine, each a series of builds read at the fan: ours, and three that need no model."""

import concurrent.futures
import warnings
from dataclasses import replace

import numpy as np

from whirlbench.actions.judge import Judge
from whirlbench.advise import designs
from whirlbench.advise.calibrate import calibrate
from whirlbench.advise.carry import believed, lesson
from whirlbench.advise.plausible import worlds_after
from whirlbench.advise.search import search
from whirlbench.event.rules import broken
from whirlbench.predict.facts import facts

ANSWERS = 2  # answers of which every move is held against the truth
BAND = (0.1, 0.9)  # quantiles of a predicted gain
START = 0.5  # chance of a start that a try must have: if it does not start, one test is lost
FIRST_STEPS = 4  # random builds that teach the Gaussian process before it proposes


class Trials:
    """What a team tries in one hidden truth: counts tests, and keeps the build with the best reading.

    Parameters
    ----------
    workshop : Workshop
        What can be made.
    truth : Hidden
        What it does.
    most : int
        Tests in the time there is.
    enough : float
        Power of a build after which no more is tried [W].
    """

    def __init__(self, workshop, truth, most, enough=np.inf):
        self.shop, self.truth, self.most, self.enough = workshop, truth, most, enough
        self.best, self._read, self.powers = workshop.start, -1.0, []

    @property
    def left(self):
        """Tests left."""
        return 0 if self.powers and self.powers[-1] >= self.enough else self.most - len(self.powers)

    def read(self, turbine):
        """Reading of a build, counted as one test."""
        reading = self.truth.read(turbine)
        power = reading.power or 0.0
        if power > self._read:
            self.best, self._read, true = turbine, power, self.truth.power(turbine)
            self.powers.append(true)
        else:
            self.powers.append(self.powers[-1])
        return reading

    def value(self, design):
        """Power read from a design [W], or None where it cannot be built: that costs no test."""
        turbine = self.shop.build(design)
        return None if turbine is None else (self.read(turbine).power or 0.0)


class Inline(concurrent.futures.Executor):
    """Does the work at once: every study has a process of its own already."""

    def submit(self, work, *what, **named):
        """Do it."""
        done = concurrent.futures.Future()
        done.set_result(work(*what, **named))
        return done


def follow_advice(trials, seed, moves):
    """Read the build, learn, go back to the best so far, try what promises most beyond it.

    Notes what the first two answers said of every move.
    """
    shop = trials.shop
    turbine, lessons, best = shop.start, [], None
    while trials.left:
        readings = [trials.read(turbine)]
        fit = calibrate(turbine, readings, believed(lessons, turbine))
        worlds = worlds_after(fit, turbine, readings, lessons=lessons)
        lessons.append(lesson(turbine, fit.beliefs, worlds))
        now = shop.scorer.worth(turbine, replace(worlds, lessons=tuple(lessons)))
        if len(lessons) <= ANSWERS:
            moves.extend(_answer(trials, now))
        if best is None or now.power.mean() > best.power.mean():
            best = now
        best = shop.scorer.worth(best.assembly.turbine, replace(best.assembly.worlds, lessons=tuple(lessons)))
        found = search(
            shop.scorer,
            best.assembly.turbine,
            best.assembly.worlds,
            parts_bin=shop.parts_bin,
            event=shop.event,
            acceptable=lambda worth: not broken(shop.event, facts(worth.assembly, *worth.predictions)),
            start_guarantee=START,
            in_hand=float(best.power.mean()),
            tried=[one.turbine for one in lessons],
            executor=Inline(),
            seed=seed + len(lessons),
            effort="quick",
        )
        turbine = found.turbine
        if turbine in [one.turbine for one in lessons]:
            return


def _answer(trials, now):
    """Band, chance and true gain of every move that an answer lists."""
    judge, before = Judge(trials.shop.scorer, trials.shop.parts_bin, now), trials.truth.power(now.assembly.turbine)
    for one in (each.one for each in judge.ranked(now, judge.screened(now))):
        low, high = np.quantile(one.gain, BAND)
        yield float(low), float(high), one.chance, trials.truth.power(one.move.turbine) - before


def one_factor_at_a_time(trials, seed):
    """Try every setting of one thing, keep the best read, go on to the next thing; round after round."""
    del seed
    shop, here = trials.shop, trials.shop.here()
    best = trials.value(here)
    while trials.left:
        before = best
        for settings in _factors(shop):
            for tried in settings(here):
                value = trials.value(tried) if trials.left else None
                if value is not None and value > best:
                    here, best = tried, value
        if best <= before:
            return


def random_builds(trials, seed):
    """Anything that can be built, one after the other."""
    draw = np.random.default_rng(seed)
    trials.value(trials.shop.here())
    while trials.left:
        trials.value(_any_design(trials.shop, draw))


def gaussian_process(trials, seed):
    """A plain Gaussian-process optimiser of a general library, on all numbers scaled to 0 to 1."""
    from bayes_opt import BayesianOptimization

    shop, draw = trials.shop, np.random.default_rng(seed)
    names = ("section", "holes", *_NUMBERS, "generator", "step", "load")
    optimiser = BayesianOptimization(
        None, dict.fromkeys(names, (0.0, 1.0)), random_state=seed, verbose=0, allow_duplicate_points=True
    )
    here = shop.here()
    optimiser.register(_scaled(shop, here), trials.value(here))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of a fit that stopped early
        while trials.left:
            first = len(trials.powers) <= FIRST_STEPS
            point = dict(zip(names, draw.random(len(names)), strict=True)) if first else optimiser.suggest()
            value = trials.value(_design(shop, point))
            optimiser.register(point, value or 0.0)


_NUMBERS = ("pitch", "tip", "inner", "chord", "taper", "twist", "camber")
_LEVELS = 6  # settings of a number in a round of one factor at a time


def _factors(shop):
    """For each thing in turn a function that lists a design's other settings of it."""
    yield lambda one: [replace(one, load=i) for i in range(len(shop.loads)) if i != one.load]
    yield lambda one: _renumbered(shop, one, "pitch")
    yield lambda one: [replace(one, train=i) for i in _few_trains(shop) if i != one.train]
    yield lambda one: _other_kinds(shop, one, lambda old, new: old.holes == new.holes)
    yield lambda one: _other_kinds(shop, one, lambda old, new: (old.section, old.own) == (new.section, new.own))
    for name in _NUMBERS[1:]:
        yield lambda one, name=name: _renumbered(shop, one, name)
    yield lambda one: [replace(one, generator=i) for i in range(len(shop.generators)) if i != one.generator]


def _few_trains(shop):
    """Drivetrains about a factor 1.5 apart."""
    wanted = np.exp(np.arange(0, np.log(shop.steps.max()) + 1e-9, np.log(1.5)))
    return list(dict.fromkeys(int(np.argmin(np.abs(np.log(shop.steps / step)))) for step in wanted))


def _renumbered(shop, one, name):
    free = shop.space.kinds[one.kind].free
    if name not in free:
        return []
    i = free.index(name)
    return [replace(one, point=(*one.point[:i], level, *one.point[i + 1 :])) for level in np.linspace(0, 1, _LEVELS)]


def _other_kinds(shop, one, alike):
    now = shop.space.kinds[one.kind]
    others = [i for i, kind in enumerate(shop.space.kinds) if i != one.kind and alike(now, kind)]
    return [_as_kind(shop, one, i) for i in others]


def _as_kind(shop, one, kind):
    """A design with other blades, its numbers kept where they are free there too."""
    old, new = shop.space.kinds[one.kind], shop.space.kinds[kind]
    numbers = dict(zip(new.free, designs.now(shop.space, new), strict=True))
    numbers |= {name: x for name, x in zip(old.free, one.point, strict=True) if name in numbers}
    return replace(one, kind=kind, point=tuple(float(numbers[name]) for name in new.free))


def _any_design(shop, draw):
    names = ("section", "holes", *_NUMBERS, "generator", "step", "load")
    return _design(shop, dict(zip(names, draw.random(len(names)), strict=True)))


def _design(shop, point):
    """Design that a point of the unit cube stands for."""
    kinds = shop.space.kinds
    stocks = list(dict.fromkeys((repr(kind.section), kind.own) for kind in kinds))
    stock = stocks[_index(point["section"], len(stocks))]
    of_it = sorted(
        (i for i, kind in enumerate(kinds) if (repr(kind.section), kind.own) == stock),
        key=lambda i: len(kinds[i].holes),
    )
    kind = of_it[_index(point["holes"], len(of_it))]
    wanted = np.log(shop.steps.max()) * point["step"]
    return replace(
        shop.here(),
        kind=kind,
        point=tuple(float(point[name]) for name in kinds[kind].free),
        generator=_index(point["generator"], len(shop.generators)),
        train=int(np.argmin(np.abs(np.log(shop.steps) - wanted))),
        load=_index(point["load"], len(shop.loads)),
    )


def _scaled(shop, design):
    """Point of the unit cube of a design; what is not free there stands in the middle."""
    kinds, kind = shop.space.kinds, shop.space.kinds[design.kind]
    stocks = list(dict.fromkeys((repr(one.section), one.own) for one in kinds))
    point = dict.fromkeys(_NUMBERS, 0.5) | dict(zip(kind.free, map(float, design.point), strict=True))
    return {
        "section": (stocks.index((repr(kind.section), kind.own)) + 0.5) / len(stocks),
        "holes": 0.5,
        **point,
        "generator": (design.generator + 0.5) / len(shop.generators),
        "step": float(np.log(shop.steps[design.train]) / np.log(shop.steps.max())),
        "load": (design.load + 0.5) / len(shop.loads),
    }


def _index(share, count):
    return min(int(share * count), count - 1)


STRATEGIES = {  # with the tests that each may make
    "advice": (follow_advice, 9),
    "one factor at a time": (one_factor_at_a_time, 121),
    "random builds": (random_builds, 121),
    "Gaussian process": (gaussian_process, 21),
}
