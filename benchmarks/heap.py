"""Heaps per second beside scipy's solvers on the same equations at equal accuracy, and what a cell and step cost.

Equal accuracy: every solver is run at several tolerances; its error is the root mean square difference of all temperatures
from LSODA at a tolerance of 1e-7, its time at our error is read off between its own points (straight lines in logarithms).
Times are the shortest of several, of the process, so that what else the machine does weighs little.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from loamery.heap.layout import ACCOUNTS, STATES
from loamery.heap.model import CELLS as USUAL_CELLS
from loamery.heap.model import (
    LONGEST_STEP_DAYS,
    TOLERANCE_K,
    ensemble,
    events_of,
    heap_record,
    record_times_s,
    simulate,
    start_state,
)
from loamery.heap.parameters import parameter_values
from loamery.heap.rhs import MOVING, HeapEquations, in_units
from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather

DAYS, CELLS = 60.0, 20
STUFF = Stuff(0.60, 450, 0.46, 0.016, 0.10, 0.28, 0.47, 0.25, particle_m=0.006)
HEAP = HeapSpec(STUFF, volume_m3=1.0, weather=Weather.constant(15.0, 60, rain_mm_per_day=1.0))
OURS = (0.5, 0.25, 0.1, TOLERANCE_K, 0.01)
PEERS = {"LSODA": (1e-2, 1e-3, 1e-4, 1e-5), "BDF": (1e-2, 1e-3, 1e-4)}


def seconds(work: Callable[[], object], times: int = 1, clock: Callable[[], float] = time.process_time) -> float:
    """Return the shortest of some timings, s."""
    taken = []
    for _ in range(times):
        started = clock()
        work()
        taken.append(clock() - started)
    return min(taken)


def peer_temperatures(method: str, rtol: float) -> tuple[float, np.ndarray]:
    """Return the time scipy takes, s, and its temperatures, shape (times, cells)."""
    from scipy.integrate import solve_ivp

    equations = HeapEquations(HEAP, CELLS)
    rates, start, scale = in_units(equations)
    days = np.linspace(0.0, DAYS, 241)
    begun = time.process_time()
    found = solve_ivp(rates, (0.0, DAYS), start, method, days, rtol=rtol, atol=rtol * 0.01)
    taken = time.process_time() - begun
    state = (found.y.T * scale).reshape(days.size, CELLS, MOVING).transpose(0, 2, 1)
    return taken, np.array([equations.cell(one, 86400.0 * day)["temp"] for one, day in zip(state, days, strict=True)])


def rms(a: np.ndarray, b: np.ndarray) -> float:
    """Return the root mean square difference."""
    return float(np.sqrt(np.mean((a - b) ** 2)))


def at_error(points: list[tuple[float, float]], error: float) -> float:
    """Return the time at an error from (time, error) of several tolerances; beyond them, that of the nearest."""
    times, errors = np.log(np.array(sorted(points, key=lambda one: one[1]))).T
    return float(np.exp(np.interp(np.log(error), errors, times)))


def ours(exact: np.ndarray) -> dict[float, tuple[float, float]]:
    """Print and return time, s, and error, K, of our runs by tolerance."""
    found = {}
    for tolerance in OURS:
        how = {"tolerance_k": tolerance, "longest_step_days": max(0.125, min(0.5, tolerance))}
        run = simulate(HEAP, DAYS, CELLS, **how)
        taken = seconds(lambda how=how: simulate(HEAP, DAYS, CELLS, **how), 20)
        found[tolerance] = (taken, rms(run.temp_c, exact))
        usual = "  (the usual one)" if tolerance == TOLERANCE_K else ""
        print(f"ours, tolerance {tolerance:5.3f} K: {1 / taken:6.0f} heaps/s, {run.steps:5d} steps, off by {found[tolerance][1]:.4f} K,"
              f" {1e9 * taken / run.steps / CELLS:5.0f} ns per cell and step{usual}")  # fmt: skip
    return found


def compare() -> None:
    """Print what our runs and scipy's cost at equal error."""
    exact = peer_temperatures("LSODA", 1e-7)[1]
    found = ours(exact)
    for method, tolerances in PEERS.items():
        points = []
        for rtol in tolerances:
            taken, temp = peer_temperatures(method, rtol)
            points.append((taken, rms(temp, exact)))
            print(f"scipy {method:6s} rtol {rtol:.0e}: {taken:7.2f} s, off by {points[-1][1]:.4f} K")
        for tolerance, (taken, off) in found.items():
            inside = min(e for _, e in points) <= off <= max(e for _, e in points)
            words = "" if inside else "  (beyond its tolerances: that of the nearest)"
            print(
                f"  at our {off:.4f} K (tolerance {tolerance:g} K): ours is {at_error(points, off) / taken:5,.0f} times as fast{words}"
            )


