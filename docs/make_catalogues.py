"""Bring the catalogues of translations up to date: python docs/make_catalogues.py.

``whirlbench.po`` holds the texts of the pages (templates and ``words``), ``sentences.po`` those that the floors below
make, and after them those of ``said_words.txt``: what stands in tables, and single words that fill gaps. New texts come
in without a translation, texts that are gone go, translations stay.
"""

import ast
import io
import re
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "whirlbench"
LOCALE = SOURCE / "web" / "locale"
FLOORS = ("physics", "advise", "event", "predict", "actions", "measure", "parts", "charts", "make", "store", "web")
MAKERS = (*FLOORS, "errors.py", "units.py", "tables/__init__.py")
WORDS = Path(__file__).parent / "said_words.txt"
_PROSE = re.compile(r"[a-z]{2,}[,;:]? +[a-zA-Z{(']|[a-z]{3,}")
_LONE = re.compile(r"\b(?!mm\b|ohm\b|rpm\b)[a-z]{2,}\b")
_MARKUP = re.compile(
    r"^<|\\|<g |<text|=\"\S|^(SELECT|PRAGMA|BEGIN|CREATE|import) | IS NULL$|'(self|none)'|=\(\)|, (immutable|no-cache)$"
)
_CODE = re.compile(r"[<\\\[]|=|\w\(|/|_|\.[a-z]")
_METHODS = [("**/templates/**.html", "jinja2"), ("**/web/**.py", "python")]


def page_texts():
    """Texts of the pages, in order."""
    options = {"**/templates/**.html": {"trimmed": "true", "newstyle_gettext": "true"}}
    keywords = {"_": None, "gettext": None, "ngettext": (1, 2), "say": None}
    found = extract_from_dir(SOURCE / "web", _METHODS, options, keywords=keywords)
    return list(dict.fromkeys(message for _, _, message, *_ in found))


def sentence_texts():
    """Texts with gaps that the floors below make, in order."""
    files, pages = [path for maker in MAKERS for path in _files(SOURCE / maker)], set(page_texts())
    made = {path: _texts(ast.parse(path.read_text())) for path in files}
    texts = [text for path in files for text in made[path] if not (SOURCE / "web" in path.parents and text in pages)]
    return list(dict.fromkeys((*texts, *WORDS.read_text().splitlines())))


def _files(place):
    return [place] if place.is_file() else sorted(place.rglob("*.py"))


def _texts(tree):
    """Texts of a file that a person may read: no docstrings, no names, no keys."""
    nodes = list(ast.walk(tree))
    skipped = _docstrings(nodes) | _inside(nodes)
    for node in nodes:
        if id(node) in skipped or not isinstance(node, ast.Constant | ast.JoinedStr):
            continue
        text = _text(node)
        if text and _is_prose(text):
            yield text


def _docstrings(nodes):
    owners = (
        node for node in nodes if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
    )
    first = (node.body[0] for node in owners if node.body)
    return {id(one.value) for one in first if isinstance(one, ast.Expr)}


def _inside(nodes):
    """Pieces of texts with gaps, keys of look-ups, and arguments that name things."""
    joined = (node for node in nodes if isinstance(node, ast.JoinedStr))
    return {id(one) for node in joined for one in ast.walk(node) if isinstance(one, ast.Constant)}


def _text(node):
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else None
    pieces, gaps = [], 0
    for one in node.values:
        if isinstance(one, ast.Constant):
            pieces.append(one.value)
        else:
            pieces.append(f"{{{gaps}}}")
            gaps += 1
    return "".join(pieces)


def _is_prose(text):
    bare = re.sub(r"\{\d+\}", "", text).strip()
    if " " in bare:
        return bool(_PROSE.search(bare)) and not _MARKUP.search(bare)
    return "{" in text and bool(_LONE.search(bare)) and not _CODE.search(text)


def updated(name, texts, language):
    """Catalogue of a language with these texts, and the translations that it had."""
    place = LOCALE / language / "LC_MESSAGES" / f"{name}.po"
    old = read_po(io.BytesIO(place.read_bytes()), locale=language) if place.is_file() else Catalog(locale=language)
    new = Catalog(locale=language, project="Whirlbench", charset="utf-8", fuzzy=False)
    new.header_comment = f"# {name}: made by docs/make_catalogues.py; translations are written here by hand."
    for text in texts:
        known = old.get(text[0] if isinstance(text, tuple) else text)
        new.add(text, known.string if known else "")
    return new


def text_of(catalogue):
    """A catalogue as its file holds it; no dates, so that equal content is equal bytes."""
    file = io.BytesIO()
    write_po(file, catalogue, width=0, omit_header=False, sort_output=False)
    lines = [line for line in file.getvalue().decode().splitlines() if not re.match(r'^"(POT|PO)-.*Date', line)]
    return "\n".join(line for line in lines if not line.startswith(('"Generated-By', '"Last-Tr'))) + "\n"


def main():
    """Bring every catalogue up to date, and tell what waits for a translation."""
    for language in ("es",):
        for name, texts in (("whirlbench", page_texts()), ("sentences", sentence_texts())):
            catalogue = updated(name, texts, language)
            (LOCALE / language / "LC_MESSAGES" / f"{name}.po").write_text(text_of(catalogue))
            missing = sum(not all(one.string or [""]) for one in catalogue if one.id)
            print(f"{language} {name}: {len(texts)} texts, {missing} without a translation")


if __name__ == "__main__":
    main()
