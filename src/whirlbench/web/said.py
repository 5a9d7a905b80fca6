"""Sentences that the program makes, in the reader's language.

The catalogue ``sentences.po`` holds every text of the floors below with ``{0}``, ``{1}``... where numbers and names
stood in the code. A finished sentence is held against these patterns, and what stood in the gaps is translated in turn.
What matches nothing stays as it is.
"""

import functools
import importlib.resources
import re
from dataclasses import dataclass

GAP = re.compile(r"\{(\d+)\}")
_SPLIT = re.compile(r"(?<=[.!?;:,])( +)")
_WORD = re.compile(r"[^\W\d_]{3,}")
_DEEPEST, _LONGEST, _LONGEST_RUN = 6, 4000, 15


@dataclass(frozen=True)
class Pattern:
    """A text with gaps.

    Attributes
    ----------
    matcher : re.Pattern
        Matches the whole of a finished sentence.
    gaps : tuple of str
        Numbers of the gaps in order.
    weight : int
        Letters that are not gaps: the pattern that says most wins.
    words : frozenset of str
        Words that a sentence must hold to be worth a try.
    translation : str
        The text in the other language, with the same gaps.
    """

    matcher: re.Pattern
    gaps: tuple
    weight: int
    words: frozenset
    translation: str


class Sentences:
    """The sentences of one language.

    Parameters
    ----------
    pairs : iterable of (str, str)
        Texts with gaps, and their translations.
    """

    def __init__(self, pairs):
        self._exact, self._patterns = {}, []
        for text, translation in pairs:
            if GAP.search(text):
                self._patterns.append(_pattern(text, translation))
            else:
                self._exact[text.strip()] = translation.strip()
        self._patterns.sort(key=lambda one: -one.weight)
        self.said = functools.lru_cache(maxsize=20_000)(self._said)

    def __call__(self, text):
        """Return a finished text in this language, as far as it is known."""
        return self.said(text, 0) if len(text) <= _LONGEST else text

    def _said(self, text, depth):
        bare = text.strip()
        if not _WORD.search(bare) or depth > _DEEPEST:
            return text
        found = self._whole(bare, depth)
        if found is None:
            found = self._in_pieces(bare, depth)
        return text.replace(bare, found, 1)

    def _whole(self, text, depth):
        if text in self._exact:
            return self._exact[text]
        small = text[:1].lower() + text[1:]
        if small in self._exact:
            return _capital(self._exact[small])
        words = set(_WORD.findall(text))
        for pattern in self._patterns:
            if pattern.words <= words and (match := pattern.matcher.fullmatch(text)):
                inside = dict(zip(pattern.gaps, match.groups(), strict=True))
                return GAP.sub(lambda gap, inside=inside: self.said(inside[gap[1]], depth + 1), pattern.translation)
        return None

    def _in_pieces(self, text, depth):
        """Piece by piece, each time the longest run of clauses that is known."""
        pieces, said, here = _SPLIT.split(text), [], 0
        while here < len(pieces):
            for end in range(min(len(pieces), here + _LONGEST_RUN), here, -1):
                run = "".join(pieces[here:end])
                found = self._whole(run, depth) if len(pieces) > 1 else None
                found = self._bare(run, depth) if found is None else found
                if found is not None:
                    break
            said.append(pieces[here] if found is None else found)
            here = end
        return "".join(said)

    def _bare(self, text, depth):
        """The text without its last point or comma."""
        if text[-1:] not in ".,;:" or (found := self._whole(text[:-1], depth)) is None:
            return None
        return found + text[-1]


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


def _pattern(text, translation):
    text, translation = text.strip(), translation.strip()
    pieces = GAP.split(text)
    fixed, gaps = pieces[::2], pieces[1::2]
    body = "".join(re.escape(piece) + ("(.+?)" if number < len(gaps) else "") for number, piece in enumerate(fixed))
    words = frozenset(_WORD.findall(GAP.sub("0", text)))
    return Pattern(re.compile(body, re.DOTALL), tuple(gaps), sum(map(len, fixed)), words, translation)


def _capital(text):
    return text[:1].upper() + text[1:]
