"""Heavy work in other processes: quick answers in one worker, long jobs in another that steps back.

The server itself loads no numeric library. A call is named by its text, ``module:function``, and takes plain values;
the worker imports it. Equal calls are made once: their answers are kept, and whoever asks meanwhile waits for the same.
"""

import asyncio
import concurrent.futures
import contextlib
import hashlib
import itertools
import json
import multiprocessing
import threading
from collections import OrderedDict
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass

from starlette.exceptions import HTTPException

from whirlbench.web import worker

_KEPT_BYTES, _SMALL = 16 << 20, 1 << 12  # of all answers, and what one counts that is no text
_MOST_WAITING, _MOST_JOBS = 400, 200


@dataclass
class Job:
    """A long piece of work and how it stands.

    Attributes
    ----------
    id : str
        Its name.
    team : int or None
        Whose it is.
    work : str
        Name of the work behind it: that of the job which began it, where several teams ask the same.
    stage, share : str and float
        What is being done, and the share of the work that is done.
    future : concurrent.futures.Future
        Its answer.
    stopped : bool
        Asked to end with what it has: no whole answer for anybody else.
    """

    id: str
    team: int | None
    work: str
    stage: str = "waiting"
    share: float = 0.0
    future: object = None
    stopped: bool = False

    @property
    def done(self):
        """Whether it has ended, one way or the other."""
        return self.future.done()


class Work:
    """The two workers, the answers that are kept, and the jobs.

    Parameters
    ----------
    told : callable
        Called from any thread with a job whenever it gets on.
    """

    def __init__(self, told=lambda job: None):
        self._context = multiprocessing.get_context("spawn")  # a forked one would hold browsers' connections open
        self._news, self._stop = self._context.SimpleQueue(), self._context.Event()
        self._quick, self._slow = self._pool(slow=False), self._pool(slow=True)
        self._kept, self._bytes, self._flying, self._jobs = OrderedDict(), 0, {}, OrderedDict()
        self._lock, self._numbers, self._told = threading.RLock(), itertools.count(1), told
        threading.Thread(target=self._listen, daemon=True).start()

    @property
    def waiting(self):
        """How many calls wait for the quick worker."""
        return len(self._flying)

    def warm(self, call, *given):
        """Have the quick worker load what a call needs; the slow one takes no memory before its first job."""
        return self._quick.submit(worker.run, call, given)

    async def ask(self, call, *given):
        """Answer of a call in the quick worker: bytes of JSON, or what the function made; plain values in."""
        key = key_of(call, given)
        if (found := self._look(key)) is not None:
            return found
        flying = self._flying.get(key)
        if flying is None:
            if len(self._flying) >= _MOST_WAITING:
                raise HTTPException(503, "The room is busy. Try again in a moment.", headers={"retry-after": "1"})
            flying = self._flying[key] = asyncio.ensure_future(self._fly(key, call, given))
            flying.add_done_callback(lambda _: self._flying.pop(key, None))
        return await asyncio.shield(flying)

    async def _fly(self, key, call, given):
        for again in (True, False):
            pool = self._quick
            try:
                answer = await asyncio.wrap_future(pool.submit(worker.run, call, given))
                break
            except (BrokenProcessPool, RuntimeError):
                if not again:
                    raise HTTPException(503, "The worker stopped twice. Try again.") from None
                self._mend(pool)
        self._keep(key, answer)
        return answer

    def start(self, team, call, *given):
        """Job that makes a call in the slow worker; one that was started before and still stands is given back.

        What another team has asked already is not made again: a class begins with sixty starter builds.
        """
        key = key_of(call, given)
        with self._lock:
            job = self._jobs.get((team, key))
            if job is None or _failed(job):
                job = self._begin(team, key, call, given)
                self._jobs[team, key] = job
                self._forget_jobs()
            self._jobs.move_to_end((team, key))
        return job

    def _begin(self, team, key, call, given):
        name = f"{next(self._numbers)}-{key[:8]}"
        alike = (one for (_, other), one in self._jobs.items() if other == key)
        same = next((one for one in alike if not (one.stopped or _failed(one))), None)
        if same is None:
            job = Job(name, team, name)
            job.future = self._send(job, call, given)
        else:
            job = Job(name, team, same.work, same.stage, same.share, same.future)
            job.future.add_done_callback(lambda _: self._told(job))
        return job

    def _send(self, job, call, given):
        for again in (True, False):
            pool = self._slow
            try:
                future = pool.submit(worker.run_job, job.id, call, given)
                future.add_done_callback(lambda _: self._told(job))
                return future
            except (BrokenProcessPool, RuntimeError):
                if not again:
                    raise
                self._mend(pool)
        return None

    def job(self, team, name):
        """Job of a team by its name, or None."""
        return next((one for one in self._jobs.values() if one.id == name and one.team == team), None)

    def cancel(self, job):
        """End a job: one that waits never begins, one that runs is asked to end with what it has.

        Where another team waits for the same, this team alone no longer does.
        """
        if job.done:
            return
        others = (one for one in list(self._jobs.values()) if one.work == job.work and one is not job)
        if any(not one.done for one in others):
            job.future = concurrent.futures.Future()
            job.future.cancel()
            self._told(job)
        elif not job.future.cancel():
            job.stopped = True
            self._stop.set()

    def close(self):
        """End both workers."""
        self._stop.set()
        for pool in (self._quick, self._slow):
            pool.shutdown(wait=False, cancel_futures=True)
        self._news.put(None)

    def _pool(self, *, slow):
        given = (self._news, self._stop, slow)
        return concurrent.futures.ProcessPoolExecutor(
            1, mp_context=self._context, initializer=worker.begin, initargs=given
        )

    def _mend(self, broken):
        with self._lock:
            if broken is self._quick:
                self._quick = self._pool(slow=False)
            elif broken is self._slow:
                self._slow = self._pool(slow=True)
        broken.shutdown(wait=False, cancel_futures=True)

    def _look(self, key):
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        return None

    def _keep(self, key, answer):
        with self._lock:
            self._kept[key] = answer
            self._bytes += _size(answer)
            while self._bytes > _KEPT_BYTES:
                _, old = self._kept.popitem(last=False)
                self._bytes -= _size(old)

    def _forget_jobs(self):
        for key, job in list(self._jobs.items()):
            if len(self._jobs) <= _MOST_JOBS:
                break
            if job.done:
                del self._jobs[key]

    def _listen(self):
        with contextlib.suppress(OSError, EOFError):  # the queue is gone when the server ends
            while (news := self._news.get()) is not None:
                name, stage, share = news
                for job in list(self._jobs.values()):
                    if job.work == name:
                        job.stage, job.share = stage, share
                        self._told(job)


def _failed(job):
    """Whether a job ended without an answer."""
    return job.done and (job.future.cancelled() or job.future.exception() is not None)


def _size(answer):
    return len(answer) if isinstance(answer, bytes | str) else _SMALL


def key_of(call, given):
    """Name of a call with what it is given."""
    return hashlib.sha256(json.dumps([call, given], sort_keys=True).encode()).hexdigest()
