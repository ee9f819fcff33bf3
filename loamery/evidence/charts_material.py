"""Charts of one material: its figures on their published ranges, and what became of all materials."""

from __future__ import annotations

from typing import Any

from loamery.evidence.chart import Chart, Row, make_chart
from loamery.evidence.palette import ACCENT, ACCENT_PALE, INK, LINE
from loamery.evidence.text import USE_WORDS, Units
from loamery.lab.composition import Composition, Estimate
from loamery.lab.published import Published, own_published
from loamery.names import quantity
from loamery.say import joined, say
from loamery.season.plan import SeasonPlan
from loamery.units import from_si
from loamery.words import number, unit_words

SHOWN = ("N", "P", "K", "Ca", "Mg", "S", "C", "CN", "pH", "EC", "moisture", "bulk_density", "ash")
"""What a sheet shows of a composition, in this order; trace elements stand with the limits."""
WIDTH = 330
USE_COLOURS = {
    "mulch": "#6e9253",
    "dig_in": "#644114",
    "heap": "#4f61ab",
    "worm_bed": "#c782b1",
    "kept": "#d7c592",
    "left": "#d5dcd8",
}


def shown_keys(composition: Composition) -> list[str]:
    """Return the keys of a composition that a sheet shows."""
    return [key for key in SHOWN if key in composition]


def _published(composition: Composition, key: str) -> Published | None:
    return own_published(composition.kind, key) if key != "CN" else None


def composition_chart(composition: Composition, name: str, units: Units) -> Chart:
    """Return each figure as a dot with its band on the bar of its published range, every row on its own scale."""
    import altair as alt

    rows = [_row(composition, key, units) for key in shown_keys(composition)]
    order = [str(one["what"]) for one in rows]
    y = alt.Y(
        "what:N", sort=order, axis=alt.Axis(title=None, domain=False, ticks=False, labelColor=INK, labelLimit=140)
    )
    scale = alt.Scale(domain=[0, 1], nice=False)
    base = alt.Chart(alt.Data(values=rows))
    have = alt.Chart(alt.Data(values=[one for one in rows if one["has_range"]]))
    layers = [
        base.mark_bar(color=LINE, height=1).encode(y=y, x=alt.X("zero:Q", scale=scale, axis=None), x2="one"),
        have.mark_bar(color=ACCENT_PALE, height=13, cornerRadius=2).encode(
            y=y, x=alt.X("range_at:Q", scale=scale), x2="range_to"
        ),
        base.mark_rule(color=ACCENT, strokeWidth=2.4).encode(y=y, x=alt.X("low_at:Q", scale=scale), x2="high_at"),
        base.mark_point(filled=True, size=75, opacity=1, stroke="#ffffff", strokeWidth=1).encode(
            y=y,
            x=alt.X("dot_at:Q", scale=scale),
            color=alt.Color("ink:N", scale=None),
            shape=alt.Shape(
                "rests:N", scale=alt.Scale(domain=["report", "published"], range=["circle", "diamond"]), legend=None
            ),
        ),
        base.mark_text(align="left", fontSize=11).encode(y=y, x=alt.value(WIDTH - 150 + 8), text="printed:N"),
    ]
    told = [say("{one} {one2}", one=one["what"], one2=one["printed"]) for one in rows[:3]]
    sources = tuple(dict.fromkeys(key for one in shown_keys(composition) for key in composition[one].sources))
    return make_chart(
        alt.layer(*layers),
        width=WIDTH - 150,
        height=alt.Step(21),
        key=f"composition-{composition.material}",
        title=say("{name}: composition on its published range", name=name),
        alt=say(
            "Dots with bands on bars of published ranges: {join}; nitrogen, phosphorus and potassium of dry matter.",
            join=joined(", ", told),
        ),
        caption=say(
            "Dot: expected in the next load. Line: 90 % band. Pale bar: what has been published of this kind of material. Every row has its own scale. Green round dot: rests on a report; brown diamond: published or derived figures only."
        ),
        sources=sources,
        data=tuple(_csv_row(one) for one in rows),
    )


