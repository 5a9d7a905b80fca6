"""Sentences that the program makes, in the reader's language.

The catalogue ``sentences.po`` holds every text of the floors below with ``{0}``, ``{1}``... where numbers and names
stood in the code. A finished text is taken apart into sentences, clauses and these patterns, what stands in their gaps
is said in turn, and of all ways to take it apart the one wins that leaves the fewest words unsaid. Words that stand
nowhere in the catalogue are names: they stay as they are.
"""

import collections
import functools
import importlib.resources
import itertools
import re
from dataclasses import dataclass

GAP = re.compile(r"\{(\d+)\}")
SENTENCE_END = r"(?<=[.!?]) +(?=[^\W_])"
_MARKS = (r"\n+", SENTENCE_END, r"(?<=;) +", r"(?<=[.!?;:,]) +")
_LEVELS = tuple(map(re.compile, _MARKS))  # where a text parts into lines, sentences, halves and clauses
_CLAUSES = len(_LEVELS) - 1
_BETWEEN = re.compile(r"(?=[.,;:]? )|$")  # where a gap may end and another begin
_COLON = re.compile(r"[:;.] ")
_BEFORE, _BEHIND = re.compile(r"^\{\d+\} (?=[A-Z¿¡]\w)"), re.compile(r"(?<=[.!?]) ?\{\d+\}$")
_WORD = re.compile(r"[^\W\d_]{2,}")
_CODE = re.compile(r".[^\W_]*[A-Z]")  # a unit or a name in capitals
_SAME = {"deg", "rpm", "krpm", "ohm", "mm", "cm", "km", "kg", "in", "ft", "rad", "min"}  # the same in every language
_UNSAID, _ODD, _WIDE = 1000, 400, 100  # cost of a word that stays, a pattern around one, and clauses in a gap
_EFFORT, _FILLINGS, _DEEPEST, _LONGEST_RUN = 2000, 60, 10, 15  # what one text may cost
_LONGEST, _KEPT, _FEW = 4000, 500, 80  # letters


@dataclass(frozen=True)
class Pattern:
    """A text with gaps.

    Attributes
    ----------
    fixed : tuple of str
        What stands before, between and behind the gaps.
    gaps : tuple of str
        Numbers of the gaps in order.
    words : frozenset of str
        Words that a text must hold to be worth a try.
    levels : frozenset of int
        Levels whose marks it holds itself: only such a pattern spans several pieces of a level.
    strong : bool
        Whether it says enough to hold clauses in its gaps; others hold a few words.
    translation : str
        The text in the other language, with the same gaps.
    """

    fixed: tuple
    gaps: tuple
    words: frozenset
    levels: frozenset
    strong: bool
    translation: str

    def fillings(self, text):
        """Yield what may stand in the gaps, one text for each."""
        first, *between, last = self.fixed
        if len(text) >= len(first) + len(last) and text.startswith(first) and text.endswith(last):
            inside = text[len(first) : len(text) - len(last)]
            for found in itertools.islice(_parted(inside, between), _FILLINGS):
                if all(one or not self._alone(place) for place, one in enumerate(found)):
                    yield found

    def _alone(self, place):
        """Whether a gap has room on both sides, so that something must stand in it."""
        before = self.fixed[place][-1:] or (" " if place == 0 else "")
        after = self.fixed[place + 1][:1] or (" " if place + 2 == len(self.fixed) else "")
        return before == after == " "


class _Effort:
    """What one text may still cost."""

    def __init__(self):
        self.left = _EFFORT

    def spent(self):
        self.left -= 1
        return self.left < 0


