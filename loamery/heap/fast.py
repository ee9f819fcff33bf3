"""How the functions of the heap model are compiled."""

from __future__ import annotations

from numba import njit

fast = njit(cache=True, error_model="numpy")
"""Kept on disk; a division by nought gives what is not a number, not an exception, which every division would be held up by.

Sums keep their order. Leave to reorder them would save a tenth of the time, but then the process that compiles and those
that load what it compiled no longer give the same digits.
"""
