"""Searching from outside: on a cluster, with a bar, stopped by Ctrl-C, with a start as sure as asked for."""

import contextlib
import functools
import math
import os
import signal
import subprocess
import sys
import threading
import time
import warnings

import pytest
from turbines import BUILDS, EXAMPLES, example

from whirlbench.actions import cluster
from whirlbench.actions.improve import Search, improve
from whirlbench.advise.score import Scorer
from whirlbench.cli.interrupt import Interrupt
from whirlbench.cli.main import app
from whirlbench.errors import InputError, InputErrors, OutOfRange, UnknownKey
from whirlbench.parts.files import read_bin, read_event
from whirlbench.predict import turbine as whole
from whirlbench.predict import world

BIN, EVENT = read_bin(EXAMPLES / "parts-bin.toml"), read_event(EXAMPLES / "event.toml")
SMALL = BIN.changed(sheets=BIN.sheets[:1], airfoils=(BIN.airfoils[0].changed(names=("sg6043",)),))
FILES = ("--bin", EXAMPLES / "parts-bin.toml", "--event", EXAMPLES / "event.toml")
COMMAND = (sys.executable, "-c", "from whirlbench.cli.main import run; run()", "improve", EXAMPLES / "starter.toml")


@functools.cache
def searched(name, executor=None):
    """Answer of a quick search in the small bin."""
    return improve(example(name), SMALL, event=EVENT, search=Search("quick", executor))


def call(*words):
    words = ("improve", EXAMPLES / "starter.toml", "--bin", EXAMPLES / "parts-bin.toml", *words)
    return app([str(word) for word in words], standalone_mode=False)


# --- on a cluster -----------------------------------------------------------------------------------------------------


