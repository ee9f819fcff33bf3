"""Many heaps on the workers of a dask scheduler beside the same heaps on the threads of one process: ``python -m benchmarks.cluster``.

A scheduler and its workers are started on this machine, one worker for each core and one thread each; sending heaps there and
records back is what the ratio shows. Invented heaps, 30 days, 14 cells.
"""

from __future__ import annotations

import os
import time

from benchmarks.heap import HEAP
from loamery.heap.cluster import run_heaps

HEAPS, DAYS, CELLS, ADDED_L = 512, 30, 14, 0.001


def heaps(count: int) -> list:
    """Return heaps of slightly different size."""
    from dataclasses import replace

    return [replace(HEAP, volume_m3=0.5 + ADDED_L * number) for number in range(count)]


def timed(count: int, scheduler=None) -> float:
    """Return the seconds that many heaps take."""
    specs = heaps(count)
    start = time.perf_counter()
    run_heaps(specs, DAYS, CELLS, scheduler=scheduler)
    return time.perf_counter() - start


def main() -> None:
    """Print heaps per second here and on the workers, and their ratio."""
    from distributed import LocalCluster

    cores = os.cpu_count() or 1
    timed(8)
    here = timed(HEAPS)
    with LocalCluster(n_workers=cores, threads_per_worker=1, processes=True, dashboard_address=None) as cluster:
        timed(8 * cores, cluster.scheduler_address)  # workers load the compiled kernel
        there = timed(HEAPS, cluster.scheduler_address)
    print(f"{HEAPS} heaps of {DAYS} days, {CELLS} cells, {cores} cores")
    print(f"{'one process, its threads':<30}{HEAPS / here:>8.0f} heaps/s")
    print(f"{f'{cores} workers of a scheduler':<30}{HEAPS / there:>8.0f} heaps/s   ratio {here / there:.2f}")


if __name__ == "__main__":
    main()