def floor_ns(ours: bool = False, rounds: int = 20_000) -> float:
    """Return what a step's exponentials and tridiagonal solves cost alone, ns per cell and step.

    Counted in a run of the kernel without the compiler: 14.3 exponentials or logarithms per cell and step (radius 2, pore
    law 2, moisture 1, activity 1, ammonia 2, swelling and water activity 2, vapour and water activity in two stages 4, the
    rest in the record), of which 14 are timed, and two square roots for the power 1.75 of the diffusivity, independent of
    each other from cell to cell; two 2x2-block solves; of scalar ones two for oxygen (2.1 by Newton's method), and for
    ammonia one elimination with two substitutions.

    Parameters
    ----------
    ours : exponentials as the kernel writes them out, several cells at once, in place of those of the C library.
    """
    from numba import njit

    from loamery.heap.exponential import exponential

    @njit(error_model="numpy", fastmath={"arcp", "contract", "nsz", "reassoc"})
    def work(n: int, rounds: int) -> float:
        a, b, total, found = np.ones(n), np.ones(n), 0.0, np.ones((14, n))
        e, f, g, h, r, s = np.ones(n), np.ones(n), np.ones(n), np.ones(n), np.ones(n), np.ones(n)
        for k in range(rounds):
            # the order that is quicker for each
            if ours:
                for j in range(14):
                    for i in range(n):
                        found[j, i] = exponential(-1e-3 * (i + k % 7) - 0.01 * j)
            else:
                for i in range(n):
                    x = 1e-3 * (i + k % 7)
                    for j in range(14):
                        found[j, i] = np.exp(-x - 0.01 * j)
            for i in range(n):
                root = np.sqrt(1.1 + found[0, i])
                found[0, i] *= root * np.sqrt(root)
            for solve in range(4):
                if solve < 3:
                    before = 0.0
                    for i in range(n):
                        a[i] = 1.0 / (3.0 + found[0, i] - before)
                        before = a[i]
                before = 0.0
                for i in range(n):
                    before = (found[1, i] + before) * a[i]
                    b[i] = before
                for i in range(n - 2, -1, -1):
                    b[i] += a[i] * b[i + 1]
            for _ in range(2):
                for i in range(n):
                    m = max(i - 1, 0)
                    p, q = 3.0 + found[2, i] - 0.1 * e[m], 0.1 * f[m]
                    t, u = 0.1 * g[m], 3.0 + found[3, i] - 0.1 * h[m]
                    d = 1.0 / (p * u - q * t)
                    e[i], f[i], g[i], h[i] = d * u, d * q, d * t, d * p
                    r[i] = d * (u * (b[i] + r[m]) - q * (a[i] + s[m]))
                    s[i] = d * (p * (a[i] + s[m]) - t * (b[i] + r[m]))
                for i in range(n - 2, -1, -1):
                    r[i] -= e[i] * r[i + 1] + f[i] * s[i + 1]
                    s[i] -= g[i] * r[i + 1] + h[i] * s[i + 1]
            total += b[0] + r[0]
        return total

    work(CELLS, 10)
    return 1e9 * seconds(lambda: work(CELLS, rounds), 10) / rounds / CELLS


def kernel_ns() -> float:
    """Return what a step of the kernel costs, its record included, ns per cell and step."""
    from loamery.heap.kernel import run

    times, taken = record_times_s(DAYS, 0.25), []
    for _ in range(40):
        share, state = start_state(HEAP, CELLS)
        cells, books = np.zeros((times.size, STATES + 3, CELLS)), np.zeros((times.size, ACCOUNTS))
        control, counts = np.array([86400.0 * LONGEST_STEP_DAYS, TOLERANCE_K]), np.zeros(2, dtype=np.int64)
        p, h = parameter_values(HEAP.changes)[0], heap_record(HEAP)[0]
        begun = time.perf_counter()
        run(p, h, share, state, HEAP.weather.table, events_of(HEAP), times, control, cells, books, counts)
        taken.append((time.perf_counter() - begun) / counts[0])
    return 1e9 * min(taken) / CELLS


def threads_ratio(members: int = 64) -> float:
    """Return how many times faster two threads are than one on heaps of growing size; by the wall clock, so only when quiet."""
    import numba

    specs = [replace(HEAP, volume_m3=0.3 + 0.05 * i) for i in range(members)]
    ensemble(specs[:2], DAYS, CELLS)
    taken = {}
    for threads in (1, 2):
        numba.set_num_threads(threads)
        taken[threads] = seconds(lambda: ensemble(specs, DAYS, CELLS), 5, time.perf_counter)
    return taken[1] / taken[2]


def main() -> None:
    """Measure and print."""
    one = seconds(lambda: simulate(HEAP, DAYS, CELLS), 20)
    usual = seconds(lambda: simulate(HEAP, DAYS), 20)
    print(
        f"{DAYS:.0f} days: {1 / one:.0f} heaps/s with {CELLS} cells, {1 / usual:.0f} heaps/s with the usual {USUAL_CELLS}"
    )
    cell_ns = kernel_ns()
    for whose, floor in (("of the C library", floor_ns()), ("as the kernel writes them out", floor_ns(ours=True))):
        print(f"{cell_ns:.0f} ns per cell and step; tridiagonal solves and exponentials {whose} alone"
              f" {floor:.0f} ns: {cell_ns / floor:.2f} times that")  # fmt: skip
    if (os.cpu_count() or 1) > 1:
        print(f"two threads against one: {threads_ratio():.2f} times")
    compare()


if __name__ == "__main__":
    main()
