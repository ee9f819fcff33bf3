"""Writers that wait for each other anyway share one transaction: each stands or falls alone, the disk is waited for once.

A database lets one writer into a garden at a time and waits for the disk at every commit. Whoever comes while another
writes is written with all the others who came meanwhile, in the order in which they came, by the first of them.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any, TypeVar

from django.db import connection, transaction

T = TypeVar("T")


class _Job:
    """What one writer wants written, and what became of it."""

    def __init__(self, write: Callable[[], Any]) -> None:
        self.write = write
        self.done = False
        self.value: Any = None
        self.failed: BaseException | None = None

    def run(self) -> None:
        """Write, or leave no trace and keep why."""
        try:
            with transaction.atomic():
                self.value = self.write()
        except Exception as error:
            self.failed = error


_waiting: list[_Job] = []
_list, _leading = threading.Lock(), threading.Lock()


def together(write: Callable[[], T]) -> T:
    """Write in a transaction and return what was written, once it is kept for good.

    Parameters
    ----------
    write : may be called by another thread than this one. Inside a transaction that is open already it becomes part of that.
    """
    if connection.in_atomic_block:
        with transaction.atomic():
            return write()
    job = _Job(write)
    with _list:
        _waiting.append(job)
    with _leading:
        if not job.done:
            _lead()
    if job.failed is not None:
        raise job.failed
    value: T = job.value
    return value


def _lead() -> None:
    with _list:
        jobs = list(_waiting)
        _waiting.clear()
    try:
        if len(jobs) == 1:
            jobs[0].run()
            return
        with transaction.atomic():
            for one in jobs:
                one.run()
    except BaseException as error:  # the commit itself: then nothing of all this is kept
        for one in jobs:
            one.failed = one.failed or error
    finally:
        for one in jobs:
            one.done = True
