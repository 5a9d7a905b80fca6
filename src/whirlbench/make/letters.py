"""The letters of printed pages: a face that travels inside the file, so that every machine shows the same words."""

import unicodedata
from functools import cache

_FACES = {False: ("Vera", "Vera.ttf"), True: ("VeraBd", "VeraBd.ttf")}  # they come with reportlab and may be embedded
SHARE = 0.92  # its small letters are tall: at this share of a size it looks as large as others, and runs as far
CAPITAL = 0.729 * SHARE  # height of a capital over the size asked for
_SIGNS = {"→": "->", "←": "<-", "′": "'", "″": '"'}


@cache
def face(bold=False):
    """Name by which reportlab knows the face.

    Parameters
    ----------
    bold : bool
        Heavy letters.

    Returns
    -------
    str
        Registered and ready to use.
    """
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    name, file = _FACES[bool(bold)]
    pdfmetrics.registerFont(TTFont(name, file))
    return name


def spelt(words):
    """Words with letters that the face lacks put another way.

    Parameters
    ----------
    words : str
        Any.

    Returns
    -------
    str
        Greek letters by their names, others without their accents, and ``?`` where neither helps.
    """
    return "".join(letter if letter == "\n" or ord(letter) in _known() else _otherwise(letter) for letter in words)


@cache
def _known():
    from reportlab.pdfbase import pdfmetrics

    return frozenset(pdfmetrics.getFont(face()).face.charToGlyph)


@cache
def _otherwise(letter):
    name = unicodedata.name(letter, "")
    if name.startswith("GREEK") and "LETTER" in name:
        return name.split("LETTER ")[1].split(" WITH")[0].split()[-1].replace("LAMDA", "LAMBDA").lower()
    plain = "".join(part for part in unicodedata.normalize("NFKD", letter) if ord(part) in _known())
    return _SIGNS.get(letter) or plain or "?"
