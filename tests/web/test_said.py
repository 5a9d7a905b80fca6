"""Sentences of the program in another language: patterns with gaps, what stands in them, and what is unknown."""

import pytest

from whirlbench.web.said import Sentences

SPANISH = Sentences(
    [
        ("drive through {0}", "transmite con {0}"),
        ("gears {0}:{1} (1:{2})", "engranajes {0}:{1} (1:{2})"),
        ("{0}, loaded with {1} ohm", "{0}, con una carga de {1} ohm"),
        ("Your rotor is too fast.", "Tu rotor va demasiado rápido."),
        ("{0}: got {1}, needs {2}. Try: {3}.", "{0}: hay {1}, se necesita {2}. Prueba: {3}."),
        ("rotor speed", "velocidad del rotor"),
        ("a number", "un número"),
        ("write {0} first", "escribe primero {0}"),
    ]
)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "drive through gears 64:8 (1:8), loaded with 22 ohm",
            "transmite con engranajes 64:8 (1:8), con una carga de 22 ohm",
        ),
        (
            "Your rotor is too fast. drive through gears 9:3 (1:3)",
            "Tu rotor va demasiado rápido. transmite con engranajes 9:3 (1:3)",
        ),
        (
            "rotor speed: got 'x', needs a number. Try: write a number first.",
            "velocidad del rotor: hay 'x', se necesita un número. Prueba: escribe primero un número.",
        ),
        ("Rotor speed", "Velocidad del rotor"),
        ("rotor speed, rotor speed", "velocidad del rotor, velocidad del rotor"),
        ("Team Kittiwake", "Team Kittiwake"),
        ("", ""),
        ("3.2 W", "3.2 W"),
        ("\\1 {0} (.*) rotor speed", "\\1 {0} (.*) rotor speed"),
    ],
)
def test_sentences_are_said(text, said):
    assert SPANISH(text) == said


def test_a_long_unknown_text_costs_little():
    text = "word, " * 600
    assert SPANISH(text) == text
