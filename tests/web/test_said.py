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
        ("{0} The best in the {1} is {2}, {3}.", "{0} Lo mejor en {1}: {2}, {3}."),
        ("turns at {0}; shaking is at {1}", "gira a {0}; la sacudida está a {1}"),
        ("resonance", "resonancia"),
        ("{0} and {1}", "{0} y {1}"),
        ("; weigh them", "; pésalas"),
        ("blades break the rules", "las palas rompen las reglas"),
        ("{0} {1} {2} times what was believed", "{0} {1} {2} veces lo que se creía"),
        ("is", "es"),
        ("readings to ask about ({0})", "lecturas dudosas ({0})"),
        ("line {0}: {1}", "línea {0}: {1}"),
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
        (
            "Your rotor is too fast. The best in the rotor speed is drive through gears 9:3 (1:3), 2 W.",
            "Tu rotor va demasiado rápido. Lo mejor en velocidad del rotor: transmite con engranajes 9:3 (1:3), 2 W.",
        ),
        ("resonance: turns at 3 rpm; shaking is at 4 rpm", "resonancia: gira a 3 rpm; la sacudida está a 4 rpm"),
        ("Kittiwake and Dunlin", "Kittiwake y Dunlin"),
        ("drive through Kittiwake; weigh them", "transmite con Kittiwake; pésalas"),
        ("rotor speed is 2 times what was believed", "velocidad del rotor es 2 veces lo que se creía"),
        (
            "readings to ask about (line 2: a number; line 3: Rotor speed)",
            "lecturas dudosas (línea 2: un número; línea 3: Velocidad del rotor)",
        ),
        ("a number\nrotor speed", "un número\nvelocidad del rotor"),
        (" a number ", " un número "),
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
