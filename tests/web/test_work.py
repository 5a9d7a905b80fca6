"""The workers behind the page: a killed one is replaced, for long jobs too."""

import concurrent.futures
import os
import signal
from concurrent.futures.process import BrokenProcessPool

import pytest

from whirlbench.web.work import Work


def test_a_job_goes_on_with_a_new_worker_after_the_old_one_was_killed():
    work = Work()
    try:
        pid = work._slow.submit(os.getpid).result(60)
        os.kill(pid, signal.SIGKILL)
        with pytest.raises(BrokenProcessPool):
            work._slow.submit(os.getpid).result(60)
        with concurrent.futures.ThreadPoolExecutor(1) as caller:  # a start that waits for itself would never end
            job = caller.submit(work.start, 1, "builtins:int").result(60)
        with pytest.raises(TypeError):
            job.future.result(60)
    finally:
        work.close()
