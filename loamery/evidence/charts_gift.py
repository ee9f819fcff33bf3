"""Charts of what a gift does to a bed: nitrogen by week, added up, pH and salt, plant food by year, ceilings."""

from __future__ import annotations

from typing import Any

from loamery.bed.answer import BedAnswer
from loamery.evidence.bed_words import ceiling_word
from loamery.evidence.chart import Chart, Row, make_chart
from loamery.evidence.palette import ACCENT, ACCENT_PALE, INK, MIST, SOIL, WARN
from loamery.evidence.text import Units, share_text, short_day
from loamery.names import quantity
from loamery.say import joined, say
from loamery.words import number, range_text

WIDTH = 620
MOST_SHARE = 2.0
"""Ceilings are drawn up to this many times what is allowed."""
MOST_CEILINGS = 8


def weekly_picture(answer: BedAnswer, units: Units) -> Chart:
    """Return nitrogen given and taken in each week with its band, and what the crops ask for beside it."""
    import altair as alt

    rows: list[Row] = [
        {
            "week_ends": day.isoformat(), "given_or_taken": units.g_m2(net.median), "low": units.g_m2(net.low),
            "high": units.g_m2(net.high), "crops_ask": units.g_m2(asked), "soil_itself": units.g_m2(soil),
        }
        for day, net, asked, soil in zip(answer.weeks, answer.net, answer.asked, answer.soil_gives, strict=True)
    ]  # fmt: skip
    weeks = alt.Scale(domain=[rows[0]["week_ends"], rows[-1]["week_ends"]], padding=14)

    def x(labels: bool) -> Any:
        return alt.X(
            "week_ends:T",
            scale=weeks,
            axis=alt.Axis(format="%-d %b", tickCount=8, title=None, grid=False, labels=labels),
        )

    axis = alt.Axis(tickCount=5, domain=False, title=say("{unit} a week", unit=units.name("nutrient rate")))
    base = alt.Chart(alt.Data(values=rows))
    wide = max(4.0, 0.62 * WIDTH / len(rows))
    colour = alt.condition("datum.given_or_taken < 0", alt.value(WARN), alt.value(ACCENT))
    top = alt.layer(
        base.mark_bar(size=wide).encode(x=x(False), y=alt.Y("given_or_taken:Q", axis=axis), color=colour),
        base.mark_rule(color=INK, strokeWidth=1.2).encode(x=x(False), y=alt.Y("low:Q"), y2="high:Q"),
        alt.Chart(alt.Data(values=[{"y": 0}])).mark_rule(color=INK, strokeWidth=1).encode(y="y:Q"),
    ).properties(width=WIDTH, height=180)
    below = alt.layer(
        base.mark_area(color=SOIL, opacity=0.55).encode(x=x(True), y=alt.Y("soil_itself:Q")),
        base.mark_line(color=INK, strokeWidth=2.2, strokeDash=[5, 3]).encode(
            x=x(True), y=alt.Y("crops_ask:Q", axis=axis)
        ),
    ).properties(width=WIDTH, height=80)
    lowest = min(rows, key=lambda one: float(str(one["given_or_taken"])))
    return make_chart(
        alt.vconcat(top, below, spacing=10), width=0, height=0, key="bed-weeks", title=say("Nitrogen given and taken, week by week"),
        alt=say(
            "Bars by week in {unit}: the lowest is {lowest} in the week to {week}; in all {total} ({band}) by the end.",
            unit=units.name("nutrient rate"), lowest=number(float(str(lowest["given_or_taken"])), 2), week=lowest["week_ends"],
            total=number(units.g_m2(answer.season.median), 2), band=range_text(units.rate(answer.season)),
        ),
        caption=say(
            "Above, green: nitrogen the material gives the soil that week; rust: what decomposers take out of it; thin line: 90 % band. "
            "Below, on a scale of its own: dashed what the crops ask for, brown what the soil gives by itself."
        ),
        sources=(), data=tuple(rows), wide=True,
    )  # fmt: skip


