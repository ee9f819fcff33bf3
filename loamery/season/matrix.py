"""A linear programme under construction: blocks of columns and rows that keep their shape, and aims to minimise.

A block is an array of column (or row) numbers, so a constraint is written with the indices of the maths and numpy's
broadcasting: ``m.put(nitrogen[None, :, :], given[:, :, None], n[:, None, :])``. Numbers of -1 stand for what a mask left
out; `put` skips them, and coefficients of zero.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]
INFINITY = np.inf


@dataclass
class _Axis:
    """Columns or rows: their bounds, by block."""

    blocks: dict[str, Index] = field(default_factory=dict)
    lower: list[Array] = field(default_factory=list)
    upper: list[Array] = field(default_factory=list)
    count: int = 0

    def add(self, name: str, shape: tuple[int, ...], lower: ArrayLike, upper: ArrayLike, where: ArrayLike) -> Index:
        kept = np.broadcast_to(np.asarray(where, dtype=bool), shape)
        block = np.full(shape, -1, dtype=np.int64)
        block[kept] = self.count + np.arange(int(kept.sum()))
        self.count += int(kept.sum())
        self.lower.append(np.broadcast_to(np.asarray(lower, dtype=float), shape)[kept])
        self.upper.append(np.broadcast_to(np.asarray(upper, dtype=float), shape)[kept])
        self.blocks[name] = block
        return block


class Matrix:
    """Columns, rows, coefficients and aims."""

    def __init__(self) -> None:
        self._columns, self._rows = _Axis(), _Axis()
        self._whole: list[Index] = []
        self._entries: list[tuple[Index, Index, Array]] = []
        self._aims: dict[str, list[tuple[Index, Array]]] = {}

    def columns(
        self,
        name: str,
        shape: tuple[int, ...],
        *,
        lower: ArrayLike = 0.0,
        upper: ArrayLike = INFINITY,
        where: ArrayLike = True,
        whole: bool = False,
    ) -> Index:
        """Add a block of columns and return their numbers; -1 where the mask leaves one out."""
        block = self._columns.add(name, shape, lower, upper, where)
        if whole:
            self._whole.append(block[block >= 0])
        return block

    def rows(
        self,
        name: str,
        shape: tuple[int, ...],
        *,
        lower: ArrayLike = -INFINITY,
        upper: ArrayLike = INFINITY,
        where: ArrayLike = True,
    ) -> Index:
        """Add a block of rows, lower <= coefficients times columns <= upper, and return their numbers."""
        return self._rows.add(name, shape, lower, upper, where)

    def put(self, rows: Index, columns: Index, values: ArrayLike = 1.0) -> None:
        """Add coefficients; the three arrays broadcast against each other."""
        row, column, value = np.broadcast_arrays(rows, columns, np.asarray(values, dtype=float))
        kept = (row >= 0) & (column >= 0) & (value != 0.0)
        self._entries.append((row[kept], column[kept], value[kept]))

    def aim(self, name: str, columns: Index, values: ArrayLike) -> None:
        """Add terms to what is minimised under a name."""
        column, value = np.broadcast_arrays(columns, np.asarray(values, dtype=float))
        kept = column >= 0
        self._aims.setdefault(name, []).append((column[kept], value[kept]))

    def cost(self, name: str) -> Array:
        """Return the cost of every column under an aim."""
        out = np.zeros(self._columns.count)
        for column, value in self._aims.get(name, []):
            np.add.at(out, column, value)
        return out

    def block(self, name: str) -> Index:
        """Return the columns of a block."""
        return self._columns.blocks[name]

    @property
    def row_blocks(self) -> dict[str, Index]:
        """Return the numbers of the rows, by block."""
        return dict(self._rows.blocks)

    def read(self, name: str, values: Array) -> Array:
        """Return the values of a block of columns in its own shape; 0 where it was left out."""
        return _spread_out(self._columns.blocks[name], values)

    def read_rows(self, values: Array) -> dict[str, Array]:
        """Return one figure of every row, by block, in the block's own shape; 0 where a row was left out."""
        return {name: _spread_out(block, values) for name, block in self._rows.blocks.items()}

    @property
    def whole(self) -> Index:
        """Return the columns that must be whole numbers."""
        return np.concatenate(self._whole) if self._whole else np.zeros(0, dtype=np.int64)

    @property
    def shape(self) -> tuple[int, int]:
        """Return the number of rows and of columns."""
        return self._rows.count, self._columns.count

    def bounds(self) -> tuple[Array, Array]:
        """Return lower and upper bound of every column."""
        return np.concatenate(self._columns.lower), np.concatenate(self._columns.upper)

    def sides(self) -> tuple[Array, Array]:
        """Return lower and upper side of every row."""
        return np.concatenate(self._rows.lower), np.concatenate(self._rows.upper)

    def table(self) -> Any:
        """Return the coefficients as a sparse matrix by rows; entries of one place are added."""
        from scipy.sparse import coo_matrix

        row, column, value = (np.concatenate(part) for part in zip(*self._entries, strict=True))
        return coo_matrix((value, (row, column)), shape=self.shape).tocsr()


def _spread_out(block: Index, values: Array) -> Array:
    out = np.zeros(block.shape)
    out[block >= 0] = values[block[block >= 0]]
    return out
