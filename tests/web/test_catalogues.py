"""The catalogues of translations against the source, and real reports in Spanish."""

import collections
import importlib.util
import json
import re
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from whirlbench.actions import check, predict
from whirlbench.parts.files import read_event, read_turbine
from whirlbench.web import said

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "src" / "whirlbench" / "examples"
GAPS = re.compile(r"\{\d+\}|%\(\w+\)[sd]|%%")
# words that no Spanish sentence holds; names of teams and events hold none of them
ENGLISH = re.compile(r"\b(the|of|with|and|is|are|your|than|this|that|at|it|which|been|not|but|needs|got|to|was|when)\b")


@pytest.fixture(scope="module")
def maker():
    spec = importlib.util.spec_from_file_location("make_catalogues", ROOT / "docs" / "make_catalogues.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _place(maker, name):
    return maker.LOCALE / "es" / "LC_MESSAGES" / f"{name}.po"


def _messages(maker, name):
    with _place(maker, name).open("rb") as file:
        return [one for one in read_po(file, locale="es") if one.id]


def _forms(text):
    return text if isinstance(text, list | tuple) else (text,)


@pytest.mark.parametrize(("name", "texts"), [("whirlbench", "page_texts"), ("sentences", "sentence_texts")])
def test_the_maker_changes_nothing(maker, name, texts):
    made = maker.text_of(maker.updated(name, getattr(maker, texts)(), "es"))
    assert made == _place(maker, name).read_text(), "run python docs/make_catalogues.py and translate what is new"


@pytest.mark.parametrize("name", ["whirlbench", "sentences"])
def test_every_text_has_a_translation_with_the_same_gaps(maker, name):
    for one in _messages(maker, name):
        assert not one.fuzzy, one.id
        assert len(_forms(one.string)) == len(_forms(one.id)), one.id
        for text, translation in zip(_forms(one.id), _forms(one.string), strict=True):
            assert translation, text
            assert collections.Counter(GAPS.findall(text)) == collections.Counter(GAPS.findall(translation)), text
            edges = [
                (each[: len(each) - len(each.lstrip())], each[len(each.rstrip()) :]) for each in (text, translation)
            ]
            assert edges[0] == edges[1], text


def test_the_words_of_gaps_stand_in_order_and_once(maker):
    words = maker.WORDS.read_text().splitlines()
    assert words == sorted(set(words), key=lambda text: (text.startswith("{"), text.lower(), text))


def test_no_page_text_breaks_when_it_is_filled(maker):
    for one in _messages(maker, "whirlbench"):
        for text in _forms(one.string):
            text % collections.defaultdict(int)


def _leaves(found):
    if isinstance(found, dict):
        found = list(found.values())
    if isinstance(found, list):
        return [text for one in found for text in _leaves(one)]
    return [found] if isinstance(found, str) else []


@pytest.mark.parametrize("name", ["starter", "geared", "advanced"])
def test_a_real_report_leaves_no_sentence_in_english(name):
    turbine, event = read_turbine(EXAMPLES / f"{name}.toml"), read_event(EXAMPLES / "event.toml")
    reports = predict.predict(turbine), check.check(turbine, event)
    texts = {text for report in reports for text in _leaves(json.loads(report.model_dump_json(by_alias=True)))}
    sentences = {text for text in texts if " " in text}
    left = [text for text in sentences if ENGLISH.search(said.say("es", text))]
    assert len(sentences) > 40
    assert left == []
