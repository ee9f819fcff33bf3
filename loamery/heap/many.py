"""Many heaps at once: members share nothing, so each core takes its part of them."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit, prange

from loamery.heap.kernel import run
from loamery.heap.layout import ACCOUNTS, DRY_ROWS, N_AMM, START, STATES, WATER


@njit(parallel=True, cache=True, error_model="numpy")
def run_many(
    p: Any, h: Any, share: Any, state: Any, weather: Any, weather_at: Any, events: Any, events_at: Any, times: Any,
    control: Any, order: Any, out: Any, books: Any, done: Any,
) -> None:  # fmt: skip
    """Run every member; weather and events of member m are rows at[m] to at[m + 1] of the joined tables.

    `order` lists the members as they are shared out: each core takes a run of it. `out` is filled with temperature,
    oxygen, moisture, volume, dry mass and ammoniacal nitrogen, shape (members, times, RECORDED, cells).
    """
    for place in prange(p.shape[0]):
        m = order[place]
        cells = np.empty((times.shape[0], STATES + 3, share.shape[1]))
        accounts = np.zeros((times.shape[0], ACCOUNTS))
        counts = np.zeros(2, dtype=np.int64)
        done[m] = run(
            p[m], h[m], share[m], state[m], weather[weather_at[m] : weather_at[m + 1]],
            events[events_at[m] : events_at[m + 1]], times, control, cells, accounts, counts,
        )  # fmt: skip
        books[m] = accounts
        for k in range(times.shape[0]):
            for i in range(share.shape[1]):
                dry = h[m].ash_share * cells[k, 2 + START, i]
                for row in DRY_ROWS:
                    dry += cells[k, 2 + row, i]
                water = cells[k, 2 + WATER, i]
                out[m, k, 0, i] = cells[k, 0, i]
                out[m, k, 1, i] = cells[k, 1, i]
                out[m, k, 2, i] = water / (water + dry)
                out[m, k, 3, i] = cells[k, 2 + STATES, i]
                out[m, k, 4, i] = dry
                out[m, k, 5, i] = cells[k, 2 + N_AMM, i]