def _row(composition: Composition, key: str, units: Units) -> dict[str, Any]:
    one = composition[key]
    band = units.band(one.band())
    known = _published(composition, key)
    scale = band.median / one.band().median if one.band().median else 1.0
    low, high = _ends(known, one, scale)
    least, most = min(band.low, low), max(band.high, high)
    room = 0.06 * (most - least) or 1.0
    least, most = least - room, most + room

    def at(value: float) -> float:
        return (value - least) / (most - least)

    return {
        "what": f"{quantity(one.quantity).label}" if key != "CN" else say("C:N ratio"),
        "key": key,
        "median": band.median,
        "low": band.low,
        "high": band.high,
        "unit": unit_words(band.unit),
        "published_low": low if known else "",
        "published_high": high if known else "",
        "origin": one.origin,
        "has_range": known is not None,
        "zero": 0.0,
        "one": 1.0,
        "dot_at": at(band.median),
        "low_at": at(band.low),
        "high_at": at(band.high),
        "range_at": at(low),
        "range_to": at(high),
        "ink": ACCENT if "measured" in one.origin else "#8a5a2b",
        "rests": "report" if "measured" in one.origin else "published",
        "printed": f"{number(band.median)} {unit_words(band.unit)}".strip(),
    }


def _ends(known: Published | None, one: Estimate, scale: float) -> tuple[float, float]:
    """Return the published range in display units; where publications give single figures, their 90 % spread."""
    if known is None:
        return one.band().low * scale, one.band().high * scale
    unit = quantity(one.quantity).display_unit
    spread = known.distribution.band()
    low, high = min(known.low, spread.low), max(known.high, spread.high)
    return float(from_si(low, unit)) * scale, float(from_si(high, unit)) * scale


def _csv_row(row: dict[str, Any]) -> Row:
    names = ("key", "what", "median", "low", "high", "unit", "published_low", "published_high", "origin")
    return {name: row[name] for name in names}


def uses_chart(plan: SeasonPlan, units: Units) -> Chart:
    """Return what becomes of every material on offer."""
    import altair as alt

    rows = []
    for one in plan.materials:
        used = sum(one.by_use_kg.values())
        parts = [*one.by_use_kg.items(), ("kept", max(one.collected_kg - used, 0.0)), ("left", one.left_kg)]
        for use, kg in parts:
            if kg > 0.05:
                rows.append(
                    {
                        "material": one.name,
                        "use": use_words(use),
                        "amount": units.value(kg, "mass"),
                        "colour": USE_COLOURS[use],
                        "rank": list(USE_COLOURS).index(use),
                    }
                )
    order = [one.name for one in sorted(plan.materials, key=lambda one: -one.offered_kg)]
    uses = [use_words(use) for use in USE_COLOURS]
    colour = alt.Color(
        "use:N",
        scale=alt.Scale(domain=uses, range=list(USE_COLOURS.values())),
        legend=alt.Legend(title=None, orient="top", columns=3, symbolSize=110),
    )
    bars = alt.Chart(alt.Data(values=rows)).mark_bar(height=15, stroke="#ffffff", strokeWidth=0.6)
    chart = bars.encode(
        y=alt.Y(
            "material:N",
            sort=order,
            axis=alt.Axis(title=None, domain=False, ticks=False, labelColor=INK, labelLimit=150),
        ),
        x=alt.X("sum(amount):Q", title=units.name("mass"), axis=alt.Axis(tickCount=5)),
        color=colour,
        order=alt.Order("rank:Q"),
    )
    taken = sum(one.collected_kg for one in plan.materials)
    offered = sum(one.offered_kg for one in plan.materials)
    return make_chart(
        chart,
        width=260,
        height=alt.Step(23),
        key="uses",
        title=say("What becomes of what is offered"),
        alt=say(
            "Bars of {name} by material and use: {mass} of {mass2} on offer are fetched.",
            name=units.name("mass"),
            mass=units.mass(taken),
            mass2=units.mass(offered),
        ),
        caption=say("Everything the donors offer in the season, as received, and what the plan does with it."),
        sources=(),
        data=tuple({key: value for key, value in one.items() if key != "colour"} for one in rows),
    )


def use_words(use: str) -> str:
    """Return a use in words, for keys of charts and tables."""
    return {"kept": say("kept in store"), "left": say("left with donors")}.get(use, USE_WORDS.get(use, use))
