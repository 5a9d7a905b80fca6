"""Which quantity stands under which header: a proposal that a person can change."""

import functools
import re
import unicodedata
from dataclasses import dataclass

from whirlbench import units
from whirlbench.errors import InputError, UnknownKey, nearest
from whirlbench.measure.columns import COLUMNS, NUMBERS
from whirlbench.tables import load

GIVEN, SURE, LIKELY, GUESS, UNKNOWN = "given", "sure", "likely", "guess", "unknown"
_ORDER = (GIVEN, SURE, LIKELY, GUESS, UNKNOWN)
_LEFT_OUT = "bookkeeping"
_A_LETTER = 2  # a sign such as V beside other words says something only with its unit
_BRACKETS = re.compile(r"[\[\(]\s*([^\[\]\(\)]*?)\s*[\]\)]")
_UNIT_TAIL = re.compile(r"^(.*?)(?:\s+in\s+|[\s_,:;/]+)(\S+(?:\s+\S+)?)$")
_SIGNS = str.maketrans("\u2126\u03bc", "\u03a9\u00b5")  # two signs that look alike, for ohm and for micro
_NATURAL = {"V": "voltage", "A": "current", "ohm": "load_resistance", "rad/s": "rotor_speed", "m/s": "wind_speed",
            "K": "air_temperature", "Pa": "air_pressure"}  # fmt: skip


@dataclass(frozen=True)
class Match:
    """One header and what is taken to stand under it.

    Attributes
    ----------
    header : str
        As written in the file.
    column : str or None
        A column of a readings file; None where nothing is known, and then the cells go to the note.
    unit : str
        Unit of the cells, ``""`` where none was found.
    trust : str
        given, sure, likely, guess or unknown.
    why : str
        What it was told by, or what is missing.
    """

    header: str
    column: str | None
    unit: str = ""
    trust: str = UNKNOWN
    why: str = ""

    @property
    def left_out(self):
        """Whether the cells go nowhere, not even to the note."""
        return self.column is None and self.trust in (GIVEN, SURE)


def propose(header, unit_row=()):
    """Best match for every header, each column at most once.

    Parameters
    ----------
    header : sequence of str
        Cells of the header line.
    unit_row : sequence of str
        Cells of a line of units below the header, if there is one.

    Returns
    -------
    tuple of Match
        In the order of the header.
    """
    alone = [_match(cell, unit_row[i] if i < len(unit_row) else "") for i, cell in enumerate(header)]
    first = {}
    for i in sorted(range(len(alone)), key=lambda i: (_ORDER.index(alone[i].trust), i)):
        first.setdefault(alone[i].column, i)
    return tuple(
        one if one.column is None or first[one.column] == i else _second(one, header[first[one.column]])
        for i, one in enumerate(alone)
    )


def _second(match, other):
    return Match(match.header, None, why=f"'{other}' is taken for {match.column}")


def correct(matches, wishes):
    """Matches after a person's own word on some of them.

    Parameters
    ----------
    matches : sequence of Match
        As proposed.
    wishes : sequence of str
        Such as ``V out=voltage [mV]``; ``#3=voltage [mV]`` counts columns from 1; ``V out=`` leaves it out.

    Returns
    -------
    tuple of Match
        In the same order.

    Raises
    ------
    InputError
        A header that is not there, an unknown column, a unit that does not fit.
    """
    found = list(matches)
    for wish in wishes:
        header, mark, wanted = wish.rpartition("=")
        if not mark:
            needs = "a header, =, and a column"
            raise InputError("map", f"'{wish}'", needs, try_="write it like 'V out=voltage [mV]'")
        place = _place(found, header.strip())
        own = _wished(found[place].header, wanted.strip())
        found = [_second(one, own.header) if own.column and one.column == own.column else one for one in found]
        found[place] = own
    return tuple(found)


def _place(matches, header):
    """Which column a wish speaks of."""
    if re.fullmatch(r"#\d{1,4}", header) and 1 <= int(header[1:]) <= len(matches):
        return int(header[1:]) - 1
    for same in (str.strip, _plain):
        for place, match in enumerate(matches):
            if same(match.header) == same(header):
                return place
    known = [match.header.strip() for match in matches if match.header.strip()] or ["#1"]
    raise UnknownKey("map", f"the header '{header}'", "a header of this file", try_=nearest(header, known))


def _wished(header, wanted):
    if wanted in ("", "-"):
        return Match(header, None, trust=GIVEN, why="left out by you")
    unit = next(iter(_BRACKETS.findall(wanted)), "")
    column = _BRACKETS.sub("", wanted).strip().lower().replace(" ", "_")
    if column not in COLUMNS:
        raise UnknownKey("map", f"the column '{column}'", "a column of a readings file", try_=nearest(column, COLUMNS))
    own, by_header = unit_of(column, unit), _match(header, "")
    if unit and own is None:
        needs = f"a unit that fits {COLUMNS[column] or 'a share'}"
        raise InputError("map", f"the unit '{unit}' for {column}", needs, try_=f"write '{header}={column} [unit]'")
    if not unit:
        own = by_header.unit and unit_of(column, by_header.unit)
    return _told(Match(header, column, own or "", GIVEN, "told by you"))


def unit_of(column, text):
    """Unit that a text means in a column, as ``units.read`` knows it.

    Parameters
    ----------
    column : str
        A column of numbers.
    text : str
        As a person wrote it.

    Returns
    -------
    str or None
        None where it is no unit of this quantity.
    """
    text = text.strip().translate(_SIGNS)
    return _unit(COLUMNS[column], text) if column in NUMBERS and text else None


