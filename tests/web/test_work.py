"""The workers behind the page: a killed one is replaced, for long jobs too."""

import concurrent.futures
import os
import signal
import time
from concurrent.futures.process import BrokenProcessPool

import pytest

from whirlbench.web.work import Work

SUM, UNTIL = "web_jobs:slow_sum", "web_jobs:until_stopped"


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


def test_what_several_teams_ask_is_made_once(tmp_path):
    told, place = [], str(tmp_path / "made")
    work = Work(told.append)
    try:
        jobs = [work.start(team, SUM, place, 3, 4) for team in (1, 2, 3)]
        other = work.start(1, SUM, place, 5, 5)
        assert [job.future.result(60) for job in jobs] == ["7"] * 3
        assert other.future.result(60) == "10"
        assert len({job.id for job in jobs}) == 3
        assert (tmp_path / "made").read_text(encoding="utf-8") == "made\nmade\n"
        assert work.job(1, jobs[1].id) is None
        for _ in range(100):
            if {job.id for job in jobs} <= {job.id for job in told} and all(job.share == 0.5 for job in jobs):
                break
            time.sleep(0.05)
        assert {job.id for job in jobs} <= {job.id for job in told}
    finally:
        work.close()


def test_a_team_that_no_longer_waits_ends_nobody_elses_work(tmp_path):
    work = Work()
    try:
        one, other = (work.start(team, SUM, str(tmp_path / "made"), 1, 2) for team in (1, 2))
        work.cancel(one)
        assert one.done
        assert other.future.result(60) == "3"
        again = work.start(1, SUM, str(tmp_path / "made"), 1, 2)
        assert again.future.result(60) == "3"
    finally:
        work.close()


def begun(job):
    """Wait until a job has told how far it is."""
    for _ in range(1200):
        if job.share == 0.5:
            return
        time.sleep(0.05)
    raise AssertionError(job)


def test_all_who_wait_for_a_work_hear_how_far_it_is(tmp_path):
    work = Work()
    try:
        jobs = [work.start(team, UNTIL, str(tmp_path / "go")) for team in (1, 2)]
        for job in jobs:
            begun(job)
        (tmp_path / "go").touch()
        assert [job.future.result(60) for job in jobs] == ["whole"] * 2
    finally:
        work.close()


def test_a_work_goes_on_until_the_last_who_waits_stops_it(tmp_path):
    told = []
    work = Work(told.append)
    try:
        one, other = (work.start(team, UNTIL, str(tmp_path / "go")) for team in (1, 2))
        begun(other)
        work.cancel(one)
        assert one.done
        assert not other.done
        assert told[-1] is one
        work.cancel(other)
        assert other.future.result(60) == "cut short"
    finally:
        work.close()


def test_what_one_team_cut_short_is_made_whole_for_the_next(tmp_path):
    work = Work()
    try:
        one = work.start(1, UNTIL, str(tmp_path / "go"))
        begun(one)
        work.cancel(one)
        assert one.future.result(60) == "cut short"
        (tmp_path / "go").touch()
        assert work.start(2, UNTIL, str(tmp_path / "go")).future.result(60) == "whole"
    finally:
        work.close()
