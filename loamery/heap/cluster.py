"""Many heaps: on the cores of this machine, or by the same call on the workers of a dask scheduler."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from typing import Any, TypeVar

import numpy as np

from loamery.errors import InputError, Where
from loamery.heap.model import TOLERANCE_K, ensemble
from loamery.heap.result import EnsembleRun
from loamery.heap.spec import HeapSpec
from loamery.say import say

T = TypeVar("T")
R = TypeVar("R")
Progress = Callable[[str], None]
CHUNK = 64
"""Heaps that are sent to a worker together: enough to keep its cores busy, few enough to show progress."""
WAIT_S = 10
MOST_AHEAD = 4
"""Pieces of work that wait on the scheduler for each core, so that thousands of heaps are not sent at once."""


def run_heaps(
    specs: Sequence[HeapSpec],
    days: float,
    cells: int = 20,
    *,
    every_days: float = 1.0,
    tolerance_k: float = TOLERANCE_K,
    scheduler: Any = None,
    progress: Progress = lambda _: None,
) -> EnsembleRun:
    """Return many heaps, the same to the last digit wherever they are run.

    Parameters
    ----------
    specs, days, cells, every_days, tolerance_k : as for `ensemble`.
    scheduler : address of a dask scheduler, or a client of one; this machine when None.
    progress : told how many heaps are done.

    Raises
    ------
    InputError : a spec cannot be used, or there is no scheduler at the address.
    HeapFailed : a member could not be solved.
    """
    run = partial(ensemble, days=days, cells=cells, every_days=every_days, tolerance_k=tolerance_k)
    if len(specs) <= CHUNK and scheduler is None:
        return run(specs)
    chunks = [specs[at : at + CHUNK] for at in range(0, len(specs), CHUNK)]
    parts = spread(run, chunks, scheduler=scheduler, progress=progress, sizes=[len(one) for one in chunks])
    if not parts:
        raise InputError(say("no heaps"), expected=say("at least one heap"), remedy=say("give the heaps to run"))
    return EnsembleRun(
        tuple(specs), parts[0].day, np.concatenate([one.record for one in parts]),
        np.concatenate([one.accounts for one in parts]),
    )  # fmt: skip


def spread(
    work: Callable[[T], R],
    items: Sequence[T],
    *,
    scheduler: Any = None,
    progress: Progress = lambda _: None,
    sizes: Sequence[int] | None = None,
) -> list[R]:
    """Return the work done on each item, in their order, here or on the workers of a dask scheduler.

    Parameters
    ----------
    work : a function that can be sent to another process.
    sizes : heaps in each item; one each when None.
    """
    counts = list(sizes) if sizes is not None else [1] * len(items)
    whole, done = sum(counts), 0
    out: dict[int, R] = {}
    for place, result in _here(work, items) if scheduler is None else _there(work, items, scheduler):
        out[place] = result
        done += counts[place]
        progress(f"{done} of {whole} heaps")
    return [out[place] for place in range(len(items))]


def _here(work: Callable[[T], R], items: Sequence[T]) -> Iterator[tuple[int, R]]:
    for place, one in enumerate(items):
        yield place, work(one)


def _there(work: Callable[[T], R], items: Sequence[T], scheduler: Any) -> Iterator[tuple[int, R]]:
    """Yield each piece as it comes back; no more are sent than the cores can soon take."""
    from distributed import as_completed

    with _client(scheduler) as client:
        ahead = MOST_AHEAD * max(sum(client.nthreads().values()), 1)
        waiting = iter(enumerate(items))
        places: dict[Any, int] = {}

        def send() -> Any:
            found = next(waiting, None)
            if found is None:
                return None
            future = client.submit(_on_worker, work, found[1], pure=False)
            places[future.key] = found[0]
            return future

        first = [future for _ in range(ahead) if (future := send()) is not None]
        coming = as_completed(first, loop=client.loop)
        for future in coming:
            yield places[future.key], future.result()
            following = send()
            if following is not None:
                coming.add(following)


def _on_worker(work: Callable[[T], R], item: T) -> R:
    """Do a piece of work on the cores that this worker was given, no more: others share the machine."""
    import numba
    from distributed import get_worker

    numba.set_num_threads(min(max(get_worker().state.nthreads, 1), numba.config.NUMBA_NUM_THREADS))
    return work(item)


@contextmanager
def _client(scheduler: Any) -> Iterator[Any]:
    """Yield a client: the one given, or a new one of the scheduler at an address, closed at the end."""
    from distributed import Client

    if not isinstance(scheduler, str):
        yield scheduler
        return
    try:
        client = Client(scheduler, timeout=WAIT_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise InputError(
            say("“{scheduler}” ({failure})", scheduler=scheduler, failure=str(error).splitlines()[0] if str(error) else type(error).__name__), where=Where(column="--cluster"),
            expected=say("the address of a dask scheduler that runs, such as tcp://10.0.0.5:8786"),
            remedy=say("start one with `dask scheduler` and workers with `dask worker`, where Loamery is installed, or "
"leave the option out"),
        ) from None  # fmt: skip
    try:
        if not client.nthreads():
            raise InputError(
                say("“{scheduler}” has no workers", scheduler=scheduler), where=Where(column="--cluster"), expected=say("at least one worker"),
                remedy=say("start one with `dask worker ADDRESS`, where Loamery is installed"),
            )  # fmt: skip
        yield client
    finally:
        client.close()
