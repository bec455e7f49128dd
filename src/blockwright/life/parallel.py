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
from collections.abc import Callable, Iterator, Sequence
from typing import Any, TypeVar

T = TypeVar("T")

#: Bytes of a task's number in the queue, and the most tasks whose numbers a pipe surely holds.
_WIDTH, _MOST = 2, 2000


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
    if not 2 <= len(tasks) <= _MOST or not (can_fork() if forked is None else forked):
        return [task() for task in tasks]
    queue = _queue(len(tasks))
    read_end, write_end = os.pipe()
    child = os.fork()
    if child == 0:
        _serve(tasks, queue, read_end, write_end)
    os.close(write_end)
    results: dict[int, Any] = {}
    try:
        for index in _taken(queue):
            results[index] = tasks[index]()
    finally:
        for _ in _taken(queue):  # after an error the child need not go on
            pass
        os.close(queue)
        with os.fdopen(read_end, "rb") as pipe:
            sent = pipe.read()
        os.waitpid(child, 0)
    theirs, error = pickle.loads(sent) if sent else ({}, None)
    if error is not None:
        raise error
    results |= theirs
    # A child that was killed sends nothing: its tasks are done here.
    return [results[i] if i in results else task() for i, task in enumerate(tasks)]


def _queue(count: int) -> int:
    """A pipe with the numbers of all tasks, from which each process takes the next when it is free."""
    taking, filling = os.pipe()
    os.write(filling, b"".join(index.to_bytes(_WIDTH, "big") for index in range(count)))
    os.close(filling)
    return taking


def _taken(queue: int) -> Iterator[int]:
    """Numbers taken from the queue one by one until it is empty."""
    while number := os.read(queue, _WIDTH):
        yield int.from_bytes(number, "big")


def _serve(tasks: Sequence[Callable[[], T]], queue: int, read_end: int, write_end: int) -> None:
    """The child's life: run, send, leave without the parent's clean-up."""
    status = 1
    try:
        os.close(read_end)
        answer: tuple[dict[int, T], BaseException | None]
        try:
            answer = {index: tasks[index]() for index in _taken(queue)}, None
        except Exception as error:
            answer = {}, error
        with os.fdopen(write_end, "wb") as pipe:
            pickle.dump(answer, pipe, protocol=pickle.HIGHEST_PROTOCOL)
        status = 0
    finally:
        os._exit(status)
