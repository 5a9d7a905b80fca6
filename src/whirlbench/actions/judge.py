"""Judges moves: what each gains, which rules it keeps, which problems it mends or brings."""

from dataclasses import dataclass

from whirlbench.advise import problems, rank
from whirlbench.advise.chain_choice import start_margin
from whirlbench.event.rules import broken
from whirlbench.predict import turbine as whole
from whirlbench.predict import world
from whirlbench.predict.facts import facts

_EVEN = 0.5  # a start more likely than not is what the best estimate says
_TRIED = 12  # moves of a later step that are valued in every world


@dataclass(frozen=True)
class Judged:
    """A valued move with the rules it would break and the problems it mends and brings."""

    one: object
    rules: tuple
    mended: tuple
    brought: tuple
    mends_rules: bool  # breaks none that is kept now, and fewer than now where some are broken

    @property
    def safe(self):
        """Whether it stands and brings nothing that may break."""
        return self.one.stands and not any(problem.unsafe for problem in self.brought)

    def acceptable(self, must_start):
        """Whether it may be done."""
        return self.safe and self.mends_rules and (self.one.starts or not must_start)


class Judge:
    """Values moves of one turbine, and holds rules and problems against those of the turbine as it is."""

    def __init__(self, scorer, parts_bin, now, *, sure_start=0.5):
        self.scorer, self.event, self.parts_bin = scorer, scorer.event, parts_bin
        self.problems = problems.problems(now)
        self.rules = self.broken(now)
        self.must_start = self.event is None or self.event.must_start
        unread = world.draw(whole.priors(now.assembly.turbine), world.COUNT)  # moves bring parts that nobody has read
        self._margin = start_margin(unread, sure_start) if sure_start > _EVEN else 1.0

    def broken(self, worth):
        """Names of the rules that a build breaks."""
        return tuple(broken(self.event, facts(worth.assembly, *worth.predictions))) if self.event else ()

    def acceptable(self, each):
        """Whether a judged move may be done."""
        return each.acceptable(self.must_start)

    def screened(self, worth, used=frozenset()):
        """Moves of a build that are worth valuing in every world."""
        moves = rank.all_moves(worth.assembly.turbine, self.parts_bin, self.event)
        moves = [move for move in moves if move.family not in used]
        worlds = worth.assembly.worlds
        return rank.screened(self.scorer, moves, self.parts_bin, worlds, allowed=self._allowed)

    def _allowed(self, worth):
        """Whether a build keeps the rules and has the margin that a start as sure as asked for takes."""
        margins = (one.standstill[0] >= self._margin * one.breakaway[0] for one in worth.predictions)
        return not self.broken(worth) and (not self.must_start or all(margins))

    def ranked(self, worth, moves):
        """Moves valued in every world, the best of each family, what may be done first."""
        worlds = worth.assembly.worlds
        judged = [self.judged(rank.valued(self.scorer, worth, move, worlds)) for move in moves]
        return rank.best_of_families(judged, self.acceptable)

    def rank_after(self, worth, used):
        """Ranked moves of a later build on the path; only the strongest are valued."""
        return self.ranked(worth, self.screened(worth, used)[:_TRIED])

    def judged(self, one):
        """A valued move held against rules and problems of the turbine as it is."""
        rules = self.broken(one.worth)
        mended, brought = problems.change(self.problems, problems.problems(one.worth))
        mended += tuple(f"rule '{rule}'" for rule in self.rules if rule not in rules)
        better = set(rules) <= set(self.rules) and (len(rules) < len(self.rules) or not self.rules)
        return Judged(one, rules, mended, brought, better)