def total_picture(answer: BedAnswer, units: Units) -> Chart:
    """Return nitrogen added up since it was given, with its band, and what crops take up with it and without it."""
    import altair as alt

    rows: list[Row] = [
        {
            "week_ends": day.isoformat(), "low": units.g_m2(total.low), "added_up": units.g_m2(total.median), "high": units.g_m2(total.high),
            "taken_with": units.g_m2(with_it), "taken_without": units.g_m2(without),
        }
        for day, total, with_it, without in zip(answer.weeks, answer.total, answer.taken_with, answer.taken_without, strict=True)
    ]  # fmt: skip
    x = alt.X("week_ends:T", axis=alt.Axis(format="%-d %b", tickCount=8, title=None, grid=False))
    base = alt.Chart(alt.Data(values=rows))
    layers = [
        base.mark_area(color=ACCENT_PALE).encode(
            x=x,
            y=alt.Y("low:Q", axis=alt.Axis(tickCount=6, domain=False, title=units.name("nutrient rate"))),
            y2="high:Q",
        ),
        base.mark_line(color=ACCENT, strokeWidth=2.4).encode(x=x, y=alt.Y("added_up:Q")),
        alt.Chart(alt.Data(values=[{"y": 0}])).mark_rule(color=INK, strokeWidth=1).encode(y="y:Q"),
    ]
    if max(answer.taken_with) > 0:
        layers += [
            base.mark_line(color=INK, strokeWidth=2).encode(x=x, y=alt.Y("taken_with:Q")),
            base.mark_line(color=INK, strokeWidth=1.6, strokeDash=[2, 3]).encode(x=x, y=alt.Y("taken_without:Q")),
        ]
    crops = (
        say(" Black: what the crops take up with it; dotted: without it (medians).")
        if max(answer.taken_with) > 0
        else ""
    )
    return make_chart(
        alt.layer(*layers), width=WIDTH, height=190, key="bed-total", title=say("The same added up"),
        alt=say(
            "Added up: {lowest} at the lowest, {total} {unit} by {day}.", lowest=number(units.g_m2(answer.lowest.median), 2),
            total=number(units.g_m2(answer.season.median), 2), unit=units.name("nutrient rate"), day=short_day(answer.weeks[-1]),
        ),
        caption=say("Green: nitrogen the material has given (below zero: still owes) since it was given; pale: 90 % band.{crops}", crops=crops),
        sources=(), data=tuple(rows), wide=True,
    )  # fmt: skip


def soil_picture(answer: BedAnswer) -> Chart:
    """Return pH and salt of the bed with the gift, and without it, week by week."""
    import altair as alt

    courses = {"ph": (answer.ph_course, answer.ph_alone), "salt": (answer.ec_course, answer.ec_alone)}
    rows: list[Row] = [
        {
            "week_ends": day.isoformat(),
            **{
                f"{name}_{end}": round(value, ROUNDED)
                for name, (told, alone) in courses.items()
                for end, value in (("low", told[at].low), ("with", told[at].median), ("high", told[at].high), ("without", alone[at]))
            },
        }
        for at, day in enumerate(answer.weeks)
    ]  # fmt: skip
    base = alt.Chart(alt.Data(values=rows))
    panels = []
    for name, title in (("ph", "pH"), ("salt", say("salt, dS/m"))):
        x = alt.X(
            "week_ends:T", axis=alt.Axis(format="%-d %b", tickCount=8, title=None, grid=False, labels=name == "salt")
        )
        axis = alt.Axis(tickCount=4, domain=False, title=title)
        scale = alt.Scale(zero=name == "salt")
        layers = [
            base.mark_area(color=ACCENT_PALE).encode(x=x, y=alt.Y(f"{name}_low:Q", axis=axis, scale=scale), y2=f"{name}_high:Q"),
            base.mark_line(color=ACCENT, strokeWidth=2.4).encode(x=x, y=alt.Y(f"{name}_with:Q", scale=scale)),
            base.mark_line(color=INK, strokeWidth=1.6, strokeDash=[2, 3]).encode(x=x, y=alt.Y(f"{name}_without:Q", scale=scale)),
        ]  # fmt: skip
        panels.append(alt.layer(*layers).properties(width=WIDTH, height=100))
    return make_chart(
        alt.vconcat(*panels, spacing=10), width=0, height=0, key="bed-soil", title=say("pH and salt of the bed"),
        alt=say(
            "By {day} pH {ph} with it and {ph_alone} without; salt {ec} and {ec_alone} dS/m.", day=short_day(answer.weeks[-1]),
            ph=number(answer.ph_course[-1].median, 3), ph_alone=number(answer.ph_alone[-1], 3),
            ec=number(answer.ec_course[-1].median, 2), ec_alone=number(answer.ec_alone[-1], 2),
        ),
        caption=say("Green: with the gift; pale: 90 % band; dotted: the same bed without it. Salt is told as a laboratory reads it, in a saturated paste."),
        sources=(), data=tuple(rows), wide=True,
    )  # fmt: skip


ROUNDED = 4


