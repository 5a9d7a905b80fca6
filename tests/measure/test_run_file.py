"""Runs read back from files of samples: every sample, the logger's clock, and what is no such file."""

import json

import numpy as np
import pytest

from whirlbench.errors import InputError
from whirlbench.measure.protocol import Sample
from whirlbench.measure.run_file import read_run, write_run
from whirlbench.measure.run_summary import RunSummary, summary_of
from whirlbench.measure.sample_file import SampleFile

HEADER = ("voltage [mV]", "rotor_speed [rpm]", "lamp [lux]")
BEGUN = "2031-03-01T09:30:00.250+00:00"


def written(path, samples, taken_at=BEGUN):
    file = SampleFile(path)
    file.append(taken_at, samples)
    file.close()
    return path


def sample(number, restart=0, volts="300"):
    return Sample(number, 100 * number, restart, HEADER, (volts, "60", str(number)))


@pytest.mark.parametrize("ending", ["csv", "jsonl"])
def test_a_run_comes_back_in_si(tmp_path, ending):
    run = read_run(written(tmp_path / f"run.{ending}", [sample(5), sample(6, volts=""), sample(8)]))
    assert run.begun_at.isoformat(timespec="milliseconds") == BEGUN
    assert run.columns == {"time": "s", "voltage": "V", "rotor_speed": "rad/s", "lamp [lux]": "lux"}
    assert run.samples["time"] == pytest.approx([0, 0.1, 0.3])
    assert run.samples["voltage"] == [0.3, None, 0.3]
    assert run.samples["rotor_speed"] == pytest.approx([2 * np.pi] * 3)
    assert run.samples["lamp [lux]"] == [5, 6, 8]


def test_a_logger_that_began_anew_counts_on(tmp_path):
    file = SampleFile(tmp_path / "run.csv")
    file.append("2031-03-01T09:30:00+00:00", [sample(700), sample(710)])
    file.append("2031-03-01T09:30:12+00:00", [sample(2, restart=1), sample(5, restart=1)])
    file.close()
    assert read_run(tmp_path / "run.csv").samples["time"] == pytest.approx([0, 1, 12, 12.3])


def test_half_a_line_of_a_killed_capture_is_left(tmp_path):
    path = written(tmp_path / "run.csv", [sample(n) for n in range(3)])
    for cut in range(1, 20):
        (tmp_path / "cut.csv").write_bytes(path.read_bytes()[:-cut])
        assert len(read_run(tmp_path / "cut.csv").samples["time"]) == 2


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("none.csv", None, "a file that can be read"),
        ("empty.csv", "", "other columns"),
        ("head.csv", "taken_at,restart,seq,ms,voltage [mV]\n", "no sample"),
        ("readings.csv", "wind_speed [m/s],voltage [V]\n4,1\n", "come in with import and log"),
        ("short.csv", "taken_at,restart,seq,ms,voltage [mV]\n12:00,0,1\n", "line 2"),
        ("word.csv", f"taken_at,restart,seq,ms,voltage [mV]\n{BEGUN},0,1,10,loud\n", "line 2"),
        ("infinite.csv", f"taken_at,restart,seq,ms,voltage [mV]\n{BEGUN},0,1,10,inf\n", "line 2"),
        ("clock.csv", f"taken_at,restart,seq,ms,voltage [mV]\n{BEGUN},0,1,,3\n", "line 2"),
        ("when.csv", "taken_at,restart,seq,ms,voltage [mV]\nnoon,0,1,10,3\n", "line 2"),
        ("word.jsonl", "hello\n", "line 1"),
        ("list.jsonl", "[1]\n", "line 1"),
        ("text.jsonl", json.dumps({"taken_at": BEGUN, "restart": 0, "seq": 1, "ms": 1, "v [V]": []}) + "\n", "line 1"),
    ],
)
def test_what_is_no_run(tmp_path, name, text, told):
    if text is not None:
        (tmp_path / name).write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=told):
        read_run(tmp_path / name)


def test_a_table_for_other_programs(tmp_path):
    write_run(tmp_path / "out.csv", {"time": "s", "voltage": "V", "lamp [lux]": "lux"},
              {"time": [0, 0.5], "voltage": [None, 0.25], "lamp [lux]": [1, 2]})  # fmt: skip
    assert (tmp_path / "out.csv").read_text() == "time [s],voltage [V],lamp [lux]\n0,,1\n0.5,0.25,2\n"
    with pytest.raises(InputError, match="there already"):
        write_run(tmp_path / "out.csv", {"time": "s"}, {"time": [0]})


def test_energy_by_two_roads():
    """The energy of a run that is added up as it comes is the integral of power over the whole record."""
    rng = np.random.default_rng(4)
    times, volts = np.cumsum(rng.uniform(0.05, 0.3, 400)), rng.uniform(1, 3, 400)
    summary = RunSummary({"load_resistance": 20.0})
    for time, volt in zip(times, volts, strict=True):
        summary.add(time, {"voltage": (volt, "V")})
    assert summary.energy.number == pytest.approx(np.trapezoid(volts**2 / 20, times))
    whole = summary_of(
        {"time": list(times), "voltage": list(volts), "current": list(volts / 20)},
        {"time": "s", "voltage": "V", "current": "A"},
    )
    assert whole.energy.number == pytest.approx(summary.energy.number)
    assert whole.energy.sigma < summary.energy.sigma, "amps are read better than a gold ring tells ohms"


@pytest.mark.parametrize(
    "numbers",
    [
        {"voltage": (1.0, "V")},
        {"voltage": (1.0, "V"), "load_resistance": (1e7, "ohm")},
        {"voltage [x]": (1.0, "x"), "load_resistance": (10.0, "ohm")},
    ],
)
def test_no_energy_without_power(numbers):
    summary = RunSummary()
    for time in range(3):
        summary.add(time, numbers)
    assert summary.energy is None
    assert ("electrical_power", "W") not in summary.trends