class Sentences:
    """The sentences of one language.

    Parameters
    ----------
    pairs : iterable of (str, str)
        Texts with gaps, and their translations.
    """

    def __init__(self, pairs):
        pairs = [pair for text, translation in pairs for pair in _ways(text.strip(), translation.strip())]
        self._exact = {text: translation for text, translation in pairs if not GAP.search(text)}
        self._vocabulary = {word.lower() for text, _ in pairs for word in _words(text)} - _SAME
        patterns = [_pattern(text, translation) for text, translation in pairs if GAP.search(text)]
        patterns.sort(key=lambda one: -sum(map(len, one.fixed)))
        often = collections.Counter(word for one in patterns for word in one.words)
        self._by_word = collections.defaultdict(list)  # each under the rarest of its words
        for order, one in enumerate(patterns):
            self._by_word[min(one.words, key=lambda word: (often[word], word), default="")].append((order, one))
        self._memory = functools.lru_cache(maxsize=20_000)(_Memory)
        self._said = functools.lru_cache(maxsize=4_000)(lambda text: self._best(text, _Effort())[1])

    def __call__(self, text):
        """Return a finished text in this language, as far as it is known."""
        return self._said(text) if len(text) <= _LONGEST else text

    def _best(self, text, effort, depth=0):
        """Least cost of a text, and the text said so."""
        bare = text.strip()
        if bare in self._exact or not self._raw(bare):
            return 0, text.replace(bare, self._exact.get(bare, bare), 1)
        cost, said = self._at(0, bare, effort, depth)
        return cost, text.replace(bare, said, 1)

    def _at(self, level, text, effort, depth):
        """A text as one, or in the pieces of a level or of the next."""
        pieces = _parts(text, _LEVELS[level])
        if level < _CLAUSES and len(pieces) == 1:
            return self._at(level + 1, text, effort, depth)
        found = self._whole(level, text, effort, depth)
        if found[0] >= _UNSAID and level < _CLAUSES:
            found = min(found, self._named(level, text, effort, depth), key=_cost)
        if found[0] >= _UNSAID and len(pieces) > 1:
            found = min(found, self._in_runs(level, pieces, effort, depth), key=_cost)
        return found

    def _named(self, level, text, effort, depth):
        """A text behind the name of a thing and a colon."""
        name, colon, rest = text.partition(": ")
        if not colon or name not in self._exact:
            return self._raw(text), text
        cost, said = self._at(level, rest, effort, depth)
        return cost + 1, f"{self._exact[name]}: {said}"

    def _in_runs(self, level, pieces, effort, depth):
        """Pieces in runs: each time the first that leaves nothing unsaid, or else the one that says most."""
        cost, said, here = 0, "", 0
        while here < len(pieces):
            best = None
            for end, run in self._runs(level, pieces, here):
                one = self._run(level, run, effort, depth, alone=level < _CLAUSES and end == here + 1)
                gained = self._raw(run) - one[0]
                if best is None or one[0] < _UNSAID or gained > best[0]:
                    best = gained, end, one
                if one[0] < _UNSAID:
                    break
            _, here, one = best
            cost, said = cost + one[0] + 1, said + one[1] + "".join(pieces[here : here + 1])
            here += 1
        return cost, said

    def _runs(self, level, pieces, here):
        """Runs of pieces from one on: those known as they stand, then long runs of clauses or short ones of more."""
        ends = range(here + 1, min(len(pieces), here + 2 * _LONGEST_RUN) + 1, 2)
        runs = [(end, "".join(pieces[here:end])) for end in ends]
        return sorted(runs, key=lambda run: (run[1] not in self._exact, -run[0] if level == _CLAUSES else run[0]))

    def _run(self, level, text, effort, depth, *, alone):
        """A run of pieces, or one piece in those of the next level, with or without its last mark."""
        said_so = functools.partial(self._at, level + 1) if alone else functools.partial(self._whole, level)
        found = said_so(text, effort, depth)
        if found[0] >= _UNSAID and text[-1:] in ".,;:":
            cost, said = said_so(text[:-1], effort, depth)
            found = min(found, (cost, said + text[-1]), key=_cost)
        return found

    def _raw(self, text):
        """Cost of a text that stays."""
        return _UNSAID * sum(word.lower() in self._vocabulary for word in _words(text))

    def _whole(self, level, text, effort, depth):
        """A text as one: known as it stands, or a pattern."""
        memory = self._memory(level, text) if len(text) <= _KEPT else _Memory(level, text)
        if memory.found is None:
            found = self._search(level, text, effort, depth)
            if effort.left < 0:
                return found
            memory.found = found
        return memory.found

    def _search(self, level, text, effort, depth):
        if text in self._exact:
            return 0, self._exact[text]
        best = self._raw(text), text
        if best[0] and depth < _DEEPEST and not effort.spent():
            best = self._by_pattern(level, text, best, effort=effort, depth=depth)
            if best[0] >= _UNSAID and text[:1].isupper():
                cost, said = self._whole(level, text[:1].lower() + text[1:], effort, depth)
                best = min(best, (cost, said[:1].upper() + said[1:]), key=_cost)
        return best

    def _by_pattern(self, level, text, best, *, effort, depth):
        """The first pattern that leaves nothing unsaid, filled in the cheapest way; or else the cheapest of all."""
        least, few = best[0], len(text) <= _FEW and not _LEVELS[-1].search(text)
        for one in self._candidates(level, text):
            for filling in one.fillings(text):
                if not (few or one.strong or self._exact.keys() >= set(filling)):
                    continue
                wide = _WIDE * any(_COLON.search(gap) for gap in filling)
                found = self._filled(one, filling, least - wide, effort=effort, depth=depth + 1)
                if found[0] + wide < least:
                    best, least = found, found[0] + wide
                if effort.spent():
                    return best
            if least < _WIDE:
                break
        return best

    def _candidates(self, level, text):
        """Patterns that may fit, those that say most first."""
        words = set(_WORD.findall(text))
        found = [pair for word in (*words, "") for pair in self._by_word.get(word, ()) if pair[1].words <= words]
        fit = (one for _, one in sorted(found, key=lambda pair: pair[0]))
        return [one for one in fit if level == _CLAUSES or level in one.levels]

    def _filled(self, pattern, filling, most, *, effort, depth):
        """Cost of a pattern so filled; dear as soon as it cannot be the best."""
        cost, inside = 1, {}
        for gap, text in zip(pattern.gaps, filling, strict=True):
            one, inside[gap] = self._best(text, effort, depth)
            cost += one
            if cost >= most:
                return cost, ""
        return cost + _ODD * (cost >= _UNSAID), GAP.sub(lambda gap: inside[gap[1]], pattern.translation)


