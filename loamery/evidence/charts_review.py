"""Charts of a season looked back on: forecasts against the thermometer, planned against done, what reports narrowed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from loamery.bed.soil import soil_unit
from loamery.evidence.chart import Chart, make_chart
from loamery.evidence.charts_material import use_words
from loamery.evidence.palette import ACCENT, ACCENT_PALE, INK, LINE, WARN
from loamery.evidence.review_facts import Facts, HeapReview
from loamery.evidence.skill import Pair
from loamery.evidence.text import Units
from loamery.names import quantity
from loamery.say import joined, say
from loamery.season.plan import SeasonPlan
from loamery.units import from_si
from loamery.words import NBSP, unit_words

PER_HEAP = 30
"""Most readings of one heap that a chart shows; the others stand in its figures."""


def thermometer_chart(heaps: Sequence[HeapReview], units: Units) -> Chart:
    """Return every reading against its forecast: the nearer to the line, the better foreseen."""
    import altair as alt

    fahrenheit = units.system == "us"
    rows = [
        _reading_row(one.batch.id, pair, fahrenheit)
        for one in heaps
        for pair in one.pairs[:: max(len(one.pairs) // PER_HEAP, 1)]
    ]
    ends = [float(one[key]) for one in rows for key in ("foreseen", "measured")]
    scale = alt.Scale(domain=[min(ends) - 3.0, max(ends) + 3.0], nice=False)
    unit = "°F" if fahrenheit else "°C"
    base = alt.Chart(alt.Data(values=rows))
    line = alt.Chart(alt.Data(values=[{"a": min(ends), "b": min(ends)}, {"a": max(ends), "b": max(ends)}]))
    x = alt.X("foreseen:Q", title=say("foreseen, {unit}", unit=unit), scale=scale, axis=alt.Axis(tickCount=5))
    y = alt.Y("measured:Q", title=say("thermometer, {unit}", unit=unit), scale=scale, axis=alt.Axis(tickCount=5))
    marks = [
        base.mark_rule(strokeWidth=1, color=LINE, opacity=0.45, clip=True).encode(x=alt.X("low:Q", scale=scale), x2="high", y=y),
        line.mark_line(color=INK, strokeDash=[4, 3]).encode(x=alt.X("a:Q", scale=scale), y=alt.Y("b:Q", scale=scale)),
        base.mark_point(size=46, filled=True, opacity=0.9).encode(
            x=x, y=y, color=alt.Color("ink:N", scale=None),
            shape=alt.Shape("held:N", scale=alt.Scale(domain=["held", "missed"], range=["circle", "triangle-up"]), legend=None),
        ),
    ]  # fmt: skip
    held = sum(one["held"] == "held" for one in rows)
    return make_chart(
        alt.layer(*marks), width=290, height=290, key="thermometer", title=say("Heaps: foreseen and measured"),
        alt=say("{held} of {count} thermometer readings lie within the 90 percent band of the forecast.", held=held, count=len(rows)),
        caption=say("Each mark is one reading; its forecast was made from what went in, without the readings. Round: the 90{NBSP}% band (grey) held it; "
                    "triangle: it did not. On the dashed line forecast and thermometer agree.", NBSP=NBSP),
        sources=(), data=tuple({key: value for key, value in one.items() if key != "ink"} for one in rows),
    )  # fmt: skip


def _reading_row(heap: str, pair: Pair, fahrenheit: bool) -> dict[str, Any]:
    def shown(value: float) -> float:
        return value * 1.8 + 32.0 if fahrenheit else value

    held = "held" if pair.inside else "missed"
    return {
        "heap": heap, "where": pair.name, "on": pair.when, "foreseen": shown(pair.foreseen.median), "low": shown(pair.foreseen.low),
        "high": shown(pair.foreseen.high), "measured": shown(pair.measured), "held": held, "ink": ACCENT if pair.inside else WARN,
    }  # fmt: skip


def soil_chart(facts: Facts, *, paper: bool = False) -> Chart:
    """Return what the last soil tests read beside their forecasts and the first ones, a picture for each figure; two abreast for paper."""
    import altair as alt

    rows = [_soil_row(facts, one) for one in facts.soil_pairs]
    width = 190 if paper else 215
    pictures = [
        _one_figure([one for one in rows if one["figure"] == figure], width) for figure in dict.fromkeys(one["figure"] for one in rows)
    ]  # fmt: skip
    held = sum(one["held"] == "held" for one in rows)
    return make_chart(
        alt.concat(*pictures, columns=2 if paper else 1, spacing=18), width=0, height=0, key="soil-tests",
        title=say("Soil tests: foreseen and measured"), wide=paper,
        alt=say("{held} of {count} figures of the later soil tests lie within the 90 percent band of their forecast.", held=held, count=len(rows)),
        caption=say("Pale bar: foreseen from the first test, 90{NBSP}% band. Upright mark: the first test. Round: the later test, held by the band; triangle: not held.", NBSP=NBSP),
        sources=(), data=tuple({key: value for key, value in one.items() if key != "ink"} for one in rows),
    )  # fmt: skip


def _soil_row(facts: Facts, pair: Pair) -> dict[str, Any]:
    change = next(one for one in facts.soils if (one.bed, one.key) == (pair.of, pair.key))
    unit = soil_unit(pair.key)
    words = unit_words(unit)
    label = quantity(pair.key).label
    return {
        "figure": label if words in ("", label) else joined(", ", (label, words)), "bed": facts.garden.bed(pair.of).name, "before": float(from_si(change.before, unit)),
        "foreseen": pair.foreseen.median, "low": pair.foreseen.low, "high": pair.foreseen.high, "after": pair.measured,
        "held": "held" if pair.inside else "missed", "ink": ACCENT if pair.inside else WARN,
    }  # fmt: skip


def _one_figure(rows: list[dict[str, Any]], width: int) -> Any:
    import altair as alt

    base = alt.Chart(alt.Data(values=rows))
    y = alt.Y(
        "bed:N",
        sort=[str(one["bed"]) for one in rows],
        axis=alt.Axis(title=None, ticks=False, domain=False, labelColor=INK, labelFontSize=11, labelLimit=130),
    )
    values = [float(one[key]) for one in rows for key in ("low", "high", "before", "after")]
    room = 0.05 * (max(values) - min(values)) or 1.0
    scale = alt.Scale(domain=[min(values) - room, max(values) + room], nice=False)
    x = alt.X("after:Q", scale=scale, axis=alt.Axis(title=str(rows[0]["figure"]), tickCount=4))
    return alt.layer(
        base.mark_bar(height=12, color=ACCENT_PALE).encode(y=y, x=alt.X("low:Q", scale=scale), x2="high"),
        base.mark_tick(thickness=2.5, size=15, color=INK).encode(y=y, x=alt.X("before:Q", scale=scale)),
        base.mark_point(size=55, filled=True, opacity=1).encode(
            y=y, x=x, color=alt.Color("ink:N", scale=None),
            shape=alt.Shape("held:N", scale=alt.Scale(domain=["held", "missed"], range=["circle", "triangle-up"]), legend=None),
        ),
    ).properties(width=width, height=alt.Step(22))  # fmt: skip


def done_chart(plan: SeasonPlan, done: dict[tuple[str, str], float], units: Units, *, paper: bool = False) -> Chart:
    """Return what was planned and what was done with each material; wider and lower for paper."""
    import altair as alt

    rows, told, unit = [], [], units.name("mass")
    for one in plan.materials:
        for use in ("mulch", "dig_in", "heap", "worm_bed"):
            planned, did = one.by_use_kg.get(use, 0.0), done.get((one.material, use), 0.0)
            if max(planned, did) > 0.5:
                what = (
                    joined(", ", (one.name, use_words(use)))
                    if paper
                    else joined("|", (_wrapped(one.name), use_words(use)))
                )
                rows.append({"what": what, "planned": units.value(planned, "mass"), "done": units.value(did, "mass")})
                told.append(_planned_done(joined(", " if paper else " ", (one.name, use_words(use))), rows[-1], unit))
    y = alt.Y("what:N", sort=[str(one["what"]) for one in rows], axis=alt.Axis(title=None, ticks=False, domain=False, labelColor=INK, labelFontSize=11,
              labelLimit=250 if paper else 160, labelExpr="split(datum.label, '|')"))  # fmt: skip
    base = alt.Chart(alt.Data(values=rows))
    x = alt.X("done:Q", title=unit, axis=alt.Axis(tickCount=4))
    layers = [
        base.mark_bar(height=10 if paper else 14, color=ACCENT).encode(y=y, x=x),
        base.mark_tick(thickness=3, size=15 if paper else 22, color=INK).encode(y=y, x="planned:Q"),
    ]
    return make_chart(
        alt.layer(*layers), width=420 if paper else 220, height=alt.Step(20 if paper else 36), key="planned-done", title=say("Planned and done"),
        alt=joined("; ", told[:12]) + ".",
        caption=say("Bar: what the records say was done. Upright mark: what the plan asks for over the whole season."),
        sources=(), data=tuple({**one, "what": str(one["what"]).replace("|", " "), "unit": unit} for one in rows),
    )  # fmt: skip


def _planned_done(what: str, row: Mapping[str, Any], unit: str) -> str:
    return say(
        "{what}: planned {planned:.0f}, done {done:.0f} {unit}",
        what=what,
        planned=row["planned"],
        done=row["done"],
        unit=unit,
    )


def _wrapped(name: str) -> str:
    import textwrap

    return "|".join(textwrap.wrap(name, 22))
