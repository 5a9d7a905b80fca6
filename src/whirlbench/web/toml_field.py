"""A file of TOML in a form: chosen from the disk, or written in the field below it."""

from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.parts.files import from_text

_LONGEST = 200_000


def typed(form, field):
    """Text of the file that was chosen, or else of the text field."""
    chosen = form.get(f"{field}_file")
    if getattr(chosen, "filename", ""):
        raw = chosen.file.read(_LONGEST + 1)
        try:
            return raw.decode("utf-8-sig").replace("\r\n", "\n")
        except UnicodeDecodeError:
            got, needs = "bytes that are no text", "UTF-8 text"
            raise InputError(field, got, needs, try_="save the file as plain text") from None
    return str(form.get(f"{field}_text", "")).replace("\r\n", "\n")


def part_of(text, model, *, field):
    """Part that a text says."""
    if len(text) > _LONGEST:
        got, needs = f"{len(text)} letters", f"at most {_LONGEST}"
        raise InputError(field, got, needs, try_="leave out what is not needed")
    if not text.strip():
        raise InputError(field, "nothing", "a file or text", try_="choose the file again")
    return from_text(model, text, where=field)


def sentences(error):
    """What one of our errors says, line by line."""
    return [str(one) for one in getattr(error, "errors", (error,))] if isinstance(error, WhirlbenchError) else []
