"""Make docs/where.md, the answer to "where is that computed?", from the first lines of all public docstrings.

python docs/make_where.py rewrites the page. The sources are read, never imported, so it needs nothing but Python.
"""

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "whirlbench"
PAGE = ROOT / "docs" / "where.md"
DRAWERS = [
    *("cli", "web", "actions", "store", "advise", "event", "predict", "measure", "make"),
    *("parts", "physics", "tables", "charts"),
]
HEAD = """# Where is it?

Made by `python docs/make_where.py` from the first line of every public docstring: change a line there, not here.
"""


def public(tree):
    """Public functions, classes and methods of one file.

    Parameters
    ----------
    tree : ast.Module
        The parsed file.

    Returns
    -------
    list of (str, ast node)
        Dotted name inside the file, and the definition.
    """
    found = []
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            found.append((node.name, node))
            if isinstance(node, ast.ClassDef):
                found += [(f"{node.name}.{name}", method) for name, method in public(node)]
    return found


def first_line(node):
    """First line of a docstring.

    Parameters
    ----------
    node : ast node
        A module, class or function.

    Returns
    -------
    str
        The line, empty when there is none.
    """
    return (ast.get_docstring(node) or "").partition("\n")[0].strip()


def source_files():
    """Public source files, from the faces down to the foundation.

    Returns
    -------
    list of Path
        Every ``.py`` file whose name does not open with one underscore.
    """

    def floor(path):
        drawer = path.relative_to(SOURCE).parts[0]
        return DRAWERS.index(drawer) if drawer in DRAWERS else len(DRAWERS), path.relative_to(SOURCE).as_posix()

    return sorted((path for path in SOURCE.rglob("*.py") if path.stem == "__init__" or path.stem[0] != "_"), key=floor)


def page():
    """Text of the page.

    Returns
    -------
    str
        Markdown, one heading a file and one line a name.
    """
    parts = [HEAD]
    for path in source_files():
        tree = ast.parse(path.read_text(encoding="utf-8"))
        lines = [f"- `{name}`: {first_line(node)}" for name, node in public(tree)]
        if not lines:
            continue
        place = path.relative_to(ROOT).as_posix()
        parts += [
            f"\n## [{path.relative_to(SOURCE).as_posix()}](../{place})\n\n{first_line(tree)}\n\n",
            "\n".join(lines),
            "\n",
        ]
    return "".join(parts)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8", newline="\n")
