"""How the functions of the heap model are compiled."""

from __future__ import annotations

import llvmlite.binding as llvm
from numba import njit

# A heap has a dozen to some dozens of cells. Where the machine takes eight at once, up to seven are left over at the end of
# each row; without this word to the compiler it takes those one by one, and a step costs a sixth more. It changes no digit,
# and a compiler that does not know it passes over it.
llvm.set_option("loamery", "--epilogue-vectorization-force-VF=4")

fast = njit(cache=True, error_model="numpy")
"""Kept on disk; a division by nought gives what is not a number, not an exception, which every division would be held up by.

Sums keep their order. Leave to reorder them would save a tenth of the time, but then the process that compiles and those
that load what it compiled no longer give the same digits.
"""