class _Memory:
    """What was found for a text."""

    def __init__(self, level, text):
        self.found = None


@functools.cache
def sentences(language):
    """Sentences of a language, or None where it is the program's own."""
    from babel.messages.pofile import read_po

    place = importlib.resources.files("whirlbench.web") / "locale" / language / "LC_MESSAGES" / "sentences.po"
    if not place.is_file():
        return None
    with place.open("rb") as catalogue:
        return Sentences((one.id, one.string) for one in read_po(catalogue, locale=language) if one.id and one.string)


def say(language, text):
    """Say a finished text in a language."""
    found = sentences(language) if text else None
    return found(text) if found else text


def _ways(text, translation):
    """A text as it may stand: without gaps that hold whole sentences; with the mark before it, and without."""
    for edge in (_BEFORE, _BEHIND, _BEHIND):
        one, other = edge.search(text), edge.search(translation)
        if one and other and one[0] == other[0]:
            text, translation = edge.sub("", text), edge.sub("", translation)
    yield text, translation
    if text[:2] == translation[:2] and text[:2] in (", ", "; "):
        yield text[2:], translation[2:]


def _pattern(text, translation):
    pieces, words = GAP.split(text), frozenset(_WORD.findall(GAP.sub("0", text)))
    levels = frozenset(level for level, mark in enumerate(_LEVELS) if mark.search(GAP.sub("A", text) + " "))
    strong = len(words) > 1 or _CLAUSES in levels
    return Pattern(tuple(pieces[::2]), tuple(pieces[1::2]), words, levels, strong, translation)


def _parts(text, mark):
    """Pieces of a text and what parts them, in turn; parentheses stay whole."""
    pieces, begin = [], 0
    for found in mark.finditer(text):
        if text.count("(", begin, found.start()) <= text.count(")", begin, found.start()):
            pieces += text[begin : found.start()], found[0]
            begin = found.end()
    return [*pieces, text[begin:]]


def _parted(text, between):
    """Every way to part a text at these separators, the first gaps short first."""
    if not between:
        yield (text,)
        return
    for found in re.finditer(re.escape(between[0]) or _BETWEEN, text):
        for rest in _parted(text[found.end() :], between[1:]):
            yield (text[: found.start()], *rest)


def _words(text):
    return [word for word in _WORD.findall(text) if not _CODE.match(word)]


def _cost(found):
    return found[0]
