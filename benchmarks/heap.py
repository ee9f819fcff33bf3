"""Heaps per second beside scipy's solvers on the same equations at equal accuracy, and what a cell and step cost."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from loamery.heap.model import ensemble, simulate
from loamery.heap.rhs import MOVING, HeapEquations, in_units
from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather

DAYS, CELLS = 60.0, 20
STUFF = Stuff(0.60, 450, 0.46, 0.016, 0.10, 0.28, 0.47, 0.25, particle_m=0.006)
HEAP = HeapSpec(STUFF, volume_m3=1.0, weather=Weather.constant(15.0, 60, rain_mm_per_day=1.0))


def seconds(work: Callable[[], object], times: int = 1) -> float:
    """Return the shortest of some timings, s."""
    taken = []
    for _ in range(times):
        started = time.perf_counter()
        work()
        taken.append(time.perf_counter() - started)
    return min(taken)


def peer_temperatures(method: str, rtol: float) -> tuple[float, np.ndarray]:
    """Return the time scipy takes, s, and its temperatures, shape (times, cells)."""
    from scipy.integrate import solve_ivp

    equations = HeapEquations(HEAP, CELLS)
    rates, start, scale = in_units(equations)
    days = np.linspace(0.0, DAYS, 241)
    begun = time.perf_counter()
    found = solve_ivp(rates, (0.0, DAYS), start, method, days, rtol=rtol, atol=rtol * 0.01)
    taken = time.perf_counter() - begun
    state = (found.y.T * scale).reshape(days.size, CELLS, MOVING).transpose(0, 2, 1)
    return taken, np.array([equations.cell(one, 86400.0 * day)["temp"] for one, day in zip(state, days, strict=True)])


def rms(a: np.ndarray, b: np.ndarray) -> float:
    """Return the root mean square difference."""
    return float(np.sqrt(np.mean((a - b) ** 2)))


def floor_ns(rounds: int = 200_000) -> float:
    """Return what a step's exponentials and tridiagonal solves cost alone, ns per cell and step.

    Counted in the code: 14 exponentials or logarithms per cell (shrinkage 2, radius 2, pore law 2, moisture 1, activity 1,
    ammonia 2, vapour and water activity in two stages 4), two 2x2-block solves, and five scalar ones (ammonia 2, oxygen
    about 3 by Newton's method).
    """
    from numba import njit

    @njit
    def work(n: int, rounds: int) -> float:
        a, b, total = np.ones(n), np.ones(n), 0.0
        e, f, g, r, s = np.ones(n), np.ones(n), np.ones(n), np.ones(n), np.ones(n)
        for k in range(rounds):
            for i in range(n):
                x = 1e-3 * (i + k % 7)
                for j in range(14):
                    x = np.exp(-x - 0.01 * j)
                a[i] = 3.0 + x
            for _ in range(5):
                for i in range(1, n):
                    w = 1.0 / a[i - 1]
                    a[i] -= 0.1 * w
                    b[i] += w * b[i - 1]
                b[n - 1] /= a[n - 1]
                for i in range(n - 2, -1, -1):
                    b[i] = (b[i] + b[i + 1]) / (a[i] + 3.0)
            for _ in range(2):
                for i in range(1, n):
                    p, q = 3.0 - 0.1 * e[i - 1], 0.1 * f[i - 1]
                    t, u = 0.1 * g[i - 1], 3.0 - 0.1 * e[i - 1]
                    d = 1.0 / (p * u - q * t)
                    e[i], f[i], g[i] = d * u, d * q, d * t
                    r[i], s[i] = d * (u * b[i] - q * a[i]), d * (p * a[i] - t * b[i])
                for i in range(n - 2, -1, -1):
                    r[i] -= e[i] * r[i + 1] + f[i] * s[i + 1]
                    s[i] -= g[i] * r[i + 1] + e[i] * s[i + 1]
            total += b[0] + r[0]
        return total

    work(CELLS, 10)
    return 1e9 * seconds(lambda: work(CELLS, rounds), 3) / rounds / CELLS


def threads_ratio(members: int = 64) -> float:
    """Return how many times faster two threads are than one."""
    import numba

    specs = [replace(HEAP, volume_m3=0.3 + 0.05 * i) for i in range(members)]
    ensemble(specs[:2], DAYS, CELLS)
    taken = {}
    for threads in (1, 2):
        numba.set_num_threads(threads)
        taken[threads] = seconds(lambda: ensemble(specs, DAYS, CELLS), 3)
    return taken[1] / taken[2]


def main() -> None:
    """Measure and print."""
    run = simulate(HEAP, DAYS, CELLS)
    exact = simulate(HEAP, DAYS, CELLS, tolerance_k=0.002, longest_step_days=0.005).temp_c
    loose = {"tolerance_k": 0.25, "longest_step_days": 0.25}
    for name, how in (("default", {}), ("loose", loose)):
        run = simulate(HEAP, DAYS, CELLS, **how)
        taken = seconds(lambda how=how: simulate(HEAP, DAYS, CELLS, **how), 10)
        print(f"ours, {name:8s}{1 / taken:8.0f} heaps/s  {1e9 * taken / run.steps / CELLS:6.0f} ns per cell and step"
              f"  {run.steps} steps, temperature off by {rms(run.temp_c, exact):.4f} K rms")  # fmt: skip
        if name == "default":
            ours, off = taken, rms(run.temp_c, exact)
            cell_ns = 1e9 * taken / run.steps / CELLS
    for method, rtol in (("LSODA", 1e-3), ("LSODA", 1e-4), ("BDF", 1e-3)):
        taken, temp = peer_temperatures(method, rtol)
        print(f"scipy {method:6s} rtol {rtol:.0e}: {taken:7.2f} s, off by {rms(temp, exact):.4f} K rms; ours {off:.4f} K;"
              f" ours is {taken / ours:,.0f} times as fast")  # fmt: skip
    floor = floor_ns()
    print(
        f"exponentials and tridiagonal solves alone: {floor:.0f} ns per cell and step; ours {cell_ns / floor:.1f} times that"
    )
    if (os.cpu_count() or 1) > 1:
        print(f"two threads against one: {threads_ratio():.2f} times")


if __name__ == "__main__":
    main()
