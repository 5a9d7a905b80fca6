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
_SENTENCE = re.compile(r"(?<=[.!?])( +)(?=[^\W_])")
_CLAUSE = re.compile(r"(?<=[.!?;:,])( +)")
_BEFORE, _BEHIND = re.compile(r"^\{\d+\} (?=[A-Z¿¡]\w)"), re.compile(r"(?<=[.!?]) ?\{\d+\}$")
_WORD = re.compile(r"[^\W\d_]{2,}")
_CODE = re.compile(r".[^\W_]*[A-Z]")  # a unit or a name in capitals
_SAME = frozenset("deg rpm krpm ohm mm cm km kg in ft rad min kph mph".split())  # the same in every language
_UNSAID, _ODD = 100, 40  # cost of a word that stays, and of a pattern around such a word
_EFFORT, _FILLINGS, _LONGEST, _LONGEST_RUN, _DEEPEST, _FEW = 4000, 60, 4000, 15, 10, 80


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
    strong : bool
        Whether it says enough to hold clauses in its gaps; others hold a few words.
    translation : str
        The text in the other language, with the same gaps.
    """

    fixed: tuple
    gaps: tuple
    words: frozenset
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
        self._memory = functools.lru_cache(maxsize=50_000)(_Memory)
        self._said = functools.lru_cache(maxsize=20_000)(lambda text: self._best(text, _Effort())[1])

    def __call__(self, text):
        """Return a finished text in this language, as far as it is known."""
        return self._said(text) if len(text) <= _LONGEST else text

    def _best(self, text, effort, depth=0):
        """Least cost of a text, and the text said so."""
        bare = text.strip()
        sentences = _SENTENCE.split(bare)
        cost, said = self._in_runs(sentences, self._sentence, effort, depth)
        return cost, text.replace(bare, said, 1) if bare else text

    def _sentence(self, text, effort, depth):
        """A sentence as one, or clause by clause."""
        found = self._whole(text, effort, depth)
        if found[0] >= _UNSAID and not _SENTENCE.search(text):
            clauses = _CLAUSE.split(text)
            found = min(found, self._in_runs(clauses, self._whole, effort, depth), key=_cost)
        return found

    def _in_runs(self, pieces, whole, effort, depth):
        """Pieces in runs: each time the first that leaves nothing unsaid, or else the one that says most."""
        cost, said, here = 0, "", 0
        while here < len(pieces):
            ends = range(here + 1, min(len(pieces), here + 2 * _LONGEST_RUN) + 1, 2)
            runs = {end: "".join(pieces[here:end]) for end in ends}
            best = None
            for end in sorted(
                ends, key=lambda end: (runs[end] not in self._exact, end if whole == self._sentence else -end)
            ):
                one = self._run(runs[end], whole, effort, depth)
                gained = self._raw(runs[end]) - one[0]
                if best is None or one[0] < _UNSAID or gained > best[0]:
                    best = gained, end, one
                if one[0] < _UNSAID:
                    break
            _, here, one = best
            cost, said = cost + one[0] + 1, said + one[1] + "".join(pieces[here : here + 1])
            here += 1
        return cost, said

    def _run(self, text, whole, effort, depth):
        """A run of clauses, with or without its last mark."""
        found = whole(text, effort, depth)
        if found[0] >= _UNSAID and text[-1:] in ".,;:":
            cost, said = whole(text[:-1], effort, depth)
            found = min(found, (cost, said + text[-1]), key=_cost)
        return found

    def _raw(self, text):
        """Cost of a text that stays."""
        return _UNSAID * sum(word.lower() in self._vocabulary for word in _words(text))

    def _whole(self, text, effort, depth):
        """A text as one: known as it stands, or a pattern."""
        memory = self._memory(text)
        if memory.found is None:
            found = self._search(text, effort, depth)
            if effort.left < 0:
                return found
            memory.found = found
        return memory.found

    def _search(self, text, effort, depth):
        if text in self._exact:
            return 0, self._exact[text]
        best = self._raw(text), text
        if best[0] and depth < _DEEPEST and not effort.spent():
            best = self._by_pattern(text, best, effort, depth)
            if best[0] >= _UNSAID and text[:1].isupper():
                cost, said = self._whole(text[:1].lower() + text[1:], effort, depth)
                best = min(best, (cost, said[:1].upper() + said[1:]), key=_cost)
        return best

    def _by_pattern(self, text, best, effort, depth):
        for one in self._candidates(text):
            for filling in one.fillings(text):
                best = min(best, self._filled(one, filling, best[0], effort, depth + 1), key=_cost)
                if best[0] < _UNSAID or effort.spent():
                    return best
        return best

    def _candidates(self, text):
        words, few = set(_WORD.findall(text)), len(text) <= _FEW and not _CLAUSE.search(text)
        found = [pair for word in (*words, "") for pair in self._by_word.get(word, ()) if pair[1].words <= words]
        return [one for _, one in sorted(found, key=lambda pair: pair[0]) if few or one.strong]

    def _filled(self, pattern, filling, most, effort, depth):
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

    def __init__(self, text):
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
    pieces = GAP.split(text)
    words = frozenset(_WORD.findall(GAP.sub("0", text)))
    strong = len(words) > 1 or bool(_CLAUSE.search(text + " "))
    return Pattern(tuple(pieces[::2]), tuple(pieces[1::2]), words, strong, translation)


def _parted(text, between):
    """Every way to part a text at these separators, the first gaps short first."""
    if not between:
        yield (text,)
        return
    here = text.find(between[0])
    while here >= 0:
        for rest in _parted(text[here + len(between[0]) :], between[1:]):
            yield (text[:here], *rest)
        here = text.find(between[0], here + 1)


def _words(text):
    return [word for word in _WORD.findall(text) if not _CODE.match(word)]


def _cost(found):
    return found[0]
