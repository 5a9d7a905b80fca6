"""Fractions of a full two-level plan: which settings to run, and which effects then look alike."""

import itertools
import re

from whirlbench import tables
from whirlbench.errors import InputError, within

LETTERS = "ABCDEFGH"
_FORM = re.compile(r"\s*([A-H])\s*=\s*(-?)\s*([A-H]{2,})\s*$")


def generators(factor_count, share):
    """Generators of the usual fraction of a two-level plan.

    Parameters
    ----------
    factor_count : int
        3 to 7.
    share : int
        2 for half of the runs, 4 for a quarter, 8, 16.

    Returns
    -------
    tuple of str
        Such as ``("E=ABCD",)``; letters count the factors.

    Raises
    ------
    InputError
        No such fraction in the table.
    """
    start = f"{factor_count} factors, 1/"
    known = {
        row.key.removeprefix(start): row for row in tables.load("plans/generators").rows if row.key.startswith(start)
    }
    if str(share) not in known:
        needs = "one of " + ", ".join(f"1/{one}" for one in known) if known else "3 to 7 factors"
        try_ = "run the whole plan, or write your own generators"
        raise InputError("fraction", f"1/{share} of {factor_count} factors", needs, try_=try_)
    return tuple(known[str(share)].generators.split())


def signs(factor_count, words):
    """Settings of a fraction, -1 for the first level and +1 for the second.

    Parameters
    ----------
    factor_count : int
        2 to 8.
    words : sequence of str
        Generators such as ``D=ABC`` or ``D=-ABC``; the factors on the left come last.

    Returns
    -------
    list of tuple of int
        One a run; the first factor changes fastest.

    Raises
    ------
    InputError
        A generator that does not fit.
    """
    within("factors", factor_count, low=2, high=len(LETTERS), unit="", try_="keep the ones you most want to know")
    built = _built(factor_count, words)
    base = factor_count - len(built)
    runs = []
    for reverse in itertools.product((-1, 1), repeat=base):
        run = list(reversed(reverse))
        for sign, places in built:
            value = sign
            for place in places:
                value *= run[place]
            run.append(value)
        runs.append(tuple(run))
    return runs


def alike(names, words):
    """Effects that a fraction cannot tell apart, for single factors and pairs.

    Parameters
    ----------
    names : sequence of str
        The factors in order.
    words : sequence of str
        Generators.

    Returns
    -------
    list of tuple of str
        Groups of effects that look alike, each effect as factor names joined by `` x ``; groups of one are left out.

    Raises
    ------
    InputError
        A generator that does not fit.
    """
    relation = _relation(len(names), words)
    short = [1 << i for i in range(len(names))]
    short += [1 << i | 1 << j for i, j in itertools.combinations(range(len(names)), 2)]
    groups = {}
    for effect in short:
        groups.setdefault(min(effect ^ word for word in relation), []).append(effect)
    return [tuple(_joined(effect, names) for effect in group) for group in groups.values() if len(group) > 1]


def resolution(factor_count, words):
    """Resolution of a fraction: 3 mixes factors with pairs, 4 pairs with pairs, 5 neither.

    Parameters
    ----------
    factor_count : int
        2 to 8.
    words : sequence of str
        Generators.

    Returns
    -------
    int
        Factors in the shortest product that never changes; 0 for a full plan.

    Raises
    ------
    InputError
        A generator that does not fit.
    """
    return min((word.bit_count() for word in _relation(factor_count, words) if word), default=0)


def in_words(groups):
    """Groups of effects that look alike, as sentences.

    Parameters
    ----------
    groups : sequence of tuple of str
        As ``alike`` gives them.

    Returns
    -------
    tuple of str
        One sentence a group.
    """
    return tuple(_sentence(group) for group in groups)


def _sentence(group):
    told = [effect.replace(" x ", " and ") for effect in group]
    alone = [effect for effect in told if " and " not in effect]
    together = [f"{effect} acting together" for effect in told if " and " in effect]
    first, *rest = [*(f"{effect} alone" for effect in alone), *together]
    return f"The effect of {first} cannot be told from that of {' or of '.join(rest)}."


def _built(factor_count, words):
    """Sign and factor places of every generated factor, in order of the factors."""
    base = factor_count - len(words)
    built = {}
    for word in words:
        match = _FORM.match(word.upper())
        places = [LETTERS.index(letter) for letter in match[3]] if match else []
        if not match or not all(place < base for place in places) or len(set(places)) < len(places):
            needs = f"one of the last factors as a product of {LETTERS[:base]}, such as {LETTERS[base]}={LETTERS[:2]}"
            raise InputError(
                "generator", f"'{word}'", needs, try_="name the factors A, B, C in the order you gave them"
            )
        built[match[1]] = (-1 if match[2] else 1, places)
    wanted = LETTERS[base:factor_count]
    if sorted(built) != list(wanted):
        got, needs = ", ".join(built) or "none", f"one generator each for {', '.join(wanted)}"
        raise InputError("generators", got, needs, try_="put the factors that you generate last")
    return [built[letter] for letter in wanted]


def _relation(factor_count, words):
    """Products of factors that never change, as bits; the empty product is one of them."""
    base = factor_count - len(words)
    group = {0}
    for number, (_, places) in enumerate(_built(factor_count, words)):
        word = sum(1 << place for place in places) | 1 << base + number
        group |= {word ^ other for other in group}
    return group


def _joined(effect, names):
    return " x ".join(name for number, name in enumerate(names) if effect >> number & 1)