def years_picture(answer: BedAnswer, units: Units) -> Chart:
    """Return plant food that comes free in each of three years."""
    import altair as alt

    rows: list[Row] = []
    panels: list[Any] = []
    for key in (one for one in ("N", "P", "K") if one in answer.years):
        name = quantity(key).label
        here: list[Row] = [
            {"element": name, "year": say("year {year}", year=year), "amount": units.g_m2(one.median), "low": units.g_m2(one.low), "high": units.g_m2(one.high)}
            for year, one in enumerate(answer.years[key], start=1)
        ]  # fmt: skip
        rows += here
        x = alt.X("amount:Q", axis=alt.Axis(tickCount=4, title=units.name("nutrient rate"), grid=False))
        y = alt.Y(
            "year:N", axis=alt.Axis(title=None, domain=False, ticks=False, labelColor=INK) if key == "N" else None
        )
        base = alt.Chart(alt.Data(values=here))
        line = base.mark_rule(color=INK, strokeWidth=1.3).encode(x=alt.X("low:Q"), x2="high:Q", y=y)
        panels.append(
            alt.layer(base.mark_bar(height=11, color=ACCENT).encode(x=x, y=y), line).properties(
                width=166, height=62, title=name
            )
        )
    told = joined(
        "; ",
        (
            joined(" ", (quantity(key).label.lower(), number(units.g_m2(answer.years[key][0].median), 2)))
            for key in ("N", "P", "K")
            if key in answer.years
        ),
    )
    return make_chart(
        alt.hconcat(*panels, spacing=22), width=0, height=0, key="bed-years", title=say("What comes free in three years"),
        alt=say("In the first year, {unit}: {told}.", unit=units.name("nutrient rate"), told=told),
        caption=say("What crops can use of it in each year; thin line: 90 % band. Below zero: taken from the soil."),
        sources=(), data=tuple(rows), wide=True,
    )  # fmt: skip


def ceilings_picture(answer: BedAnswer, units: Units) -> Chart | None:
    """Return how far one gift fills what the bed may take in a season; None when no ceiling is known."""
    import altair as alt

    rows: list[dict[str, Any]] = []
    for one in answer.reaches[:MOST_CEILINGS]:
        limit = max(one.ceiling.limit_kg_m2, 1e-12)
        rows.append({
            "what": ceiling_word(one.ceiling.key), "share": one.share, "low": one.load.low / limit, "high": one.load.high / limit, "full": 1.0,
        })  # fmt: skip
    if not rows:
        return None
    most = max(1.1, min(MOST_SHARE, max(one["high"] for one in rows)))
    drawn = [
        {**one, "at": min(one["share"], most), "end": min(one["high"], most), "from": min(one["low"], most)}
        for one in rows
    ]
    scale = alt.Scale(domain=[0, most], nice=False)
    y = alt.Y(
        "what:N",
        sort=[one["what"] for one in rows],
        axis=alt.Axis(title=None, domain=False, ticks=False, labelColor=INK),
    )
    base = alt.Chart(alt.Data(values=drawn))
    colour = alt.condition("datum.share >= 1", alt.value(WARN), alt.value(ACCENT))
    layers = [
        base.mark_bar(color=MIST, height=11).encode(y=y, x=alt.X("full:Q", scale=scale, axis=alt.Axis(format="%", values=[0, 0.5, 1, 1.5, 2], title=say("of what the bed may take in a season"), grid=False))),
        base.mark_bar(height=11).encode(y=y, x=alt.X("at:Q", scale=scale), color=colour),
        base.mark_rule(color=INK, strokeWidth=1.4).encode(y=y, x=alt.X("from:Q", scale=scale), x2="end"),
        alt.Chart(alt.Data(values=[{"x": 1.0}])).mark_rule(color=INK, strokeWidth=2).encode(x=alt.X("x:Q", scale=scale)),
    ]  # fmt: skip
    return make_chart(
        alt.layer(*layers), width=WIDTH - 110, height=alt.Step(18), key="bed-ceilings", title=say("How near the ceilings"),
        alt=say("Of each ceiling: {told}.", told=joined("; ", (joined(" ", (one["what"], share_text(one["share"]))) for one in rows))),
        caption=say("What this one gift brings against the most the bed may take in a season. Thin line: 90 % band. Rust: over the ceiling."),
        sources=tuple(dict.fromkeys(key for one in answer.reaches for key in one.ceiling.sources)),
        data=tuple({key: value for key, value in one.items() if key != "full"} for one in rows), wide=True,
    )  # fmt: skip
