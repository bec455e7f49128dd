"""Run independent tasks on two processor cores.

The tasks are many short NumPy calls, which threads would only take in turns.  On Linux a forked
child sees everything already computed, without copying, and sends back its results.  Elsewhere,
and where other threads run (a fork would copy their locks as they stand), the tasks are run one
after the other.
"""

from __future__ import annotations

import os
import pickle
import sys
import threading
from collections.abc import Callable, Sequence
from typing import Any, TypeVar

T = TypeVar("T")


def can_fork() -> bool:
    """Whether a forked child is safe and of use here."""
    return sys.platform == "linux" and threading.active_count() == 1 and (os.cpu_count() or 1) > 1


def run_all(tasks: Sequence[Callable[[], T]], forked: bool | None = None) -> list[T]:
    """Results of all tasks, in order; the first error of any is raised.

    Parameters
    ----------
    tasks : sequence of callables without arguments
        They must not depend on one another; what they change in memory may be lost.
    forked : bool or None
        Whether to use a child process; None: where it is safe.
    """
    if len(tasks) < 2 or not (can_fork() if forked is None else forked):
        return [task() for task in tasks]
    read_end, write_end = os.pipe()
    child = os.fork()
    if child == 0:
        _serve(tasks[1::2], read_end, write_end)
    os.close(write_end)
    own: list[Any] = []
    try:
        own = [task() for task in tasks[0::2]]
    finally:
        with os.fdopen(read_end, "rb") as pipe:
            sent = pipe.read()
        os.waitpid(child, 0)
    # A child that was killed sends nothing: its tasks are done here.
    theirs, error = pickle.loads(sent) if sent else ([task() for task in tasks[1::2]], None)
    if error is not None:
        raise error
    results: list[Any] = [None] * len(tasks)
    results[0::2], results[1::2] = own, theirs
    return results


def _serve(tasks: Sequence[Callable[[], T]], read_end: int, write_end: int) -> None:
    """The child's life: run, send, leave without the parent's clean-up."""
    status = 1
    try:
        os.close(read_end)
        answer: tuple[list[T] | None, BaseException | None]
        try:
            answer = [task() for task in tasks], None
        except Exception as error:
            answer = None, error
        with os.fdopen(write_end, "wb") as pipe:
            pickle.dump(answer, pipe, protocol=pickle.HIGHEST_PROTOCOL)
        status = 0
    finally:
        os._exit(status)
