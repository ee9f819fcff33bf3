"""What has to be said with the forecast of a heap: cautions, what it proves, readings that look odd."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loamery.finding import Finding
    from loamery.heap.forecast import Forecast, HeapPlan
    from loamery.heap.readings import Reading

MOST_TOLD = 3


def reading_findings(readings: Sequence[Reading]) -> list[Finding]:
    """Return what is odd about readings as they stand."""
    from loamery.finding import Finding
    from loamery.heap.readings import out_of_order
    from loamery.say import joined, say

    late = out_of_order(readings)
    if not late:
        return []
    told = joined(", ", (say("{day} ({where})", day=one.on.isoformat(), where=one.where) for one in late[:MOST_TOLD]))
    return [Finding(
        "readings_order", "note", say("Readings do not stand in the order of time; they were sorted."),
        say("after a later day stands {told}", told=told), ("JUDGE",), about="readings",
        proposal=say("Check these dates: a mistyped one makes a good reading look wrong."),
    )]  # fmt: skip


def heap_findings(plan: HeapPlan, told: Forecast) -> list[Finding]:
    """Return the cautions of a heap, and what its forecast cannot show."""
    from loamery.evidence.cautions import cautions_for, general_cautions
    from loamery.finding import Finding
    from loamery.heap.published import PUBLISHED_FIGURES, PUBLISHED_MISSES
    from loamery.say import say

    found = [one for part in plan.parts for one in cautions_for(part.composition.kind, ["heap"])]
    found += general_cautions(["heap"])
    unique = list({one.code: replace(one, about="") for one in found}.values())
    best = max(told.share, key=lambda one: one.median, default=None)
    if best is not None and not any(one.state == "met" for one in told.hygiene):
        unique.insert(0, Finding(
            "hygiene_not_met", "warning", say("No time and temperature rule is met by all of this heap."),
            say("at best {median:.0%} of the matter keeps one (90 % band {low:.0%} to {high:.0%})", median=best.median, low=best.low, high=best.high),
            ("CFR257",), about="heap",
            proposal=say("Treat the compost as raw where manure, food scraps or sick plants went in: keep the intervals to harvest."),
        ))  # fmt: skip
    unique.insert(0, Finding(
        "forecast_no_proof", "warning",
        say("A forecast proves no hygiene. Against published runs this model keeps small vented bins and drums too cool."),
        say("{misses} of {figures} published figures are missed (validation/check_heap_runs.py, docs/heap-model.md)", misses=PUBLISHED_MISSES, figures=PUBLISHED_FIGURES),
        ("JUDGE",), about="heap",
        proposal=say("Measure: a probe thermometer at several depths, every day of the hot weeks, written down."),
        caution=say("Follow local codes; ask a licensed professional."),
    ))  # fmt: skip
    return unique
