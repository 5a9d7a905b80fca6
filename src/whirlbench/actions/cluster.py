"""Workers of a running dask.distributed cluster, for a search that one machine is too slow for."""

import contextlib
import importlib.metadata
import re

from whirlbench import __version__
from whirlbench.errors import InputError

_PATIENCE = 5  # [s]
_ADDRESS = re.compile(r"(tcp|tls)://[^\s:/]+:\d{1,5}")
_WHAT = "cluster"


@contextlib.contextmanager
def executor(address):
    """Lend the workers of a cluster.

    Parameters
    ----------
    address : str
        Of its scheduler, such as ``tcp://192.168.0.5:8786``.

    Yields
    ------
    concurrent.futures.Executor
        Work that is not done at the end is called off; the cluster runs on.

    Raises
    ------
    InputError
        No such address, nobody there, no workers, or another version of Whirlbench on them.
    """
    if not _ADDRESS.fullmatch(address):
        try_ = "copy the address that the scheduler printed when it started"
        raise InputError(_WHAT, f"'{address}'", "an address such as 'tcp://192.168.0.5:8786'", try_=try_)
    client = _client(address)
    try:
        _same_version(client, address)
        pool = client.get_executor()
        try:
            yield pool
        finally:
            pool.shutdown(wait=False)
    finally:
        client.close()


def _client(address):
    try:
        import distributed
    except ImportError as gap:
        try_ = "pip install 'whirlbench[cluster]'"
        raise InputError(_WHAT, "no dask.distributed on this computer", "that library", try_=try_) from gap
    try:
        return distributed.Client(address, timeout=_PATIENCE, set_as_default=False)
    except (OSError, ValueError) as silence:
        try_ = "look whether the scheduler runs and whether a firewall lets its port through"
        raise InputError(_WHAT, f"no answer from {address}", "a running scheduler", try_=try_) from silence


def _same_version(client, address):
    """Refuse a cluster whose workers would answer otherwise, or not at all."""
    found = client.run(importlib.metadata.version, "whirlbench", on_error="return")
    if not found:
        try_ = f"start some with 'dask worker {address}'"
        raise InputError(_WHAT, f"no workers at {address}", "at least one worker", try_=try_)
    for where, version in found.items():
        if version != __version__:  # or the error of a worker that has none
            try_ = "install the same version on every computer of the cluster"
            raise InputError(_WHAT, f"Whirlbench {version} on {where}", f"Whirlbench {__version__}", try_=try_)
