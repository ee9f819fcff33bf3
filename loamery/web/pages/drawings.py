"""The charts of the pages, drawn up once with the plan: building them takes longer than a page may."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loamery.evidence.chart import Chart
from loamery.evidence.charts_bed import ceiling_chart, need_charts, nitrogen_chart
from loamery.evidence.charts_heap import heat_picture, oxygen_picture, warmest_chart
from loamery.evidence.charts_material import composition_chart, uses_chart
from loamery.evidence.picture import hours_chart, stuff_swatches
from loamery.evidence.text import Units
from loamery.heap.forecast import Forecast
from loamery.heap.readings import Reading
from loamery.season.plan import SeasonPlan
from loamery.season.prepare import Prepared
from loamery.units import System

Charts = Mapping[str, tuple[Chart, ...]]
SYSTEMS: tuple[System, ...] = ("metric", "us")


def drawings(
    prepared: Prepared,
    plan: SeasonPlan | None,
    heaps: Mapping[str, Forecast],
    readings: Mapping[str, Sequence[Reading]],
) -> dict[System, Charts]:
    """Return all charts of a garden in each system of units, by what they are about."""
    return {system: _drawn(prepared, plan, heaps, readings, Units(system)) for system in SYSTEMS}


def _drawn(
    prepared: Prepared,
    plan: SeasonPlan | None,
    heaps: Mapping[str, Forecast],
    readings: Mapping[str, Sequence[Reading]],
    units: Units,
) -> Charts:
    names = {one.id: one.name for one in prepared.garden.materials}
    out: dict[str, tuple[Chart, ...]] = {
        f"material/{key}": (composition_chart(one, names[key], units),) for key, one in prepared.compositions.items()
    }
    for key, told in heaps.items():
        out[f"heap/{key}"] = heap_drawings(told, readings[key], units)
    return out if plan is None else {**out, **_of_plan(plan, units)}


def heap_drawings(told: Forecast, readings: Sequence[Reading], units: Units) -> tuple[Chart, ...]:
    """Return the charts of one heap, that with its readings first."""
    return (warmest_chart(told, units, readings), heat_picture(told, units), oxygen_picture(told, units))


def _of_plan(plan: SeasonPlan, units: Units) -> Charts:
    looks = stuff_swatches(plan)
    out: dict[str, tuple[Chart, ...]] = {"hours": (hours_chart(plan),), "uses": (uses_chart(plan, units),)}
    for bed in plan.beds:
        ceilings = (ceiling_chart(bed, units),) if any(one.share > 0 for one in bed.ceilings) else ()
        out[f"bed/{bed.id}"] = (need_charts(plan, bed, looks, units), nitrogen_chart(plan, bed, units), *ceilings)
    return out
