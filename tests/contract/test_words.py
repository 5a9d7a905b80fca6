"""No file of the house speaks of the machine it was written on, or of how it was written.

Each pattern carries a [x] so that it does not find itself here.
"""

import re

import pytest
from house import place, tracked_files

FORBIDDEN = {
    "a package registry": r"py[p]i\.org|pythonhoste[d]\.org|npmj[s]\.(org|com)|debia[n]\.org|proxy\.golan[g]\.org",
    "an index setting": r"--(extra-)?inde[x]-url|--find-link[s]|fil[e]:///",
    "a path of one machine": r"(?<![\w.])/(wor[k]|tm[p]|roo[t]|op[t]|User[s])/\w|/hom[e]/\w+/|\b[A-Z]:\\User[s]\\",
    "a writing machine": r"\b(Claud[e]|ChatGP[T]|GP[T]-\d|OpenA[I]|Anthropi[c]|LL[M]s?|languag[e] models?)\b",
    "how it was written": (
        r"\b(see[d] document|syste[m] prompt|su[b]-?agents?|(A[I]|codin[g]) (agents?|assistants?|sessions?)"
        r"|(thi[s]|previou[s]|earlie[r]|nex[t]|las[t]) session of (work|the project)|Co-Authore[d]-By)\b"
    ),
}


def findings(source):
    """What a text says that it should not: line number, kind and the words."""
    return [
        (number, kind, match[0])
        for number, line in enumerate(source.splitlines(), 1)
        for kind, pattern in FORBIDDEN.items()
        for match in re.finditer(pattern, line, re.IGNORECASE if kind == "how it was written" else 0)
    ]


def readable(path):
    """Text of a file, empty when it is a picture or the like."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return ""


def test_files_speak_of_turbines_only():
    found = [(place(path), *each) for path in tracked_files() for each in findings(readable(path))]
    assert not found, "\n".join(f"{path}:{line}: {kind}: '{words}'" for path, line, kind, words in found)


@pytest.mark.parametrize(
    "line",
    [
        "pip install --index" + "-url x",
        "see /wor" + "k/shared/notes",
        "open('/tm" + "p/x.csv')",
        "as the see" + "d document says",
        "made by an A" + "I agent",
        "fetched from py" + "pi.org",
    ],
)
def test_the_check_can_fail(line):
    assert findings(line)


@pytest.mark.parametrize(
    "line",
    [
        "a database session, a user agent, a prompt answer",
        "volts/tmp_path/work/done per half-hour session of testing",
        "the document seeded with rows",
        "src/whirlbench/work.py and ../tmp/x",
        "a helper holds the tower",
    ],
)
def test_the_check_gives_no_false_alarm(line):
    assert not findings(line)
