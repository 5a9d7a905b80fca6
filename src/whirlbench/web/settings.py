"""What a server is told when it starts."""

import contextlib
import os
import secrets
import socket
from dataclasses import dataclass, field

_LOOK_OUTSIDE = (
    "192.0.2.1",
    9,
)  # an address that no one has (RFC 5737): a datagram socket asks for the way, sends nothing

LOCAL = ("localhost", "127.0.0.1", "::1")


@dataclass(frozen=True)
class Settings:
    """What a server is told when it starts.

    Attributes
    ----------
    store : path or str or None
        Where the room's work is kept; None for the usual place.
    port : int
        Port that browsers come to.
    hosts : tuple of str
        Names and addresses under which browsers may ask, without port.
    pace : float
        Requests a second that one caller may make on average.
    set_up_key : str
        Whoever holds it may set up a room that has no coach yet.
    """

    store: object = None
    port: int = 8080
    hosts: tuple = LOCAL
    pace: float = 30.0
    set_up_key: str = field(default_factory=lambda: secrets.token_urlsafe(9))

    @property
    def address(self):
        """Address to show to the room: the first that other machines can reach, or else this machine's own."""
        numbers = [host for host in self._outside if host.replace(".", "").isdigit()]
        return self._at(next(iter([*numbers, *self._outside]), "localhost"))

    @property
    def addresses(self):
        """Every address under which other machines may reach it."""
        return tuple(map(self._at, self._outside))

    @property
    def _outside(self):
        return [host for host in self.hosts if host not in LOCAL]

    def _at(self, host):
        return f"http://{f'[{host}]' if ':' in host else host}:{self.port}"


def own_hosts():
    """Names and addresses of this machine on its networks."""
    name = socket.gethostname()
    found = [*LOCAL, name.lower(), f"{name.partition('.')[0].lower()}.local"]
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_LOOK_OUTSIDE)
            found.append(probe.getsockname()[0])
        except OSError:
            pass  # no network at all: this machine alone
    with contextlib.suppress(OSError):
        found += [info[4][0] for info in socket.getaddrinfo(name, None, socket.AF_INET)]
    return tuple(dict.fromkeys(found))


def free(host, port):
    """Whether a server may take a port."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError:
            return False
    return True


def calm_threads():
    """Let numeric libraries of this process and its workers use one thread each; before they are imported."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"):
        os.environ.setdefault(name, "1")
