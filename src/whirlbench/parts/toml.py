"""TOML text from data, and a few keys of a text changed while all else in it stays as it stands."""

import re
import tomllib

_BARE = re.compile(r"^[A-Za-z0-9_-]+$")
_TABLE = re.compile(r"^\s*\[\s*([^\[\]]+?)\s*\]\s*(#.*)?$")
_ANY_TABLE = re.compile(r"^\s*\[")
_KEY = re.compile(r"^\s*([A-Za-z0-9_-]+|\"[^\"]*\")\s*=")
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r"}
_WIDE = 100


def toml_text(data):
    """TOML text that reads back as the same data.

    Parameters
    ----------
    data : dict
        As ``tomllib`` gives it, without dates.

    Returns
    -------
    str
        Plain values first, then tables in their order.
    """
    return "\n".join(_table_lines(data, ())).strip() + "\n"


def with_changes(text, changes, *, remark=""):
    """Text with some keys changed; comments, order and all other lines stay.

    Parameters
    ----------
    text : str
        TOML.
    changes : dict of tuple of str to object
        Path of each key and its new value; None takes the key out.
    remark : str
        Comment behind each changed line.

    Returns
    -------
    str
        Where a text is laid out so that its lines cannot be changed one by one, it is written anew from its data.
    """
    wanted = _changed(tomllib.loads(text), changes)
    lines = text.splitlines()
    for path, value in changes.items():
        lines = _line_changed(lines, path, value, remark)
    edited = "\n".join(lines) + "\n"
    try:
        faithful = tomllib.loads(edited) == wanted
    except tomllib.TOMLDecodeError:
        faithful = False
    return edited if faithful else toml_text(wanted)


def _changed(data, changes):
    """Data with these keys changed; tables that are not there yet are made."""
    data = {key: value.copy() if isinstance(value, dict) else value for key, value in data.items()}
    for (first, *rest), value in changes.items():
        if rest:
            data[first] = _changed(data.get(first, {}), {tuple(rest): value})
        elif value is None:
            data.pop(first, None)
        else:
            data[first] = value
    return data


def _line_changed(lines, path, value, remark):
    *table, key = path
    start, end = _place_of(lines, table)
    if start is None:
        return lines if value is None else [*lines, "", f"[{'.'.join(map(_key, table))}]", _entry(key, value, remark)]
    for at in range(start, end):
        head = _KEY.match(lines[at])
        if head and head[1].strip('"') == key:
            last = _end_of_value(lines, at, end)
            new = [] if value is None else [_entry(key, value, remark)]
            return [*lines[:at], *new, *lines[last:]]
    if value is None:
        return lines
    while end > start and not lines[end - 1].strip():
        end -= 1
    while end > start and lines[end - 1].lstrip().startswith("#") and end < len(lines):
        end -= 1  # a remark above the next table belongs to that
    return [*lines[:end], _entry(key, value, remark), *lines[end:]]


def _place_of(lines, table):
    """First line after a table's own and the first that is no longer in it; None where there is no such line."""
    start = 0 if not table else None
    for at, line in enumerate(lines):
        head = _TABLE.match(line)
        if head and [piece.strip().strip('"') for piece in head[1].split(".")] == list(table):
            start = at + 1
        elif _ANY_TABLE.match(line) and start is not None:
            return start, at
    return start, len(lines)


def _end_of_value(lines, at, end):
    """First line after a value that may run over several."""
    for last in range(at + 1, end + 1):
        try:
            tomllib.loads("\n".join(lines[at:last]))
        except tomllib.TOMLDecodeError:
            continue
        return last
    return at + 1


def _entry(key, value, remark):
    return f"{_key(key)} = {_value(value)}" + (f"  # {remark}" if remark else "")


def _table_lines(data, path):
    plain = {key: value for key, value in data.items() if not _is_table(value)}
    if path and (plain or len(plain) == len(data)):
        yield from ("", f"[{'.'.join(map(_key, path))}]")
    for key, value in plain.items():
        yield f"{_key(key)} = {_value(value)}"
    for key, value in data.items():
        if isinstance(value, dict):
            yield from _table_lines(value, (*path, key))
        elif _is_table(value):
            for each in value:
                yield from ("", f"[[{'.'.join(map(_key, (*path, key)))}]]")
                yield from (f"{_key(name)} = {_value(inner)}" for name, inner in each.items())


def _is_table(value):
    """Whether a value gets a head of its own; a list of tables too, where they are long."""
    listed = isinstance(value, list) and bool(value) and all(isinstance(each, dict) for each in value)
    return isinstance(value, dict) or (listed and any(len(each) > 3 for each in value))


def _key(key):
    return key if _BARE.match(key) else _value(key)


def _value(value):
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, str):
        return '"' + "".join(_letter(letter) for letter in value) + '"'
    if isinstance(value, dict):
        inside = ", ".join(f"{_key(key)} = {_value(inner)}" for key, inner in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    pieces = [_value(each) for each in value]
    short = f"[{', '.join(pieces)}]"
    return short if len(short) <= _WIDE else "[\n" + "".join(f"  {piece},\n" for piece in pieces) + "]"


def _letter(letter):
    if letter in _ESCAPES:
        return _ESCAPES[letter]
    return f"\\u{ord(letter):04X}" if ord(letter) < 32 or ord(letter) == 127 else letter
