"""Tasks on two cores: same results in the same order, errors kept, a lost child made good."""

from __future__ import annotations

import os
import signal
import sys
import time

import numpy as np
import pytest

from blockwright.errors import InputError
from blockwright.life.parallel import run_all

pytestmark = [
    pytest.mark.skipif(sys.platform != "linux", reason="a child is forked on Linux only"),
    pytest.mark.filterwarnings("ignore:This process:DeprecationWarning"),
]


@pytest.mark.parametrize("forked", [True, False])
@pytest.mark.parametrize("count", [0, 1, 2, 5, 8])
def test_order_is_kept(forked, count):
    tasks = [lambda i=i: np.full(3, i) for i in range(count)]
    assert [int(r[0]) for r in run_all(tasks, forked)] == list(range(count))


@pytest.mark.parametrize("place", [0, 1])
def test_first_error_is_raised_as_it_was(place):
    def wrong():
        raise InputError("bore: read 0")

    tasks = [lambda: 1, lambda: 2]
    tasks[place] = wrong
    with pytest.raises(InputError, match="bore: read 0"):
        run_all(tasks, forked=True)


def test_a_killed_child_is_made_good():
    parent = os.getpid()

    def dies_in_the_child():
        if os.getpid() != parent:
            os.kill(os.getpid(), signal.SIGKILL)
        return "done here"

    assert run_all([lambda: "own", dies_in_the_child], forked=True) == ["own", "done here"]


def test_a_large_result_does_not_block():
    """More than a pipe holds: the child must not wait for a parent that waits for it."""
    results = run_all([lambda: np.ones(10), lambda: np.arange(2_000_000)], forked=True)
    assert results[1][-1] == 1_999_999


def test_tasks_go_to_whoever_is_free():
    """One long task and many short ones: the short ones do not wait behind it."""
    parent = os.getpid()

    def long_in_the_child():
        time.sleep(0.5)
        return os.getpid()

    took = run_all([long_in_the_child, *[lambda: time.sleep(0.02) or os.getpid()] * 6], forked=True)
    assert len({took[0], *took[1:]}) == 2
    assert took.count(took[0]) == 1
    assert parent in took
