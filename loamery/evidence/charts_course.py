"""The season of one bed as the bed model foresees it, for the bed pages of the season report."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from loamery.evidence.chart import Chart, Row, make_chart
from loamery.evidence.palette import ACCENT, INK, SOIL, WARN
from loamery.evidence.text import Units
from loamery.say import say
from loamery.season.bed_course import BedCourse
from loamery.season.plan import BedPlan, SeasonPlan
from loamery.units import to_si
from loamery.words import number, range_text

SCREEN, PAPER, PHONE = (760.0, 110.0, 80.0), (760.0, 82.0, 62.0), (430.0, 210.0, 150.0)
"""Width, height above and height below, px: on a web page, on paper, and on a square card for a phone."""


def course_chart(plan: SeasonPlan, bed: BedPlan, course: BedCourse, units: Units, *, paper: bool = False) -> Chart:
    """Return nitrogen given and taken by a bed's materials in each week, and what its crops ask for and get; lower for paper."""
    rows: list[Row] = [
        {
            "week_ends": plan.calendar.monday(week + 1).isoformat(), "given_or_taken": units.g_m2(net.median), "low": units.g_m2(net.low),
            "high": units.g_m2(net.high), "soil_itself": units.g_m2(course.soil_gives[week]), "crops_ask": units.g_m2(course.asked[week]),
            "crops_get": units.g_m2(course.taken[week]),
        }
        for week, net in enumerate(course.net)
    ]  # fmt: skip
    told = say(
        "Crops ask for {asked} and get {taken} ({range}) {unit} of nitrogen; {leached} drains away.",
        asked=number(sum(float(str(one["crops_ask"])) for one in rows), 2),
        taken=number(units.rate(course.uptake).median, 2),
        range=range_text(units.rate(course.uptake)),
        unit=units.name("nutrient rate"),
        leached=number(units.rate(course.leached).median, 2),
    )
    caption = say(
        "Above: nitrogen that materials give (green) or decomposers take (rust), thin line: 90 % band. "
        "Below, on its own scale: what crops ask for (dashed) and get (green), brown: from the soil."
    )
    title = say("{name}: the season as the bed model foresees it", name=bed.name)
    words: dict[str, Any] = {
        "key": f"course-{bed.id}", "title": title, "alt": told, "caption": caption, "sources": (), "data": tuple(rows),
    }  # fmt: skip
    phone = make_chart(_drawing(rows, units, *PHONE), width=0, height=0, **words)
    return make_chart(
        _drawing(rows, units, *(PAPER if paper else SCREEN)), width=0, height=0, wide=True, phone=phone, **words
    )


def _drawing(rows: Sequence[Row], units: Units, width: float, above: float, under: float) -> Any:
    """Return the two pictures one above the other, in px."""
    import altair as alt

    weeks = alt.Scale(domain=[rows[0]["week_ends"], rows[-1]["week_ends"]], padding=12)

    def x(labels: bool) -> Any:
        return alt.X(
            "week_ends:T",
            scale=weeks,
            axis=alt.Axis(format="%b", tickCount="month", title=None, grid=False, labels=labels),
        )

    axis = alt.Axis(tickCount=4, domain=False, title=say("{unit} a week", unit=units.name("nutrient rate")))
    base = alt.Chart(alt.Data(values=rows))
    colour = alt.condition("datum.given_or_taken < 0", alt.value(WARN), alt.value(ACCENT))
    top = alt.layer(
        base.mark_bar(size=0.6 * width / max(len(rows), 1)).encode(
            x=x(False), y=alt.Y("given_or_taken:Q", axis=axis), color=colour
        ),
        base.mark_rule(color=INK, strokeWidth=1.1).encode(x=x(False), y=alt.Y("low:Q"), y2="high:Q"),
        alt.Chart(alt.Data(values=[{"y": 0}])).mark_rule(color=INK, strokeWidth=1).encode(y="y:Q"),
    ).properties(width=width, height=above)
    below = alt.layer(
        base.mark_area(color=SOIL, opacity=0.55).encode(x=x(True), y=alt.Y("soil_itself:Q")),
        base.mark_line(color=INK, strokeWidth=2, strokeDash=[5, 3]).encode(
            x=x(True), y=alt.Y("crops_ask:Q", axis=axis)
        ),
        base.mark_line(color=ACCENT, strokeWidth=2).encode(x=x(True), y=alt.Y("crops_get:Q")),
    ).properties(width=width, height=under)
    return alt.vconcat(top, below, spacing=8)


def course_line(course: BedCourse, units: Units) -> str:
    """Return the same in two sentences."""
    owes = say(" Materials owe the soil up to {rate} on the way.", rate=_rate(-course.lowest.median, units))
    move = course.ph_change
    return say(
        "As the bed model foresees it, crops get {taken} of the {asked} of nitrogen they ask for ({range}); {leached} drains away "
        "({leached_range}).{owed} By the end the pH has moved by {ph} ({low} to {high}).",
        taken=_rate(course.uptake.median, units),
        asked=_rate(sum(course.asked), units),
        range=range_text(units.rate(course.uptake)),
        leached=_rate(course.leached.median, units),
        leached_range=range_text(units.rate(course.leached)),
        owed="" if course.lowest.median > -SMALL else owes,
        ph=_signed(move.median),
        low=_signed(move.low),
        high=_signed(move.high),
    )


def _signed(change: float) -> str:
    """Return a change of pH with its sign, to hundredths."""
    return say("{sign}{size}", sign="−" if f"{change:+.2f}"[0] == "-" else "+", size=f"{abs(change):.2f}")


SMALL = 0.05
"""Nitrogen owed below this, g per m2, is not told."""


def _rate(g_m2: float, units: Units) -> str:
    return units.amount(to_si(g_m2, "g/m2"), "nutrient rate")
