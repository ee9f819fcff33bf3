"""Exponential and logarithm written out, so that the compiler takes several cells at once.

A call of the C library is made cell by cell; in a loop over cells that was a quarter of the time of a step. Both are right to two
units in the last place where the heap needs them (tests/heap/test_exponential.py compares them with the C library).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import config, types
from numba.extending import intrinsic

from loamery.heap.fast import fast

PER_LN2 = 1.0 / math.log(2.0)
LN2_HIGH, LN2_LOW = float.fromhex("0x1.62e42fefa0000p-1"), float.fromhex("0x1.cf79abc9e3b3ap-40")
"""Together the logarithm of 2; a whole number times the first is exact (Cody and Waite 1980)."""
E2, E3, E4, E5, E6, E7, E8, E9, E10, E11, E12, E13 = (1.0 / math.factorial(k) for k in range(2, 14))
L3, L5, L7, L9, L11, L13, L15, L17, L19, L21 = (2.0 / k for k in range(3, 22, 2))
MOST = 700.0
"""Beyond, the exponential is held: twice as much is no number of a computer."""
MANTISSA, BIAS = 52, 1023
ROOT_HALF_BITS = 0x3FE6A09E667F3BCD
"""The number half a power of two below 1, as a whole number."""


@intrinsic
def _float_of(typing: Any, bits: Any) -> Any:
    """Read the 64 bits of a whole number as a number."""

    def build(context: Any, builder: Any, signature: Any, given: Any) -> Any:
        return builder.bitcast(given[0], context.get_value_type(types.float64))

    return types.float64(types.int64), build


@intrinsic
def _bits_of(typing: Any, number: Any) -> Any:
    """Read the 64 bits of a number as a whole number."""

    def build(context: Any, builder: Any, signature: Any, given: Any) -> Any:
        return builder.bitcast(given[0], context.get_value_type(types.int64))

    return types.int64(types.float64), build


@fast
def _exponential(x: float) -> float:
    held = min(max(x, -MOST), MOST)
    twos = np.floor(held * PER_LN2 + 0.5)
    r = (held - twos * LN2_HIGH) - twos * LN2_LOW
    # Taylor's series on half a power of two either side, summed by pairs
    r2 = r * r
    r4 = r2 * r2
    low = (1.0 + r) + r2 * (E2 + E3 * r)
    middle = (E4 + E5 * r) + r2 * (E6 + E7 * r)
    high = (E8 + E9 * r) + r2 * (E10 + E11 * r) + r4 * (E12 + E13 * r)
    return (low + r4 * (middle + r4 * high)) * _float_of((np.int64(np.int32(twos)) + BIAS) << MANTISSA)


@fast
def _logarithm(x: float) -> float:
    bits = _bits_of(x)
    twos = np.int32((bits - ROOT_HALF_BITS) >> MANTISSA)
    m = _float_of(bits - (np.int64(twos) << MANTISSA))
    # ln m = 2 artanh s
    s = (m - 1.0) / (m + 1.0)
    z = s * s
    z2 = z * z
    low = L3 + L5 * z + z2 * (L7 + L9 * z)
    high = L11 + L13 * z + z2 * (L15 + L17 * z) + z2 * z2 * (L19 + L21 * z)
    return twos * LN2_HIGH + (twos * LN2_LOW + (2.0 * s + s * z * (low + z2 * z2 * high)))


exponential = math.exp if config.DISABLE_JIT else _exponential
"""Return e to the power x; x is held within 700 of nought."""
logarithm = math.log if config.DISABLE_JIT else _logarithm
"""Return the natural logarithm of a normal number above nought."""
