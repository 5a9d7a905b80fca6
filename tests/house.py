"""The house as the contract tests see it: its files, as text and as syntax trees."""

import ast
import functools
import io
import subprocess
import tokenize

from make_where import ROOT

_SPACE = {tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT, tokenize.ENDMARKER}
_NOT_OURS = {".git", ".venv", "build", "dist", "__pycache__", ".pytest_cache", ".hypothesis", ".ruff_cache"}
FUNCTION = ast.FunctionDef | ast.AsyncFunctionDef


def place(path):
    """Path below the root with forward slashes.

    Parameters
    ----------
    path : Path
        A file of the house.

    Returns
    -------
    str
        The path.
    """
    return path.relative_to(ROOT).as_posix()


def python_files(*folders):
    """Python files below some folders of the root, in order.

    Parameters
    ----------
    *folders : str
        Paths below the root, for example ``src``.

    Returns
    -------
    list of Path
        The files.
    """
    return sorted(path for folder in folders for path in (ROOT / folder).rglob("*.py"))


@functools.cache
def text(path):
    """Text of a file.

    Parameters
    ----------
    path : Path
        The file, UTF-8.

    Returns
    -------
    str
        Its text.
    """
    return path.read_text(encoding="utf-8")


def is_private(path):
    """Tell whether a file is the inside of its drawer.

    Parameters
    ----------
    path : Path
        A Python file.

    Returns
    -------
    bool
        True when its name opens with one underscore.
    """
    return path.stem.startswith("_") and not path.stem.startswith("__")


def docstring_lines(tree):
    """Line numbers that docstrings take.

    Parameters
    ----------
    tree : ast node
        A file, class or function.

    Returns
    -------
    set of int
        The lines, counted from 1.
    """
    lines = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | FUNCTION) and ast.get_docstring(node, clean=False) is not None:
            lines |= set(range(node.body[0].lineno, node.body[0].end_lineno + 1))
    return lines


def code_lines(source):
    """Line numbers that hold code: no blank line, no comment, no docstring.

    Parameters
    ----------
    source : str
        Text of a Python file.

    Returns
    -------
    set of int
        The lines, counted from 1.
    """
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    written = {line for token in tokens if token.type not in _SPACE for line in range(token.start[0], token.end[0] + 1)}
    return written - docstring_lines(ast.parse(source))


def tracked_files():
    """Files that belong to the house: what git tracks, or everything when this is no checkout.

    Returns
    -------
    list of Path
        The files, in order.
    """
    try:
        listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout.decode()
        paths = [ROOT / name for name in listed.split("\0") if name]
    except (OSError, subprocess.CalledProcessError):
        paths = [path for path in ROOT.rglob("*") if not any(_is_made(part) for part in path.relative_to(ROOT).parts)]
    return sorted(path for path in paths if path.is_file())


def _is_made(part):
    return part in _NOT_OURS or part.endswith(".egg-info")
