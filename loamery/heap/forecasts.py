"""The forecasts of many heaps, here or on a cluster: the same function for one garden and for thousands."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from loamery.errors import InputError
from loamery.heap.climate import Normals
from loamery.heap.cluster import spread
from loamery.heap.forecast import Forecast, HeapPlan, forecast
from loamery.say import say

Progress = Callable[[str], None]


def forecasts(
    plans: Sequence[HeapPlan],
    places: Normals | Sequence[Normals],
    days: int = 120,
    draws: int = 40,
    seed: int = 1,
    *,
    scheduler: Any = None,
    progress: Progress = lambda _: None,
) -> list[Forecast]:
    """Return the forecast of each of many heaps, in the order of the plans.

    Parameters
    ----------
    places : weather of all of them, or of each.
    days, draws, seed : as for `forecast`, for each heap.
    scheduler : address of a dask scheduler, or a client of one; this machine when None.

    Raises
    ------
    InputError : as for `forecast`, or there is no scheduler at the address.
    """
    each = [places] * len(plans) if isinstance(places, Normals) else list(places)
    if len(each) != len(plans):
        raise InputError(
            say("{count} heaps and {count_2} places", count=len(plans), count_2=len(each)), expected=say("one place, or one for each heap"),
            remedy=say("give as many places as heaps"),
        )  # fmt: skip
    work = partial(_forecast, days=days, draws=draws, seed=seed)
    return spread(work, list(zip(plans, each, strict=True)), scheduler=scheduler, progress=progress)


def _forecast(asked: tuple[HeapPlan, Normals], *, days: int, draws: int, seed: int) -> Forecast:
    return forecast(*asked, days, draws, seed)
