"""Capture over a real pseudo-terminal: noise, a pulled plug, Ctrl-C, kill -9."""

import csv
import os
import signal
import subprocess
import sys
import threading
import time

import numpy as np
import pytest

from whirlbench.actions.capture import capture
from whirlbench.actions.runs import Keeper, shown
from whirlbench.errors import InputError
from whirlbench.measure.protocol import Sample, checksum
from whirlbench.measure.sample_file import SampleFile
from whirlbench.store import teams
from whirlbench.store.store import Store

pty = pytest.importorskip("pty")  # not on this system: nothing to test with
HEADER = b"seq,ms,voltage [mV],rotor_speed [rpm]"
PATIENCE = 20.0  # [s] before a test gives up


def sealed(line):
    return line + b"*" + checksum(line) + b"\n"


def sample(number):
    return sealed(b"%d,%d,%d,262" % (number, 10 * number, 300 + number))


def wait_for(happened):
    end = time.monotonic() + PATIENCE
    while not happened():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.01)


class Logger:
    """A logger behind a name that stays while the device behind it comes and goes."""

    def __init__(self, folder):
        self.name, self._master, self._times = folder / "port", None, 0

    def plug_in(self):
        self._master, slave = pty.openpty()
        self._times += 1
        fresh = self.name.with_name(f"port{self._times}")
        fresh.symlink_to(os.ttyname(slave))
        fresh.replace(self.name)
        os.close(slave)

    def send(self, data):
        while data:
            data = data[os.write(self._master, data) :]

    def pull(self):
        os.close(self._master)
        self.name.unlink()
        self._master = None

    def away(self):
        if self._master is not None:
            os.close(self._master)


@pytest.fixture
def logger(tmp_path):
    logger = Logger(tmp_path)
    logger.plug_in()
    yield logger
    logger.away()


class Running:
    """A capture in a thread, with what it told last."""

    def __init__(self, logger, out):
        self.now, self._over = None, threading.Event()
        self._thread = threading.Thread(target=self._run, args=(str(logger.name), out))
        self._thread.start()
        wait_for(lambda: self.now)

    def _run(self, port, out):
        def tick(now):
            self.now = now

        capture(port, out, duration=PATIENCE, stop=self._over.is_set, tick=tick)

    def end(self):
        self._over.set()
        self._thread.join(PATIENCE)


