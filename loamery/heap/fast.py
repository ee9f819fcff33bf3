"""How the functions of the heap model are compiled."""

from __future__ import annotations

from numba import njit

SUMS = {"arcp", "contract", "nsz", "reassoc"}
"""Sums may be taken in another order and divisors inverted; what is not a number stays so, for the kernel looks for it."""

fast = njit(cache=True, error_model="numpy", fastmath=SUMS)
"""Kept on disk; a division by nought gives what is not a number, not an exception, which every division would be held up by."""
