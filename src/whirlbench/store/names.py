"""Text that people type, checked before it reaches a database."""

import unicodedata

from whirlbench.errors import InputError

_LONGEST_NAME, _LONGEST_TEXT = 80, 10_000


def checked_name(what, text):
    """Name without spaces around it.

    Parameters
    ----------
    what : str
        What is named, for the error.
    text : str
        As typed.

    Returns
    -------
    str
        One line, 1 to 80 characters.

    Raises
    ------
    InputError
        Nothing, too much, or characters that cannot be shown.
    """
    name = " ".join(checked_text(what, text).split())
    if not 0 < len(name) <= _LONGEST_NAME:
        got = f"{len(name)} letters" if name else "nothing"
        raise InputError(what, got, f"1 to {_LONGEST_NAME} letters", try_="write a short name")
    if not name.isprintable():
        raise InputError(what, ascii(name), "letters that can be shown", try_="type it again by hand")
    return name


def checked_text(what, text):
    """Text that both databases can hold.

    Parameters
    ----------
    what : str
        What the text is, for the error.
    text : str
        As typed.

    Returns
    -------
    str
        The same text.

    Raises
    ------
    InputError
        More than 10,000 characters, or halves of characters.
    """
    if len(text) > _LONGEST_TEXT:
        raise InputError(what, f"{len(text)} letters", f"at most {_LONGEST_TEXT}", try_="shorten it")
    if "\0" in text or not _is_whole(text):
        raise InputError(what, ascii(text[:30]), "plain text", try_="type it again by hand")
    return text


def _is_whole(text):
    try:
        text.encode()
    except UnicodeEncodeError:  # halves of characters
        return False
    return True


def key(name):
    """Form of a name under which it is found again.

    Parameters
    ----------
    name : str
        A checked name.

    Returns
    -------
    str
        The same for names that differ by capitals, or by how an accent was typed.
    """
    return unicodedata.normalize("NFKC", name).casefold()