def rows(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture
def start(logger, tmp_path):
    begun = []

    def started(out="run.csv"):
        begun.append(Running(logger, tmp_path / out))
        return begun[-1]

    yield started
    for one in begun:
        one.end()


def test_noise_and_pieces_cost_no_sample(logger, start, tmp_path):
    running = start()
    logger.send(b"\xff\x00noise 1,2\n" + sealed(HEADER))
    for number in range(60):
        line = sample(number)
        logger.send(line[:7])
        logger.send(line[7:] + (b"%%garbage\xfe\n" if number % 20 == 0 else b""))
    wait_for(lambda: running.now.kept == 60)
    assert (running.now.lost, running.now.garbled) == (0, 4)
    found = rows(tmp_path / "run.csv")
    assert [(int(one["seq"]), int(one["voltage [mV]"])) for one in found] == [(n, 300 + n) for n in range(60)]


def test_a_pulled_plug_loses_no_kept_sample_and_the_run_goes_on(logger, start, tmp_path):
    running = start()
    logger.send(sealed(HEADER) + b"".join(map(sample, range(50))))
    wait_for(lambda: running.now.kept == 50)
    logger.send(sample(50)[:9])
    time.sleep(0.1)
    logger.pull()
    wait_for(lambda: not running.now.connected)
    logger.plug_in()
    wait_for(lambda: running.now.connected)
    logger.send(sealed(HEADER) + b"".join(map(sample, range(60, 100))))
    wait_for(lambda: running.now.kept == 90)
    logger.pull()
    wait_for(lambda: not running.now.connected)
    logger.plug_in()
    wait_for(lambda: running.now.connected)
    logger.send(sealed(HEADER) + b"".join(map(sample, range(5))))
    wait_for(lambda: running.now.kept == 95)
    assert (running.now.lost, running.now.garbled) == (10, 1)
    told = [(one["restart"], int(one["seq"])) for one in rows(tmp_path / "run.csv")]
    assert told == [("0", n) for n in (*range(50), *range(60, 100))] + [("1", n) for n in range(5)]


def test_the_summary_of_a_run(logger, tmp_path):
    def send():
        time.sleep(0.3)  # the port drops what came before it was opened
        logger.send(sealed(HEADER) + b"".join(sample(n) for n in range(41) if n != 20))

    sender = threading.Thread(target=send)
    sender.start()
    report = capture(str(logger.name), tmp_path / "run.jsonl", duration=1.2)
    sender.join()
    assert (report.samples, report.lost, report.restarts, report.disconnects) == (40, 1, 0, 0)
    volts, speed = report.quantities
    assert (volts.name, volts.unit, volts.count) == ("voltage", "V", 40)
    assert volts.mean == pytest.approx(0.320)
    assert volts.drift == pytest.approx(0.040)
    assert volts.drift_sd == pytest.approx(0, abs=1e-9)
    assert speed.sd == pytest.approx(0, abs=1e-9)
    lines = (tmp_path / "run.jsonl").read_text(encoding="utf-8").splitlines()
    assert len(lines) == 40
    assert '"seq": 40, "ms": 400, "voltage [mV]": 340.0' in lines[-1]


def test_a_run_goes_into_the_store_and_its_energy_is_told(logger, tmp_path):
    def send():
        time.sleep(0.3)
        logger.send(sealed(HEADER) + b"".join(map(sample, range(101))))

    with Store(tmp_path / "room.db") as store:
        with store.writing() as session:
            teams.add(session, "Kittiwake")
        sender = threading.Thread(target=send)
        sender.start()
        keeper = Keeper(store, "Kittiwake", name="first")
        fixed = {"load_resistance": 10.0}
        report = capture(str(logger.name), tmp_path / "run.csv", duration=1.5, fixed=fixed, keeper=keeper)
        sender.join()
        kept = shown(store, "Kittiwake", *report.runs)
    volts = 0.3 + 0.001 * np.arange(101)
    assert report.energy_J == pytest.approx(np.trapezoid(volts**2 / 10, 0.01 * np.arange(101)))
    assert report.energy_sd_J / report.energy_J == pytest.approx(np.hypot(0.04, 0.05 / np.sqrt(3)), rel=1e-6)
    assert (kept.samples, kept.line.name, kept.energy_J) == (101, "first", pytest.approx(report.energy_J))


CAPTURE = "from whirlbench.cli.main import run; run()"
TOLD = """
import sys
from whirlbench.actions.capture import capture
capture(sys.argv[1], sys.argv[2], tick=lambda now: print(now.kept, flush=True))
"""


@pytest.fixture
def process(logger, tmp_path):
    begun = []

    def started(code, *words):
        begun.append(
            subprocess.Popen([sys.executable, "-c", code, *map(str, words)], stdout=subprocess.PIPE, text=True)
        )
        return begun[-1]

    yield started
    for one in begun:
        one.kill()
        one.wait(PATIENCE)
        one.stdout.close()


def test_ctrl_c_ends_the_command_with_its_summary(logger, process, tmp_path):
    out = tmp_path / "run.csv"
    command = process(CAPTURE, "capture", logger.name, "--out", out)
    command.stdout.readline()  # it listens
    logger.send(sealed(HEADER) + b"".join(map(sample, range(30))))
    wait_for(lambda: len(rows(out)) == 30)
    command.send_signal(signal.SIGINT)
    told = " ".join(command.communicate(timeout=PATIENCE)[0].split())
    assert command.returncode == 0
    assert "30 samples in" in told
    assert "stopped by hand" in told
    assert "Nothing was lost on the way." in told
    assert "voltage" in told


@pytest.mark.parametrize("after", [0.05, 0.4])
def test_a_killed_capture_keeps_all_that_it_said_was_kept(logger, process, tmp_path, after):
    out = tmp_path / "run.csv"
    command = process(TOLD, logger.name, out)
    command.stdout.readline()
    logger.send(sealed(HEADER))
    end = time.monotonic() + after
    number = 0
    while time.monotonic() < end or number < 50:
        logger.send(sample(number))
        number += 1
        time.sleep(0.001)
    command.kill()
    told = [int(line) for line in command.communicate()[0].split("\n")[:-1]]
    found = [int(one["seq"]) for one in rows(out)]
    assert found == list(range(len(found)))
    assert len(found) >= max(told, default=0)


def test_a_port_that_is_not_there(tmp_path):
    with pytest.raises(InputError, match="a serial port that can be opened; this computer shows"):
        capture(str(tmp_path / "none"), tmp_path / "run.csv", duration=1)
    assert not (tmp_path / "run.csv").exists()


def test_what_is_there_is_not_overwritten(logger, tmp_path):
    (tmp_path / "run.csv").write_text("mine")
    with pytest.raises(InputError, match="which is there already"):
        capture(str(logger.name), tmp_path / "run.csv", duration=1)
    with pytest.raises(InputError, match=r"ends in \.csv or \.jsonl"):
        capture(str(logger.name), tmp_path / "run.txt", duration=1)
    with pytest.raises(InputError, match="for: got 0 s"):
        capture(str(logger.name), tmp_path / "new.csv", duration=0)
    assert (tmp_path / "run.csv").read_text() == "mine"


def test_a_logger_that_changes_its_columns_gets_a_file_each(tmp_path):
    file = SampleFile(tmp_path / "run.csv")
    first, second = ("voltage [mV]",), ("current [mA]", "voltage [mV]")
    file.append("12:00", [Sample(0, 0, 0, first, ("1",)), Sample(1, 0, 0, second, ("2", "3"))])
    file.append("12:01", [Sample(2, 0, 0, first, ("4",))])
    file.close()
    assert [path.name for path in file.paths] == ["run.csv", "run-2.csv"]
    assert (tmp_path / "run.csv").read_text() == (
        "taken_at,restart,seq,ms,voltage [mV]\n12:00,0,0,0,1\n12:01,0,2,0,4\n"
    )
    assert [one["current [mA]"] for one in rows(tmp_path / "run-2.csv")] == ["2"]


def test_a_captured_run_is_imported(tmp_path):
    from whirlbench.actions.import_readings import import_readings
    from whirlbench.measure.readings import read_readings

    file = SampleFile(tmp_path / "run.csv")
    file.append("2026-05-12T12:00:00.200+00:00", [Sample(7, 20, 0, ("voltage [mV]",), ("342",))])
    file.close()
    report = import_readings(tmp_path / "run.csv", fill=["wind_speed=4.5 m/s"], out=tmp_path / "readings.csv")
    assert (report.readings, report.refused) == (1, ())
    (one,) = read_readings(tmp_path / "readings.csv")
    assert (one.voltage, one.taken_at, one.note) == (0.342, "2026-05-12T12:00:00.200000+00:00", "")