@contextlib.contextmanager
def two_workers():
    """Address of a real cluster on this machine: a scheduler and two worker processes."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # how the cluster itself was written is not tested here
        import distributed

        options = {"n_workers": 2, "processes": True, "threads_per_worker": 1, "dashboard_address": None}
        with distributed.LocalCluster(**options) as running:
            yield running.scheduler_address


@pytest.mark.slow
def test_a_cluster_finds_what_this_machine_finds():
    with two_workers() as address:
        with cluster.executor(address) as pool:
            there = searched("starter", pool)
        with cluster.executor(address) as pool:  # it runs on
            assert pool.submit(os.getpid).result() != os.getpid()
    assert there == searched("starter")
    assert there.best_build.steps


SLIPS = ["localhost:8786", "tcp://localhost", "tcp://:8786", "http://localhost:8786", "tcp://127.0.0.1:99999", ""]


@pytest.mark.parametrize("address", [*SLIPS, "tcp://127.0.0.1:9"])
def test_an_address_that_does_not_answer_is_told_in_four_pieces(address, monkeypatch):
    monkeypatch.setattr(cluster, "_PATIENCE", 1)  # seconds enough for a closed port of this machine
    with pytest.raises(InputError) as told:
        call("--search", "quick", "--on", address)
    assert told.value.what == "cluster"
    assert address in told.value.got


def test_a_cluster_needs_its_library(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)  # as Python sees what is not installed
    with pytest.raises(InputError, match=r"pip install 'whirlbench\[cluster\]'"):
        call("--search", "quick", "--on", "tcp://127.0.0.1:8786")


def test_workers_must_speak_the_same_language():
    class Client:
        def __init__(self, answers):
            self.run = lambda *_, **__: answers

    cluster._same_version(Client({"tcp://a": cluster.__version__}), "tcp://b")
    with pytest.raises(InputError, match="at least one worker"):
        cluster._same_version(Client({}), "tcp://b")
    with pytest.raises(InputError, match=r"Whirlbench 0\.0\.1 on tcp://a"):
        cluster._same_version(Client({"tcp://a": "0.0.1"}), "tcp://b")


def test_a_cluster_without_a_search_and_an_unknown_effort_are_refused():
    with pytest.raises(InputError, match="add --search normal"):
        call("--on", "tcp://127.0.0.1:8786")
    with pytest.raises(UnknownKey, match="write 'quick'"):
        call("--search", "quik")


# --- a start as sure as asked for -------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["95", "49 %", "101 %", "often", "-1"])
def test_a_chance_that_is_none_is_refused(text):
    with pytest.raises(InputError) as told:
        call("--sure-start", text)
    assert told.value.what == "sure start"


def test_the_event_names_the_chance_and_the_range_is_kept():
    assert EVENT.sure_start == 0.9
    assert EVENT.changed(sure_start=0.5).sure_start == 0.5
    for wrong in (0.4, 1.1):
        with pytest.raises(InputErrors):
            EVENT.changed(sure_start=wrong)
    with pytest.raises(OutOfRange):
        improve(example("starter"), SMALL, sure_start=0.3)


@pytest.mark.slow
@pytest.mark.parametrize("search", [None, Search("quick")], ids=["greedy", "searched"])
def test_advice_starts_as_surely_as_asked_for(search):
    lax, strict = (
        improve(example("geared"), SMALL, event=EVENT.changed(sure_start=chance), search=search).best_build
        for chance in (0.5, 1.0)
    )
    assert strict.start_chance == 1.0
    assert all(step.start_chance >= 0.5 for step in lax.steps)
    # of this build quick searches scatter by 6 % (five seeds of a smaller effort: README), so two of them by 8 %
    assert lax.power_W >= (0.97 if search is None else 1 - 2 * 0.08) * strict.power_W


def test_what_is_asked_for_goes_before_the_event():
    strict, asked = (
        improve(example("geared"), SMALL, event=EVENT.changed(sure_start=chance), sure_start=wanted).best_build
        for chance, wanted in ((1.0, None), (0.5, 1.0))
    )
    assert asked == strict
    assert strict.steps


# --- steps, and where to stop -----------------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("name", BUILDS)
def test_every_step_is_legal_safe_starts_and_tells_its_work(name):
    answer = searched(name)
    best = answer.best_build
    before = answer.now.start_chance
    for step in best.steps:
        assert step.allowed and step.safe and step.starts and step.stands
        assert step.start_chance >= min(0.9, before)
        assert step.effort_min > 0
        assert step.gain_W > 0
        before = step.start_chance
    assert best.effort_min == sum(step.effort_min for step in best.steps)
    assert best.searched and best.stop_here and not best.stopped_early
    assert "below noise" in best.then


@pytest.mark.parametrize("search", [None, Search("quick")], ids=["greedy", "searched"])
def test_nothing_to_gain_means_stop_here(search):
    empty = {name: () for name, value in BIN if isinstance(value, tuple)}
    best = improve(at_its_best(), BIN.changed(**empty, caps=False), event=EVENT, search=search).best_build
    assert best.steps == ()
    assert best.gain_W == 0
    assert best.stop_here
    assert best.then.startswith("No move is worth its work")
    assert best.then.endswith("Stop here.")


@functools.cache
def at_its_best():
    """The geared example with the best of its own pitches; an empty bin allows little else."""
    turbine = example("geared")
    scorer = Scorer(EVENT)
    pitches = [turbine.changed(rotor=turbine.rotor.changed(pitch=math.radians(0.5 * half))) for half in range(6, 40)]
    return max(pitches, key=lambda one: scorer.worth(one, world.draw(whole.priors(one), world.COUNT)).power.mean())


def test_a_path_cut_short_does_not_say_stop():
    best = improve(example("starter"), BIN, event=EVENT).best_build
    assert len(best.steps) == 3
    assert not best.stop_here
    assert "ask again" in best.then


# --- the bar and Ctrl-C -----------------------------------------------------------------------------------------------


def test_progress_names_stages_and_rises():
    seen = []
    improve(example("starter"), SMALL, event=EVENT, search=Search("quick"), tick=lambda *told: seen.append(told))
    stages, shares = zip(*seen, strict=True)
    assert list(shares) == sorted(shares)
    assert shares[0] == 0
    assert shares[-1] == pytest.approx(1)
    assert len(set(stages)) > 8


def test_no_bar_without_a_terminal():
    done = subprocess.run([*COMMAND, *FILES, "--top", "1"], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    assert "Step 1 (" in done.stdout


class Terminal:
    """The command as a person runs it: its bar on a terminal, and Ctrl-C to all its processes."""

    def __init__(self, *words):
        self._screen, theirs = os.openpty()
        pipes = {"stdout": subprocess.PIPE, "stderr": theirs, "text": True, "start_new_session": True}
        environment = os.environ | {"PYTHONWARNINGS": "error", "TERM": "xterm", "COLUMNS": "120"}
        self._process = subprocess.Popen([*COMMAND, *FILES, *words], env=environment, **pipes)
        os.close(theirs)
        self.shown, self._more = "", threading.Condition()
        self._reader = threading.Thread(target=self._read)
        self._reader.start()

    def _read(self):
        with contextlib.suppress(OSError):  # the other end is closed
            while piece := os.read(self._screen, 4096):
                with self._more:
                    self.shown += piece.decode(errors="replace")
                    self._more.notify()

    def wait_for(self, text):
        """Wait until the terminal shows a text."""
        with self._more:
            assert self._more.wait_for(lambda: text in self.shown, 300)

    def press_ctrl_c(self):
        os.killpg(self._process.pid, signal.SIGINT)

    def end(self):
        """Status and output, once all of its processes are gone."""
        output, _ = self._process.communicate()
        self._reader.join()
        os.close(self._screen)
        with pytest.raises(ProcessLookupError):
            for _ in range(200):  # a helper of Python's own may follow its parent a moment later
                os.killpg(self._process.pid, 0)
                time.sleep(0.05)
        return self._process.returncode, output


needs_terminal = pytest.mark.skipif(sys.platform == "win32", reason="no such terminal there")


@needs_terminal
@pytest.mark.parametrize("stage", ["looking at every kind", "looking closer at"])
def test_ctrl_c_while_searching_gives_the_best_so_far(stage):
    terminal = Terminal("--search", "normal")
    terminal.wait_for(stage)
    assert "%" in terminal.shown
    terminal.press_ctrl_c()
    status, output = terminal.end()
    assert status == 0
    assert "Traceback" not in terminal.shown + output
    assert "The search was stopped early" in output


@needs_terminal
@pytest.mark.parametrize(("stage", "times"), [("listing moves", 1), ("looking at every kind", 2)])
def test_ctrl_c_without_an_answer_ends_with_130(stage, times):
    terminal = Terminal("--search", "thorough")
    terminal.wait_for(stage)
    terminal.press_ctrl_c()
    if times == 2:
        terminal.wait_for("stopping")
        terminal.press_ctrl_c()
    status, output = terminal.end()
    assert (status, output) == (130, "")
    assert "Traceback" not in terminal.shown
    assert "Stopped before there was an answer." in terminal.shown


def test_ctrl_c_ends_at_once_before_anybody_asks_and_at_the_second_time():
    early = Interrupt()
    with pytest.raises(KeyboardInterrupt):
        early.press()
    asked = Interrupt()
    assert not asked()
    asked.press()
    assert asked()
    with pytest.raises(KeyboardInterrupt):
        asked.press()
