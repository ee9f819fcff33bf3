"""Bed seasons per second beside scipy's LSODA on the same equations at equal accuracy, and how time grows with beds and draws."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from validation.check_bed_oracle import DOSE, one_matter, ours, peer

KIND = "straw-wheat"


def seconds(work: Callable[[], object], times: int = 3) -> float:
    """Return the shortest of some timings, s."""
    taken = []
    for _ in range(times):
        started = time.perf_counter()
        work()
        taken.append(time.perf_counter() - started)
    return min(taken)


def off(net: np.ndarray, exact: np.ndarray) -> float:
    """Return the largest difference of net nitrogen, share of the nitrogen given."""
    return float(np.abs(net - exact).max() / (DOSE * float(one_matter(KIND).organic_n[0])))


def main() -> None:
    """Measure and print."""
    exact = peer(KIND, 1e-10)[0]
    mine = off(np.cumsum(ours(KIND).net_n[:, 0, 0, 0]), exact)
    rates = {}
    for beds, draws in ((1, 1), (1, 100), (12, 100), (12, 1000)):
        taken = seconds(lambda beds=beds, draws=draws: ours(KIND, beds, draws), 2)
        rates[beds * draws] = beds * draws / taken
        print(
            f"ours, {beds:2d} beds x {draws:4d} draws: {taken:6.3f} s, {rates[beds * draws]:9,.0f} seasons/s, off by {mine:.1e} of the nitrogen given"
        )
    for rtol in (1e-2, 1e-3, 1e-6):
        taken = seconds(lambda rtol=rtol: peer(KIND, rtol))
        wrong = off(peer(KIND, rtol)[0], exact)
        equal = "  <- no more exact than ours" if wrong >= mine else ""
        print(
            f"scipy LSODA rtol {rtol:.0e}: {1 / taken:7.0f} seasons/s, off by {wrong:.1e}; ours is {max(rates.values()) * taken:6.1f} times as fast in bulk{equal}"
        )


if __name__ == "__main__":
    main()
