"""The peer: HiGHS alone. Its own running time is taken inside the same call, so both figures are of one process."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from unittest.mock import patch


@dataclass
class Clock:
    """Seconds and calls of HiGHS."""

    seconds: float = 0.0
    calls: int = 0


@contextmanager
def highs_alone() -> Iterator[Clock]:
    """Count the time spent inside HiGHS while the block runs."""
    import highspy

    clock = Clock()
    silent, loud = highspy._Highs.run, highspy.Highs.run

    def timed(original):
        def run(engine):
            started = time.perf_counter()
            try:
                return original(engine)
            finally:
                clock.seconds += time.perf_counter() - started
                clock.calls += 1

        return run

    # Highs.run calls _Highs.run, so only the outermost one is counted for it
    with (
        patch.object(highspy._Highs, "run", timed(silent)),
        patch.object(highspy.Highs, "run", timed_outer(loud, clock)),
    ):
        yield clock


def timed_outer(original, clock: Clock):
    """Return a run that leaves the counting to the run inside it, when there is one."""

    def run(engine):
        before, started = clock.calls, time.perf_counter()
        out = original(engine)
        if clock.calls == before:
            clock.seconds += time.perf_counter() - started
            clock.calls += 1
        return out

    return run
