"""No file of the house names the machine it was made on, or where its packages were fetched from.

Each pattern carries a [x] so that it does not find itself here.
"""

import re

import pytest
from house import place, tracked_files
from make_where import ROOT

FORBIDDEN = {
    "an index setting": r"--(extra-)?inde[x]-url|--find-link[s]|fil[e]:///",
    "a path of one machine": r"(?<![\w.])/(wor[k]|tm[p]|roo[t]|op[t]|User[s])/\w|/hom[e]/\w+/|\b[A-Z]:\\User[s]\\",
}


def findings(source):
    """What a text says that it should not: line number, kind and the words."""
    return [
        (number, kind, match[0])
        for number, line in enumerate(source.splitlines(), 1)
        for kind, pattern in FORBIDDEN.items()
        for match in re.finditer(pattern, line)
    ]


def readable(path):
    """Text of a file, empty when it is a picture or the like."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return ""


def test_files_name_no_machine():
    found = [(place(path), *each) for path in tracked_files() for each in findings(readable(path))]
    assert not found, "\n".join(f"{path}:{line}: {kind}: '{words}'" for path, line, kind, words in found)


@pytest.mark.parametrize("lock", ["run", "all"])
def test_a_lock_holds_names_and_hashes_only(lock):
    text = (ROOT / "locks" / f"{lock}.txt").read_text(encoding="utf-8")
    assert "--hash=sha256:" in text
    assert "://" not in text


@pytest.mark.parametrize("line", ["pip install --index" + "-url x", "see /wor" + "k/notes", "open('/tm" + "p/x.csv')"])
def test_the_check_can_fail(line):
    assert findings(line)


@pytest.mark.parametrize("line", ["volts/tmp_path/done per half hour", "src/whirlbench/work.py and ../tmp/x"])
def test_the_check_gives_no_false_alarm(line):
    assert not findings(line)
