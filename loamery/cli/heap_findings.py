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

    late = out_of_order(readings)
    if not late:
        return []
    told = ", ".join(f"{one.on.isoformat()} ({one.where})" for one in late[:MOST_TOLD])
    return [Finding(
        "readings_order", "note", "Readings do not stand in the order of time; they were sorted.",
        f"after a later day stands {told}", ("JUDGE",), about="readings",
        proposal="Check these dates: a mistyped one makes a good reading look wrong.",
    )]  # fmt: skip


def heap_findings(plan: HeapPlan, told: Forecast) -> list[Finding]:
    """Return the cautions of a heap, and what its forecast cannot show."""
    from loamery.evidence.cautions import cautions_for, general_cautions
    from loamery.finding import Finding
    from loamery.heap.published import PUBLISHED_FIGURES, PUBLISHED_MISSES

    found = [one for part in plan.parts for one in cautions_for(part.composition.kind, ["heap"])]
    found += general_cautions(["heap"])
    unique = list({one.code: replace(one, about="") for one in found}.values())
    best = max(told.share, key=lambda one: one.median, default=None)
    if best is not None and not any(one.state == "met" for one in told.hygiene):
        unique.insert(0, Finding(
            "hygiene_not_met", "warning", "No time and temperature rule is met by all of this heap.",
            f"at best {best.median:.0%} of the matter keeps one (90 % band {best.low:.0%} to {best.high:.0%})",
            ("CFR257",), about="heap",
            proposal="Treat the compost as raw where manure, food scraps or sick plants went in: keep the intervals to harvest.",
        ))  # fmt: skip
    unique.insert(0, Finding(
        "forecast_no_proof", "warning",
        "A forecast proves no hygiene. Against published runs this model keeps small vented bins and drums too cool.",
        f"{PUBLISHED_MISSES} of {PUBLISHED_FIGURES} published figures are missed (validation/check_heap_runs.py, docs/heap-model.md)",
        ("JUDGE",), about="heap",
        proposal="Measure: a probe thermometer at several depths, every day of the hot weeks, written down.",
        caution="Follow local codes; ask a licensed professional.",
    ))  # fmt: skip
    return unique
