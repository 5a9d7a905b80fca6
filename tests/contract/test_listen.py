"""The commands listen and count: words, keys, exit statuses and pictures."""

import json
import sys

import numpy as np
import pytest
import soundfile

from whirlbench.charts import sound
from whirlbench.cli.main import run
from whirlbench.errors import InputError
from whirlbench.store.store import VARIABLE

RATE = 16000


@pytest.fixture
def call(monkeypatch, capsys):
    """Run the command line in this process; answers with status, output and errors."""

    def called(*words):
        monkeypatch.setattr(sys, "argv", ["whirlbench", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            run()
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return end.value.code or 0, out, err

    return called


@pytest.fixture
def recorded(tmp_path):
    """Write noise that swells some times a second, and say where."""

    def written(name, *swells):
        times, draw = np.arange(6 * RATE) / RATE, np.random.default_rng(4)
        parts = [draw.standard_normal(times.size) * (1 + 0.8 * np.cos(2 * np.pi * each * times)) for each in swells]
        soundfile.write(tmp_path / name, 0.05 * sum(parts), RATE)
        return tmp_path / name

    return written


def test_a_clear_recording_gives_the_speed_in_words_and_numbers(call, recorded):
    path = recorded("turbine.wav", 21.0)  # 3 blades at 420 rpm
    status, out, _ = call("listen", path, "--blades", 3, "--guess", "400 rpm", "--no-fan")
    assert status == 0
    assert float(out.split(" rpm")[0]) == pytest.approx(420, rel=5e-3)
    assert "3 blades" in out
    status, out, _ = call("listen", path, "--blades", 3, "--guess", "7 Hz", "--mains", "50 Hz", "--no-fan", "--json")
    answer = json.loads(out)
    assert status == 0 and answer["sure"] is True
    assert answer["rotor_speed_rad_s"] == pytest.approx(14 * np.pi, rel=5e-3)
    assert 0 < answer["rotor_speed_sd_rad_s"] < 0.01 * answer["rotor_speed_rad_s"]
    assert answer["fan_level_dB"] is None
    assert {"frequency_Hz", "height_dB"} == set(answer["spectrum"][0])


def test_not_sure_is_status_one_and_says_why(call, recorded):
    status, out, _ = call("listen", recorded("noise.wav", 0.0), "--blades", 3, "--guess", "400 rpm")
    assert status == 1
    assert "Not sure" in out and "Do not use it" in out
    status, out, _ = call("listen", recorded("turbine.wav", 21.0), "--blades", 3, "--guess", "400 rpm")
    assert status == 1 and "record the fan alone" in out.replace("\n", " ")


def test_only_a_sure_speed_becomes_a_reading_of_the_team(call, recorded, tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(tmp_path / "room.db"))
    call("team", "add", "Kittiwake")
    words = ("--blades", 3, "--guess", "400 rpm", "--no-fan", "--team", "Kittiwake", "--fill", "wind_speed=4.5 m/s")
    assert call("listen", recorded("noise.wav", 0.0), *words)[0] == 1
    status, out, _ = call("listen", recorded("turbine.wav", 21.0), *words)
    assert status == 0 and "Logged as a reading" in out
    assert json.loads(call("team", "list", "--json")[1])["teams"][0]["readings"] == 1


def test_the_fan_is_left_out_and_marked(call, recorded, tmp_path):
    both, alone = recorded("both.wav", 21.0, 26.0), recorded("fan.flac", 26.0)
    words = ("listen", both, "--blades", 3, "--guess", "420 rpm", "--json")
    status, out, _ = call(*words, "--fan", alone, "--plot", tmp_path / "lines.svg")
    answer = json.loads(out)
    assert status == 0, answer["why"]
    assert answer["fan_level_dB"] == pytest.approx(0, abs=2)
    assert "fan" in {mark["kind"] for mark in answer["marks"]}
    picture = (tmp_path / "lines.svg").read_text(encoding="utf-8")
    assert "What swells in the sound" in picture and "blade pass" in picture
    _, out, _ = call(*words, "--fan-speed", "390 rpm", "--fan-blades", 4)
    assert json.loads(out)["fan_level_dB"] is not None


@pytest.mark.parametrize(
    "words,what",
    [
        (["listen", "nothing.wav"], "recording"),
        (["listen", "nothing.wav", "--fan-speed", "900 rpm"], "fan-speed and fan-blades"),
        (["listen", "nothing.wav", "--guess", "400"], "guess"),
        (["count"], "count"),
        (["count", "--turns", 20, "--flash", "20 Hz"], "count"),
        (["count", "--turns", 20, "--in", "14"], "in"),
        (["count", "--flash", "60, 24 Hz", "--blades", 3], "flash rates"),
    ],
)
def test_a_slip_is_status_two_in_four_pieces(call, words, what):
    status, out, err = call(*words)
    assert status == 2 and not out
    assert err.startswith(f"{what}: got ") and " needs " in err and " Try: " in err


def test_turns_and_flashes_give_speed_and_doubt(call):
    status, out, _ = call("count", "--turns", 20, "--in", "10 s", "--json")
    answer = json.loads(out)
    assert status == 0
    assert answer["rotor_speed_rad_s"] == pytest.approx(4 * np.pi)
    assert answer["rotor_speed_sd_rad_s"] == pytest.approx(4 * np.pi * 0.025)
    status, out, _ = call("count", "--flash", "1200 rpm", "--blades", 3)
    assert status == 0 and out.startswith("400 rpm") and "no faster flash" in out.replace("\n", " ")


def test_a_chart_refuses_what_it_cannot_name():
    points = [{"frequency_Hz": 1.0, "height_dB": 0.0}]
    with pytest.raises(InputError, match="no points"):
        sound.swells([])
    with pytest.raises(InputError, match="one of blade pass"):
        sound.swells(points, [{"frequency_Hz": 1.0, "height_dB": 0.0, "kind": "bird"}])
    assert sound.swells(points)["layer"][0]["data"]["values"] == points
