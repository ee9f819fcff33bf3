"""Forecasts of heaps brought up to date with what was written down since the plan: readings, turnings, waterings."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from loamery.evidence.chart import Chart
from loamery.evidence.charts_heap import warmest_chart
from loamery.evidence.text import Units
from loamery.garden.fields import Record
from loamery.garden.model import Garden
from loamery.garden.records import Batch, Reading
from loamery.units import System
from loamery.web.pages.drawings import SYSTEMS, Charts, heap_drawings
from loamery.web.pages.foresee import foreseen, heap_readings, rests_on
from loamery.web.pages.sight import Learnt, Reckoned


@dataclass(frozen=True)
class Anew:
    """Heaps foreseen again after the plan they belong to.

    Parameters
    ----------
    of : stamp of the plan. heaps, charts : as in `Reckoned`, of these heaps alone.
    """

    of: int
    heaps: Mapping[str, Learnt]
    charts: Mapping[System, Charts]


def outdated(garden: Garden, reckoned: Reckoned) -> list[Batch]:
    """Return the heaps that stand whose forecast does not rest on everything written down about them."""
    if reckoned.prepared is None:
        return []
    known = reckoned.prepared.compositions
    found = []
    for batch in garden.batches:
        parts = [one.material for one in garden.batch_parts if one.batch == batch.id]
        learnt = reckoned.heaps.get(batch.id)
        if batch.emptied is not None or not parts or not all(one in known for one in parts):
            continue
        if learnt is None or set(learnt.rests_on) != set(rests_on(garden, batch)):
            found.append(batch)
    return found


def learn(garden: Garden, reckoned: Reckoned, before: Anew | None, of: int, tell: Callable[[str], None]) -> Anew:
    """Return the outdated heaps foreseen again, together with those that were before.

    Parameters
    ----------
    reckoned : the plan with what was foreseen since. before : what was foreseen since, None when nothing was.
    """
    heaps = dict(before.heaps) if before is not None else {}
    charts = {system: dict(before.charts[system]) if before is not None else {} for system in SYSTEMS}
    assert reckoned.prepared is not None
    for batch in outdated(garden, reckoned):
        tell(f"foreseeing {batch.id}")
        heaps[batch.id] = foreseen(garden, batch, reckoned.prepared.compositions)
        taken = heap_readings(garden, batch)
        for system in SYSTEMS:
            charts[system][f"heap/{batch.id}"] = heap_drawings(heaps[batch.id].told, taken, Units(system))
    return Anew(of, heaps, charts)


def with_heaps(reckoned: Reckoned, anew: Anew) -> Reckoned:
    """Return what was reckoned with the forecasts that were brought up to date since."""
    charts = {system: {**found, **anew.charts.get(system, {})} for system, found in reckoned.charts.items()}
    return replace(reckoned, heaps={**reckoned.heaps, **anew.heaps}, charts=charts)


def unlearnt(garden: Garden, batch: Batch, learnt: Learnt) -> list[Reading]:
    """Return the thermometer readings of a heap its forecast does not know yet, in the order of time."""
    known: set[Record] = set(learnt.rests_on)
    found = [one for one in garden.readings if one.batch == batch.id and one.temp_c is not None and one not in known]
    return sorted(found, key=lambda one: one.on)


def with_dots(
    garden: Garden, batch: Batch, learnt: Learnt, system: System, charts: tuple[Chart, ...]
) -> tuple[Chart, ...]:
    """Return the charts of a heap with every reading in the first, those too that its forecast does not know yet."""
    if not charts or not unlearnt(garden, batch, learnt):
        return charts
    return (warmest_chart(learnt.told, Units(system), heap_readings(garden, batch)), *charts[1:])
