"""Write docs/files.md: every key of turbine, parts-bin and event files, from the parts themselves.

python docs/make_files.py
"""

import inspect
import types
import typing
from pathlib import Path

from pydantic_core import PydanticUndefined

from whirlbench.measure.columns import COLUMNS
from whirlbench.parts.bin import PartsBin
from whirlbench.parts.event import Event
from whirlbench.parts.part import Part, Quantity
from whirlbench.parts.turbine import Turbine

PAGE = Path(__file__).parent / "files.md"
_HEAD = """# Files

Plain TOML, `format = 1` at the top, numbers with units as text: `"25 mm"`, `"1-1/4 in"`, `"300 rpm"`,
`"9.3 ohm +- 5 %"`. An unknown key is refused with the nearest known one. A doubt after `+-` is one standard deviation.
`whirlbench examples FOLDER` writes a complete set to start from. This page is made by `docs/make_files.py`.
"""


def parts_of(annotation):
    """Part classes inside an annotation, in order."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return [annotation]
    return [part for inner in typing.get_args(annotation) for part in parts_of(inner)]


def reachable(root):
    """A class of part and all that it holds, each once."""
    found, queue = [], [root]
    while queue:
        part = queue.pop(0)
        if part not in found:
            found.append(part)
            queue.extend(inner for field in part.model_fields.values() for inner in parts_of(field.annotation))
    return found


def mark_of(field):
    """The unit mark of a field, wherever its annotation holds it."""
    marks = [mark for mark in field.metadata if isinstance(mark, Quantity)]

    def inner(annotation):
        for argument in typing.get_args(annotation):
            if isinstance(argument, Quantity):
                marks.append(argument)
            inner(argument)

    inner(field.annotation)
    return marks[0] if marks else None


def takes(field):
    """What a field takes, in words."""
    inside, mark = parts_of(field.annotation), mark_of(field)
    if inside:
        return " or ".join(f"[{part.__name__}](#{part.__name__.lower()})" for part in inside)
    if mark:
        return f'`"{mark.example}"`' if mark.unit else f"`{mark.example}`"
    choices = [f"`{choice!r}`".replace("'", '"') for choice in literals(field.annotation)]
    return " or ".join(choices) or plain(field.annotation)


def literals(annotation):
    """Values that a field may have, where they are listed."""
    if typing.get_origin(annotation) is typing.Literal:
        return list(typing.get_args(annotation))
    return [value for inner in typing.get_args(annotation) for value in literals(inner)]


def plain(annotation):
    """A plain kind in words."""
    if isinstance(annotation, types.UnionType):
        annotation = typing.get_args(annotation)[0]
    kinds = {str: "text", int: "whole number", bool: "true or false", float: "number"}
    inner = [kinds[each] for each in typing.get_args(annotation) if each in kinds]
    return kinds.get(annotation) or (f"list: {inner[0]}" if inner else "number")


def meanings(part):
    """What each field means, from the docstring's Attributes."""
    lines = inspect.getdoc(part).splitlines()
    found, names = {}, []
    for line in lines[lines.index("Attributes") + 2 :]:
        if line.startswith("    "):
            for name in names:
                found[name] = f"{found.get(name, '')} {line.strip()}".strip()
        elif line:
            names = [name.strip() for name in line.split(" : ")[0].split(",")]
    return found


def table(part):
    """One section of the page."""
    known = meanings(part)
    first = part.__doc__.strip().splitlines()[0]
    lines = [f"### {part.__name__}", "", first, "", "| key | takes | if left out | what it is |", "|---|---|---|---|"]
    for name, field in part.model_fields.items():
        if name == "format":
            continue
        lines.append(f"| `{name}` | {takes(field)} | {absent(field)} | {known.get(name, '')} |")
    return "\n".join(lines)


def absent(field):
    """What holds when a key is left out."""
    default = field.default
    if default is PydanticUndefined:
        return "needed"
    if default is None or default == ():
        return "none"
    if isinstance(default, Part):
        return "as below"
    mark = mark_of(field)
    if isinstance(default, bool):
        return str(default).lower()
    return f"{default:g} {mark.unit}".strip() if mark else str(default)


def page():
    """The whole page."""
    sections = [_HEAD]
    seen = set()
    for title, root in (("Turbine", Turbine), ("Parts bin", PartsBin), ("Event", Event)):
        sections.append(f"## {title} file")
        sections += [table(part) for part in reachable(root) if part not in seen]
        seen |= set(reachable(root))
    columns = ", ".join(f"`{name}`" + (f" [{unit}]" if unit else "") for name, unit in COLUMNS.items())
    sections.append(
        "## Readings\n\nCSV with the unit in each header, such as `voltage [mV]` or `rotor_speed [rpm]`; an empty cell "
        "was not read, and `open` for the load's ohms means nothing connected. "
        f"Columns, with the unit inside: {columns}."
    )
    return "\n\n".join(sections) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