@functools.lru_cache(maxsize=1024)
def _unit(wanted, text):
    words = _unit_words().get(wanted, {})
    close = text.replace(" / ", "/").rstrip(".")
    for spelling in (text, close, close.lower()):
        if spelling in words:
            return words[spelling]
    try:
        units.read("unit", f"1 {text}", wanted)
    except InputError:
        return None
    return text


@functools.cache
def _unit_words():
    words = {}
    for row in load("readings/unit_words").rows:
        words.setdefault("" if row.column_unit == "none" else row.column_unit, {})[row.word] = row.unit
    return words


@functools.cache
def _header_words():
    return {row.word: (row.column, row.trust) for row in load("readings/header_words").rows}


def is_unit(text):
    """Whether a cell holds nothing but a unit.

    Parameters
    ----------
    text : str
        A cell, with or without brackets.

    Returns
    -------
    bool
        True for ``(m/s)`` or ``mV``.
    """
    return bool(_listed(text.strip(" []()")))


def _listed(text):
    """SI units of the quantities that list this word as a unit."""
    return [si for si, words in _unit_words().items() if text and (text in words or text.lower() in words)]


def _plain(text):
    """Small letters, no accents, single blanks."""
    bare = unicodedata.normalize("NFKD", text)
    bare = "".join(letter for letter in bare if not unicodedata.combining(letter)).lower()
    return " ".join(re.findall(r"[^\W_]+", bare))


def _match(header, below):
    words, unit = _parted(header)
    words, unit = " ".join(words.split()), (below.strip(" []()") or unit).translate(_SIGNS)
    # the whole header too, for 'generator rpm' is told by its unit
    ranked = sorted({*_candidates(_plain(words)), *_candidates(_plain(header))}, key=lambda one: (-one[0], one[1:]))
    for size, column, trust in ranked:
        if column == _LEFT_OUT:
            return Match(header, None, trust=SURE, why="bookkeeping of a logger, left out")
        fitting = unit_of(column, unit) or _among(column, header, unit)
        if fitting or not (unit or size < _A_LETTER):
            return _told(Match(header, column, fitting or "", _agreed(trust, fitting, unit), f"the word '{words}'"))
    if all(trust == GUESS for *_, trust in ranked):
        for si in _listed(unit):
            if si in _NATURAL and (len(_listed(unit)) == 1 or unit == _unit(si, unit)):
                return Match(header, _NATURAL[si], _unit(si, unit), GUESS, f"the unit '{unit}' alone")
    if ranked and unit:
        return Match(header, None, why=f"the unit '{unit}' does not fit {ranked[0][1]}")
    return Match(header, None, why="no word or unit that is known")


def _among(column, header, unit):
    """Unit that stands among the words of a header that shows no other, as in ``rpm generador``."""
    words = _unit_words().get(COLUMNS[column], {}) if column in NUMBERS and not unit else {}
    return next((words[word] for word in header.split() if len(word) > 1 and word in words), None)


def _agreed(trust, fitting, unit):
    """A fitting unit makes a guess likely; a unit in strange capitals makes a sure thing likely."""
    if not fitting:
        return trust
    if trust == GUESS or (trust == SURE and unit != fitting and unit.lower() == fitting.lower()):
        return LIKELY
    return trust


def _told(match):
    """The match, with a word on a unit that is missing."""
    if match.column in NUMBERS and not match.unit and COLUMNS[match.column]:
        return Match(match.header, match.column, "", match.trust, f"{match.why}; no unit, so each cell needs its own")
    return match


def _parted(header):
    """Words and unit of a header such as ``Voltaje (mV)``, ``voltage_mV``, ``U/V``, ``wind in m/s`` or ``rpm``."""
    text = header.strip().translate(_SIGNS)
    brackets = [piece for piece in _BRACKETS.findall(text) if piece]
    if brackets:
        known = [piece for piece in brackets if _listed(piece)]
        unit = (known or brackets)[-1]
        is_word = not known and _plain(unit) and len(brackets) == 1 and _any_unit(unit) is None
        return (text, "") if is_word else (_BRACKETS.sub(" ", text), unit)
    if _listed(text):
        return text, text
    tail = _UNIT_TAIL.match(text)
    while tail:
        if _listed(tail[2]):
            return tail[1], tail[2]
        shorter = tail[2].split()[-1]
        if shorter == tail[2]:
            break
        tail = re.match(rf"^(.*?)[\s_,:;/]+({re.escape(shorter)})$", text)
    last = re.match(r"^(.*)[\s_,:;/]+(\S+?)$", text)
    return (last[1], last[2]) if last and _listed(last[2]) else (text, "")


def _any_unit(text):
    return next((si for si in {COLUMNS[name] for name in NUMBERS} if _unit(si, text)), None)


def _candidates(words):
    """Columns whose words stand in the header: how much of it they explain, column and trust."""
    known = _header_words()
    if words in known:
        yield 100 + len(words), *known[words]
    asked = set(words.split())
    for word, (column, trust) in known.items():
        if column not in (_LEFT_OUT, "taken_at") and words != word and set(word.split()) <= asked:
            size = 10 * len(word.split()) + min(len(word), 9) if len(word) > 1 else _A_LETTER - 1
            yield size, column, GUESS if trust == GUESS else LIKELY
