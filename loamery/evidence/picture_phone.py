"""The season at a glance for a phone: by month in place of by week, in letters that can be read on a square card."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence

from loamery.evidence.chart import Chart, Row, make_chart
from loamery.evidence.palette import ACCENT, INK, Swatch
from loamery.evidence.picture import Canvas, drawing
from loamery.evidence.text import Units, listing, plural
from loamery.say import joined, say
from loamery.season.plan import SeasonPlan

WIDTH, GUTTER, HEAD, ROW, BOX = 620.0, 148.0, 26.0, 30.0, 24.0
"""Of the picture, of the names beside, of the months above, of a row, of a box, px."""
MOST_PLACES, MOST_BOXES, MORE = 12, 2, 18.0
"""Rows shown; boxes in a month; width of the mark that says how many more, px."""
LETTERS, KEY_LETTERS, NAME_LETTERS, TWO_LINES = 15, 7.6, 18, 13
"""Size of type; width of an average letter of the key, px; letters of a line of a name, and how far two lines of it are apart, px."""

Gift = tuple[str, int, str, float]
"""Place, number of the month, stuff, kg."""


def season_phone(plan: SeasonPlan, looks: Mapping[str, Swatch], units: Units) -> Chart:
    """Return what goes to which place in which month, the places that get most first left out where there are many."""
    gifts = _gifts(plan)
    months = list(range(plan.calendar.monday(0).month, _last_month(plan) + 1))
    places = _places(gifts)
    canvas = Canvas(y=HEAD, gutter=GUTTER, week=(WIDTH - GUTTER) / len(months))
    for at, month in enumerate(months):
        canvas.word(GUTTER + (at + 0.5) * canvas.week, 11, _month(plan, month), size=LETTERS, bold=True, ink=ACCENT, align="center")  # fmt: skip
    for place in places[:MOST_PLACES]:
        _row(canvas, place, [one for one in gifts if one[0] == place], months, looks)
    if len(places) > MOST_PLACES:
        canvas.word(0, canvas.y + ROW / 2, say("and {count} more", count=len(places) - MOST_PLACES), size=LETTERS)
        canvas.y += ROW
    shown = {stuff for place, _, stuff, _ in gifts if place in places[:MOST_PLACES]}
    _key(canvas, [one for key, one in looks.items() if key in shown])
    rows: list[Row] = [
        {"place": place, "month": _month(plan, month), "what": looks[stuff].name, "kg": round(kg, 2)} for place, month, stuff, kg in gifts
    ]  # fmt: skip
    most = sorted(((sum(one[3] for one in gifts if one[0] == place), place) for place in places), reverse=True)[:3]
    where, when = plural(len(places), say("place"), say("places")), plural(len(months), say("month"), say("months"))
    heaviest = listing([joined(" ", (name, f"({units.mass(kg)})")) for kg, name in most])
    told = say("{places} over {months}. Most goes to {most}.", places=where, months=when, most=heaviest)
    return make_chart(
        drawing(canvas, WIDTH, canvas.y), width=0, height=0, key="season-phone", title=say("The season at a glance"),
        alt=told,
        caption=say("Boxes are what goes to a place in a month, the heaviest first; +1 stands for one more material."),
        sources=(), data=tuple(rows),
    )  # fmt: skip


def _gifts(plan: SeasonPlan) -> list[Gift]:
    """Return what goes where by month: beds first, then heaps, then worm beds, each in the garden's order."""
    found: dict[tuple[str, int, str], float] = {}
    garden = plan.garden
    names = {one.id: one.name for one in garden.beds} | {one.id: one.name for one in garden.worm_beds}
    first = plan.calendar.monday(0)

    def add(place: str, year: int, month: int, stuff: str, kg: float) -> None:
        key = (place, month + 12 * (year - first.year), stuff)
        found[key] = found.get(key, 0.0) + kg

    for one in plan.actions:
        if one.task in ("mulch", "dig_in", "feed"):
            add(names[one.target], one.day.year, one.day.month, one.stuff, one.kg)
    for batch in plan.batches:
        for stuff, kg in batch.parts_kg.items():
            add(batch.heap_name, batch.day.year, batch.day.month, stuff, kg)
    order = [
        *(one.name for one in garden.beds),
        *(one.name for one in garden.heaps),
        *(one.name for one in garden.worm_beds),
    ]
    return sorted(
        ((*key, kg) for key, kg in found.items()), key=lambda one: (order.index(one[0]), one[1], -one[3], one[2])
    )


def _last_month(plan: SeasonPlan) -> int:
    first, last = plan.calendar.monday(0), plan.calendar.monday(plan.calendar.weeks - 1)
    return last.month + 12 * (last.year - first.year)


def _month(plan: SeasonPlan, month: int) -> str:
    return f"{plan.calendar.monday(0).replace(month=(month - 1) % 12 + 1, day=1):%b}"


def _places(gifts: Sequence[Gift]) -> list[str]:
    """Return the places in their order; where there are too many, those that get least come last."""
    places = list(dict.fromkeys(one[0] for one in gifts))
    kg = {place: sum(one[3] for one in gifts if one[0] == place) for place in places}
    kept = sorted(places, key=lambda place: -kg[place])[:MOST_PLACES]
    return [one for one in places if one in kept] + [one for one in places if one not in kept]


def _row(canvas: Canvas, place: str, gifts: Sequence[Gift], months: Sequence[int], looks: Mapping[str, Swatch]) -> None:
    canvas.line(0, canvas.y, WIDTH, canvas.y)
    middle = canvas.y + ROW / 2
    lines = textwrap.wrap(place, NAME_LETTERS, max_lines=2, placeholder="…")
    for at, line in enumerate(lines):
        drop = (at - 0.5 * (len(lines) - 1)) * TWO_LINES
        canvas.word(0, middle + drop, line, size=LETTERS if len(lines) == 1 else TWO_LINES - 1, bold=True)
    for at, month in enumerate(months):
        here = [looks[stuff] for _, when, stuff, _ in gifts if when == month]
        x = GUTTER + at * canvas.week + 2
        wide = min((canvas.week - 4) / MOST_BOXES, 40.0)
        if len(here) > MOST_BOXES:
            wide = (canvas.week - 4 - MORE) / MOST_BOXES
        for look in here[:MOST_BOXES]:
            canvas.box(x, middle - BOX / 2, wide - 2, BOX, look.colour)
            canvas.word(x + wide / 2 - 1, middle, look.letters, size=_size(wide), ink=look.on_colour, bold=True, align="center")  # fmt: skip
            x += wide
        if len(here) > MOST_BOXES:
            canvas.word(x, middle, f"+{len(here) - MOST_BOXES}", size=12, ink=INK)
    canvas.y += ROW


def _size(wide: float) -> float:
    return LETTERS if wide >= 27 else 12 if wide >= 20 else 9


def _key(canvas: Canvas, looks: Sequence[Swatch]) -> None:
    canvas.line(0, canvas.y, WIDTH, canvas.y)
    canvas.y += 6
    x = 0.0
    for look in looks:
        wide = 34 + len(look.name) * KEY_LETTERS + 14
        if x > 0 and x + wide > WIDTH:
            x, canvas.y = 0.0, canvas.y + ROW - 2
        middle = canvas.y + ROW / 2 - 1
        canvas.box(x, middle - BOX / 2, 30, BOX, look.colour)
        canvas.word(x + 15, middle, look.letters, size=14, ink=look.on_colour, bold=True, align="center")
        canvas.word(x + 35, middle, look.name, size=14)
        x += wide
    canvas.y += ROW
