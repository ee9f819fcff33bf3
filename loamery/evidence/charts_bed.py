"""Charts of one bed: nutrients needed and supplied, nitrogen through the weeks, ceilings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from loamery.evidence.chart import Chart, Row, make_chart
from loamery.evidence.palette import ACCENT, INK, MIST, SOFT, SOIL, WARN, Swatch
from loamery.evidence.text import Units, share_text
from loamery.finding import Band
from loamery.names import quantity
from loamery.say import joined, say
from loamery.season.plan import BedPlan, Reached, SeasonPlan
from loamery.words import band_text, number, range_text

WIDTH = 318
SOIL_NAME = say("the soil itself")
LETTERS_WIDE = 20.0
"""A part of a bar narrower than this many pixels carries no letters."""
MOST_ROWS = 9
"""So many ceilings, the nearest, are drawn."""
OVER = 2.0
"""Bands are drawn up to this many times the ceiling."""


def need_charts(plan: SeasonPlan, bed: BedPlan, looks: dict[str, Swatch], units: Units) -> Chart:
    """Return needed and supplied N, P and K of a bed, and from what, with the band of the supply."""
    import altair as alt

    rows: list[Row] = []
    parts = [_one_nutrient(bed, key, looks, units, rows) for key in "NPK"]
    pieces = [one for key in "NPK" for one in _pieces(bed, key, looks, units)]
    unit = units.name("nutrient rate")
    told = [
        say(
            "{quantity} needs {g_m2}, gets {g_m22} ({range_text})",
            quantity=quantity(key).label.lower(),
            g_m2=number(units.g_m2(bed.need[key])),
            g_m22=number(units.g_m2(_total(bed, key))),
            range_text=range_text(_with_soil(units, bed, key)),
        )
        for key in "NPK"
    ]
    return make_chart(
        alt.vconcat(*parts, spacing=8),
        width=0,
        height=0,
        key=f"needs-{bed.id}",
        title=say("{name}: needed and supplied", name=bed.name),
        alt=say("Three bars in {unit}: ", unit=unit) + joined("; ", told) + ".",
        caption=say(
            "Black mark: need. Thin line: 90 % band of the supply. Bar: what the bed gets, brown from the soil itself, else by material{letters}.",
            letters=_letters(pieces),
        ),
        sources=_sources(bed),
        data=tuple(rows),
    )


def _letters(pieces: Iterable[Mapping[str, object]]) -> str:
    """Return which letters stand for which material, so that a picture of the chart alone can be read."""
    told = {str(one["letters"]): str(one["name"]) for one in pieces if one["letters"]}
    named = joined(", ", (joined(" ", both) for both in told.items()))
    return say(" ({named})", named=named) if told else ""


def _sources(bed: BedPlan) -> tuple[str, ...]:
    found = (key for demand in bed.need_data.demands for one in demand.figures.values() for key in one.sources)
    return tuple(dict.fromkeys(found))


def _total(bed: BedPlan, key: str) -> float:
    return bed.supplied[key].median + (bed.soil_n[-1] if key == "N" else 0.0)


def _with_soil(units: Units, bed: BedPlan, key: str) -> Band:
    soil = bed.soil_n[-1] if key == "N" else 0.0
    band = bed.supplied[key]
    return units.rate(Band(band.median + soil, band.low + soil, band.high + soil, band.unit))


def _one_nutrient(bed: BedPlan, key: str, looks: dict[str, Swatch], units: Units, rows: list[Row]) -> Any:
    import altair as alt

    band, need = _with_soil(units, bed, key), units.g_m2(bed.need[key])
    pieces = _pieces(bed, key, looks, units)
    most = 1.06 * max(band.high, need, max((one["x2"] for one in pieces), default=0.0), 1e-6)
    least = min(band.low, *(one["x"] for one in pieces), 0.0)
    name = quantity(key).label
    rows += [
        {"nutrient": key, "what": say("needed"), "amount": need, "low": need, "high": need},
        *({"nutrient": key, "what": one["name"], "amount": one["amount"], "low": "", "high": ""} for one in pieces),
        {"nutrient": key, "what": say("supplied in all"), "amount": band.median, "low": band.low, "high": band.high},
    ]
    x = alt.X("x:Q", scale=alt.Scale(domain=[least, most], nice=False), axis=_axis(key, units))
    shown = list(_lettered(pieces, need, WIDTH / (most - least)))
    bars = alt.Chart(alt.Data(values=pieces)).mark_rect(stroke="#ffffff", strokeWidth=0.8, height=18)
    words = alt.Chart(alt.Data(values=shown)).mark_text(fontSize=10, fontWeight="bold")
    line = alt.Chart(alt.Data(values=[{"x": band.low, "x2": band.high}])).mark_rule(strokeWidth=1.6, color=INK)
    ends = alt.Chart(alt.Data(values=[{"x": band.low}, {"x": band.high}])).mark_tick(
        thickness=1.6, size=7, color=INK, opacity=1
    )
    mark = alt.Chart(alt.Data(values=[{"x": need}])).mark_tick(thickness=3.5, size=30, color=INK, opacity=1)
    at, below = alt.value(15), alt.value(31)
    layers = [
        bars.encode(x=x, x2="x2", y=at, fill=alt.Fill("fill:N", scale=None)),
        words.encode(x=alt.X("middle:Q"), y=at, text="letters:N", color=alt.Color("ink:N", scale=None)),
        line.encode(x="x:Q", x2="x2", y=below),
        ends.encode(x="x:Q", y=below),
        mark.encode(x="x:Q", y=at),
    ]
    title = alt.TitleParams(name, fontSize=11, color=SOFT, offset=2, fontWeight="normal")
    return alt.layer(*layers).properties(width=WIDTH, height=34, title=title)


def _lettered(pieces: Iterable[dict[str, Any]], need: float, px: float) -> Iterable[dict[str, Any]]:
    """Yield the parts that are wide enough for letters, these moved out from under the mark of the need; px is pixels by unit."""
    for one in pieces:
        clear = 0.8 * LETTERS_WIDE / px
        ends = (one["x"], one["x2"])
        if abs(need - one["middle"]) < 0.5 * clear + 2.0 / px:
            left, right = (ends[0], min(need, ends[1])), (max(need, ends[0]), ends[1])
            ends = max(left, right, key=lambda part: part[1] - part[0])
        if (ends[1] - ends[0]) * px > LETTERS_WIDE:
            yield {**one, "middle": 0.5 * (ends[0] + ends[1])}


def _axis(key: str, units: Units) -> Any:
    import altair as alt

    return alt.Axis(tickCount=5, grid=False, title=units.name("nutrient rate") if key == "K" else None)


def _pieces(bed: BedPlan, key: str, looks: dict[str, Swatch], units: Units) -> list[dict[str, Any]]:
    """Return the parts of a bar end to end; what takes nitrogen out goes to the left of zero."""
    out: list[dict[str, Any]] = []
    right, left = 0.0, 0.0
    parts: list[tuple[str, float, str, str, str]] = []
    if key == "N":
        parts.append((SOIL_NAME, bed.soil_n[-1], SOIL, "", INK))
    for one in bed.given:
        look = looks[one.stuff]
        parts.append((one.stuff_name, getattr(one, key.lower()).median, look.colour, look.letters, look.on_colour))
    for name, grams, colour, letters, ink in parts:
        amount = units.g_m2(grams)
        start = right if amount >= 0 else left + amount
        right, left = (right + amount, left) if amount >= 0 else (right, left + amount)
        out.append(
            {
                "name": name,
                "amount": amount,
                "x": start,
                "x2": start + abs(amount),
                "middle": start + abs(amount) / 2,
                "fill": colour,
                "letters": letters,
                "ink": ink,
            }
        )
    return out


def nitrogen_chart(plan: SeasonPlan, bed: BedPlan, units: Units) -> Chart:
    """Return nitrogen needed and supplied, added up week by week."""
    import altair as alt

    rows: list[dict[str, Any]] = []
    for week in range(plan.calendar.weeks):
        soil = units.g_m2(bed.soil_n[week])
        rows.append(
            {
                "week_ends": plan.calendar.monday(week + 1).isoformat(),
                "needed": units.g_m2(bed.demand_n[week]),
                "soil": soil,
                "soil_and_materials": soil + units.g_m2(bed.supply_n[week]),
            }
        )
    x = alt.X("week_ends:T", axis=alt.Axis(format="%b", tickCount="month", title=None, grid=False))
    y = alt.Y("soil_and_materials:Q", axis=alt.Axis(tickCount=4, domain=False, title=units.name("nutrient rate")))
    base = alt.Chart(alt.Data(values=rows))
    layers = [
        base.mark_area(color=ACCENT, opacity=0.85).encode(x=x, y=y),
        base.mark_area(color=SOIL).encode(x=x, y=alt.Y("soil:Q")),
        base.mark_line(color=INK, strokeWidth=2.2, strokeDash=[5, 3]).encode(x=x, y=alt.Y("needed:Q")),
    ]
    last = rows[-1]
    chart = make_chart(
        alt.layer(*layers),
        width=WIDTH - 36,
        height=132,
        key=f"nitrogen-{bed.id}",
        title=say("{name}: nitrogen week by week", name=bed.name),
        alt=say(
            "Nitrogen added up over the weeks in {name}: by the end the crops have needed {last}, the soil has given {last2}, and soil and materials together {last3}.",
            name=units.name("nutrient rate"),
            last=number(float(last["needed"])),
            last2=number(float(last["soil"])),
            last3=number(float(last["soil_and_materials"])),
        ),
        caption=say(
            "Added up from the start of the season. Brown: from the soil. Green: from materials. Dashed: what the crops have taken up. Where the dashed line runs above the green, nitrogen is short at that time."
        ),
        sources=(),
        data=tuple(rows),
    )
    return replace(chart, phone=chart.taller(250.0))


def ceiling_name(key: str) -> str:
    """Return what a ceiling is about, in words."""
    return say("Soluble salts") if key == "salt" else quantity(key).label


def ceiling_chart(bed: BedPlan, units: Units) -> Chart:
    """Return how near a bed comes to each of its ceilings, nearest first, with bands."""
    import altair as alt

    rows = [_ceiling_row(one, units) for one in bed.ceilings[:MOST_ROWS] if one.share > 0]
    order = [str(one["what"]) for one in rows]
    most = max(1.1, min(OVER, max((float(one["high_share"]) for one in rows), default=1.0)))
    drawn = [{**one, "end": min(float(one["high_share"]), most), "at": min(float(one["share"]), most)} for one in rows]
    y = alt.Y("what:N", sort=order, axis=alt.Axis(title=None, domain=False, ticks=False, labelColor=INK))
    scale = alt.Scale(domain=[0, most], nice=False)
    x = alt.X(
        "full:Q",
        scale=scale,
        axis=alt.Axis(format="%", values=[0, 0.5, 1, 1.5, 2], title=say("of the ceiling"), grid=False),
    )
    base = alt.Chart(alt.Data(values=drawn))
    room = base.mark_bar(color=MIST, height=11).encode(y=y, x=x)
    colour = alt.condition("datum.share >= 0.98", alt.value(WARN), alt.value(ACCENT))
    bar = base.mark_bar(height=11).encode(y=y, x=alt.X("at:Q", scale=scale), color=colour)
    line = base.mark_rule(color=INK, strokeWidth=1.4).encode(y=y, x=alt.X("low_share:Q", scale=scale), x2="end")
    limit = (
        alt.Chart(alt.Data(values=[{"x": 1.0}])).mark_rule(color=INK, strokeWidth=2).encode(x=alt.X("x:Q", scale=scale))
    )
    nearest = bed.ceilings[0] if bed.ceilings else None
    told = (
        say(
            "nearest is {ceiling_name} at {share_text} of its ceiling",
            ceiling_name=ceiling_name(nearest.ceiling.key).lower(),
            share_text=share_text(nearest.share),
        )
        if nearest
        else say("there is none")
    )
    sources = tuple(dict.fromkeys(key for one in bed.ceilings for key in one.ceiling.sources))
    return make_chart(
        alt.layer(room, bar, line, limit),
        width=WIDTH - 96,
        height=alt.Step(16),
        key=f"ceilings-{bed.id}",
        title=say("{name}: how near the ceilings", name=bed.name),
        alt=say("Bars of how much of each ceiling the plan uses; {told}.", told=told)
        + joined(
            "",
            (
                say(" {one} {share_text}.", one=one["what"], share_text=share_text(float(one["share"])))
                for one in rows[1:4]
            ),
        ),
        caption=say(
            "Bar: what counts against the most the bed may take this season, each material taken as rich as nearly all its loads are; rust: at the ceiling. Thin line: 90 % band of what it will be."
        ),
        sources=sources,
        data=tuple({key: value for key, value in one.items() if key != "full"} for one in rows),
    )


def _ceiling_row(one: Reached, units: Units) -> dict[str, Any]:
    limit, band = one.ceiling.limit_kg_m2, one.band
    grams = units.g_m2(1000.0 * limit)
    rate = units.rate(band)
    factor = 1.0 / grams if grams > 0 else 0.0
    return {
        "what": ceiling_name(one.ceiling.key),
        "share": one.share,
        "low_share": rate.low * factor,
        "high_share": rate.high * factor,
        "full": 1.0,
        "ceiling": grams,
        "unit": units.name("nutrient rate"),
        "added": band_text(rate),
    }
