"""The server as a process: what it says, and that it goes with all its workers, whichever way it is ended."""

import contextlib
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from web_room import Server, furnish

from whirlbench.store.store import Store
from whirlbench.web.settings import Settings

PATIENCE = 30.0  # [s] on a machine that does much else


@pytest.fixture
def served(tmp_path):
    with Store(tmp_path / "room.db") as store:
        furnish(store)
    server = Server(tmp_path / "room.db").start()
    yield server
    with contextlib.suppress(ProcessLookupError):
        server.kill()


def workers(pid):
    """Processes that a process has started, with all below them."""
    found = [
        int(place.parent.name)
        for place in Path("/proc").glob("[0-9]*/stat")
        if (words := text(place)) and int(words.rpartition(")")[2].split()[1]) == pid
    ]
    return [one for each in found for one in (each, *workers(each))]


def text(place):
    with contextlib.suppress(OSError):
        return place.read_text()
    return ""


def gone(pids):
    """Wait until none of these processes is there."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        if not [pid for pid in pids if text(Path(f"/proc/{pid}/stat")).rpartition(")")[2][1:2] not in ("", "Z")]:
            return True
        time.sleep(0.05)
    return False


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are counted in /proc")
@pytest.mark.parametrize("way", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_a_server_goes_with_its_workers(served, way):
    pids = workers(served.process.pid)
    assert len(pids) >= 2
    served.process.send_signal(way)
    code = served.process.wait(PATIENCE)
    assert code == (-9 if way == signal.SIGKILL else 0)
    assert gone(pids)


def started(*words):
    code = "from whirlbench.cli.main import run; run()"
    return subprocess.run([sys.executable, "-c", code, *map(str, words)], capture_output=True, text=True, timeout=60)


def test_a_port_that_is_taken_is_told(tmp_path):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        done = started("serve", "--port", port, "--only-here", "--no-browser", "--store", tmp_path / "room.db")
    assert done.returncode == 2
    assert "another program answers" in done.stderr
    assert "--port 8081" in done.stderr


def test_the_service_file_starts_a_command_that_exists():
    service = Path(__file__).parents[2] / "docs/whirlbench.service"
    line = next(one for one in service.read_text().splitlines() if one.startswith("ExecStart="))
    _, *words = line.removeprefix("ExecStart=").split()
    assert "serve" in words
    assert started(*words, "--help").returncode == 0


def test_a_room_that_is_not_set_up_tells_its_key(tmp_path):
    said = []
    from whirlbench.web import serving

    serving._tell(Settings(store=tmp_path, port=80, set_up_key="k"), said.append, place="x", own="http://localhost/?k")
    assert any("http://localhost/?k" in line for line in said)


def test_the_address_shown_is_one_that_phones_reach():
    settings = Settings(port=8080, hosts=("localhost", "127.0.0.1", "::1", "bench", "192.168.1.20", "fe80::1"))
    assert settings.address == "http://192.168.1.20:8080"
    assert "http://bench:8080" in settings.addresses
    assert "http://[fe80::1]:8080" in settings.addresses
    assert Settings(port=8080, hosts=("localhost", "bench")).address == "http://bench:8080"
    assert Settings(port=8080).address == "http://localhost:8080"
