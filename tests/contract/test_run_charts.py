"""Charts of test runs: every run is there, the words are right, and tiny or missing numbers draw."""

import html
import json
import re

import pytest

from whirlbench.charts import effects, files, look
from whirlbench.errors import InputError


def runs(scale=0.08):
    return [{"setting": name, "outcome": scale * y} for name, y in (("A", 1.0), ("A", 1.02), ("B", 1.1), ("B", 1.13))]


def gain(verdict="better", low=0.004, high=0.012, scale=1.0):
    ends = {"low": low and low * scale, "high": high and high * scale}
    return {"name": "B over A", "gain": 0.008 * scale, **ends, "verdict": verdict}


MEANS = [
    {"factor": factor, "level": level, "mean": mean}
    for factor, level, mean in (
        ("pitch", "8 deg", 0.08),
        ("pitch", "12 deg", 0.09),
        ("load", "10 ohm", 0.086),
        ("load", "22 ohm", 0.084),
    )
]
JOINT = [
    {"first": "pitch", "first_level": one, "second": "load", "second_level": other, "mean": mean}
    for one, other, mean in (("8 deg", "10 ohm", 0.08), ("8 deg", "22 ohm", 0.08), ("12 deg", "10 ohm", 0.092))
]
CHARTS = {
    "comparison": effects.comparison(runs(), [gain()]),
    "comparison, no scatter": effects.comparison(runs()[:1], [gain("not enough runs", None, None)]),
    "comparison, tiny": effects.comparison(runs(1e-6), [gain("no difference", -0.004, scale=1e-6)]),
    "comparison, zero": effects.comparison(runs(0.0), [gain("no difference", -0.004)]),
    "comparison, speed": effects.comparison(runs(300), [gain(scale=300)], quantity="rotor speed", unit="rad/s"),
    "effects": effects.effect_plot(MEANS, JOINT),
    "effects, no pairs": effects.effect_plot(MEANS),
    "effects, flat": effects.effect_plot([{**row, "mean": 0.08} for row in MEANS]),
    "effects, zero": effects.effect_plot([{**row, "mean": 0.0} for row in MEANS]),
}
WORDS = {
    "comparison": [
        "electrical power [mW]",
        "gain [mW]",
        "B over A",
        "sure",
        "Better: B over A. Its 95 % interval lies above zero.",
    ],
    "comparison, tiny": ["electrical power [µW]", "could be luck"],
    "comparison, no scatter": ["No gain is sure: every 95 % interval holds zero, or lies below it."],
    "comparison, speed": ["rotor speed [rpm]"],
    "effects": ["pitch", "22 ohm", "load 22 ohm", "Steep lines matter, flat ones do not: pitch moves it most."],
}


def svg(chart, folder):
    return files.save(chart, folder / "chart.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", CHARTS)
def test_svg_is_whole(name, tmp_path):
    drawn = svg(CHARTS[name], tmp_path)
    told = [html.unescape(text) for text in re.findall(r"<text[^>]*>([^<]*)</text>", drawn)]
    assert look.PAPER in drawn
    assert [words for words in WORDS.get(name, []) if words not in told] == []
    assert not re.search(r"NaN|undefined|Infinity", drawn), "a number went wrong"
    assert set(re.findall(r'<text[^>]*fill="(#\w+)"', drawn)) <= {look.INK, look.SOFT_INK}


@pytest.mark.parametrize("name", CHARTS)
def test_a_chart_is_plain_json_and_fetches_nothing(name):
    assert re.findall(r"https?://[^\"]*", json.dumps(CHARTS[name], allow_nan=False)) == [look.SCHEMA]


def test_every_run_is_a_dot(tmp_path):
    drawn = svg(CHARTS["comparison"], tmp_path)
    dots = re.findall(r'aria-label="outcome: [^"]*"', drawn)
    assert len(dots) == 4
    assert CHARTS["comparison"]["description"].endswith("A 80; A 81.6; B 88; B 90.4")


def test_png_and_pdf_are_drawn(tmp_path):
    assert files.save(CHARTS["effects"], tmp_path / "chart.png").read_bytes().startswith(b"\x89PNG")
    assert files.save(CHARTS["comparison"], tmp_path / "chart.pdf").read_bytes().startswith(b"%PDF")


def test_nothing_to_draw_is_refused():
    with pytest.raises(InputError, match="needs"):
        effects.comparison([], [])
    with pytest.raises(InputError, match="needs"):
        effects.effect_plot([])
