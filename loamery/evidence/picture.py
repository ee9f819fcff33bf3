"""The season at a glance: what goes where and when, laid out as a picture."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from loamery.bed.demand import crop_name
from loamery.evidence.chart import Chart, Row, make_chart
from loamery.evidence.palette import ACCENT, ACCENT_PALE, INK, LINE, MIST, SOFT, Swatch, swatches
from loamery.evidence.text import Units, listing, plural
from loamery.say import joined, say
from loamery.season.plan import Action, Batch, BedPlan, SeasonPlan
from loamery.words import number

CROP_HEIGHT, MARK_HEIGHT, GAP, HEAD = 13.0, 19.0, 9.0, 30.0
SCREEN = (29.0, 132.0)
"""Width of a week and of the names beside, px."""
PAPER_WIDTH, PAPER_GUTTER, PAPER_WEEK = 650.0, 112.0, (11.0, 24.0)
"""Width of the picture on paper, of the names beside, and the least and greatest width of a week, px."""
KEY_BOX, KEY_LETTERS = 24.0, 5.8
"""Width of a box of the key and of an average letter beside it, px."""
NARROW = 16.0
"""Weeks narrower than this carry smaller letters and every other date."""
NAME_LETTERS = 6.4
"""Width of an average letter of the names, px."""
FEW_LETTERS = 5.2
"""Width of an average letter of the crop labels, px; a label that does not fit is left out."""


def stuff_swatches(plan: SeasonPlan) -> dict[str, Swatch]:
    """Return the look of every stuff the plan moves, composts and castings included."""
    names = {one.id: one.name for one in plan.garden.materials}
    used = {one.stuff: one.stuff_name for one in plan.actions if one.task in ("mulch", "dig_in", "feed")}
    used |= {key: names[key] for batch in plan.batches for key in batch.parts_kg}
    given = {one.stuff: one.stuff_name for bed in plan.beds for one in bed.given}
    order = [key for key in names if key in used or key in given]
    rest = [key for key in {**given, **used} if key not in names]
    return swatches((key, {**names, **used, **given}[key]) for key in (*order, *rest))


@dataclass
class Canvas:
    """Rectangles, lines and words in pixels, top left is 0, 0."""

    boxes: list[dict[str, object]] = field(default_factory=list)
    words: list[dict[str, object]] = field(default_factory=list)
    lines: list[dict[str, object]] = field(default_factory=list)
    y: float = HEAD
    week: float = SCREEN[0]
    gutter: float = SCREEN[1]

    def box(self, x: float, y: float, width: float, height: float, fill: str) -> None:
        """Draw a filled rectangle."""
        self.boxes.append({"x": x, "x2": x + width, "y": y, "y2": y + height, "fill": fill})

    def word(self, x: float, y: float, text: str, **style: object) -> None:
        """Write words; `style` may say size, ink, align, bold."""
        self.words.append(
            {"x": x, "y": y, "text": text, "size": 10, "ink": INK, "align": "left", "bold": False} | style
        )

    def name(self, text: str) -> None:
        """Write the name of a row, on two lines where one is too narrow."""
        words, lines = text.split(), [""]
        for word in words:
            if lines[-1] and (len(lines[-1]) + len(word) + 1) * NAME_LETTERS > self.gutter and len(lines) < 2:
                lines.append("")
            lines[-1] = f"{lines[-1]} {word}".strip()
        for number_, line in enumerate(lines):
            self.word(0, self.y + 7 + 12 * number_, line, size=11.5, bold=True)

    def line(self, x: float, y: float, x2: float, y2: float) -> None:
        """Draw a hair line."""
        self.lines.append({"x": x, "x2": x2, "y": y, "y2": y2})


def season_picture(plan: SeasonPlan, looks: dict[str, Swatch], *, paper: bool = False) -> Chart:
    """Return the picture of a season: beds, heaps and worm beds down the side, weeks across; narrower for paper."""
    canvas, units = _canvas(plan.calendar.weeks, paper), Units(plan.garden.info.units)
    rows: list[Row] = []
    width = canvas.gutter + canvas.week * plan.calendar.weeks
    tops: list[float] = []
    for bed in plan.beds:
        tops.append(canvas.y)
        _bed(canvas, plan, bed, looks, rows)
    for heap in plan.garden.heaps:
        batches = [one for one in plan.batches if one.heap == heap.id]
        if batches:
            tops.append(canvas.y)
            _heap(canvas, plan, heap.name, batches, looks, rows)
    for worm_bed in plan.garden.worm_beds:
        fed = [one for one in plan.actions if one.task == "feed" and one.target == worm_bed.id]
        if fed:
            tops.append(canvas.y)
            _marks(canvas, worm_bed.name, "fed", fed, looks, rows, canvas.y + 2)
            canvas.y += max(_stack(fed) * MARK_HEIGHT, 26.0) + GAP
    for top in tops:
        canvas.line(0, top - GAP / 2, width, top - GAP / 2)
    _months(canvas, plan, canvas.y)
    _key(canvas, looks, width)
    return make_chart(
        drawing(canvas, width, canvas.y),
        width=0,
        height=0,
        key="season-printed" if paper else "season",
        title=say("The season at a glance"),
        alt=_alt(plan, looks, units),
        caption=say(
            "Each row is a bed, a heap or a worm bed; each column is a week. Pale bars are crops in the bed. A coloured box is a material that goes there in that week; its letters are in the key below, its kilograms in the chores. A heap begins with the shares of what it is built from and runs until its compost is ready."
        ),
        sources=(),
        data=tuple(rows),
        wide=True,
    )


def _canvas(weeks: int, paper: bool) -> Canvas:
    if not paper:
        return Canvas()
    week = (PAPER_WIDTH - PAPER_GUTTER) / weeks
    return Canvas(week=min(max(week, PAPER_WEEK[0]), PAPER_WEEK[1]), gutter=PAPER_GUTTER)


def _bed(canvas: Canvas, plan: SeasonPlan, bed: BedPlan, looks: dict[str, Swatch], rows: list[Row]) -> None:
    lanes: list[date] = []
    top = canvas.y
    for planting in sorted(bed.need_data.plantings, key=lambda one: one.planted):
        lane = next((at for at, busy in enumerate(lanes) if busy <= planting.planted), len(lanes))
        lanes[lane : lane + 1] = [planting.harvested]
        start = max((planting.planted - plan.calendar.start).days / 7, 0.0)
        end = min((planting.harvested - plan.calendar.start).days / 7, float(plan.calendar.weeks))
        x, wide, y = canvas.gutter + start * canvas.week, (end - start) * canvas.week - 2, top + lane * CROP_HEIGHT
        canvas.box(x, y, wide, CROP_HEIGHT - 2, ACCENT_PALE)
        name = crop_name(planting.crop)
        if len(name) * FEW_LETTERS < wide - 4:
            canvas.word(x + 4, y + CROP_HEIGHT / 2 - 0.5, name, size=9.5, ink="#14493c")
    marks_top = top + max(len(lanes), 1) * CROP_HEIGHT
    actions = [one for one in plan.actions if one.target == bed.id and one.task in ("mulch", "dig_in")]
    _marks(canvas, bed.name, "spread", actions, looks, rows, marks_top)
    canvas.y = marks_top + max(_stack(actions), 0.4) * MARK_HEIGHT + GAP


def _stack(actions: list[Action]) -> int:
    weeks = [one.week for one in actions]
    return max((weeks.count(week) for week in set(weeks)), default=0)


def _marks(
    canvas: Canvas, place: str, how: str, actions: list[Action], looks: dict[str, Swatch], rows: list[Row], top: float
) -> None:
    canvas.name(place)
    height: dict[int, int] = {}
    for one in sorted(actions, key=lambda one: (one.week, list(looks).index(one.stuff))):
        level = height.get(one.week, 0)
        height[one.week] = level + 1
        x, y = canvas.gutter + one.week * canvas.week, top + level * MARK_HEIGHT
        look = looks[one.stuff]
        canvas.box(x + 1, y + 1, canvas.week - 3, MARK_HEIGHT - 3, look.colour)
        canvas.word(
            x + canvas.week / 2 - 0.5,
            y + MARK_HEIGHT / 2,
            look.letters,
            ink=look.on_colour,
            align="center",
            bold=True,
            size=10 if canvas.week > NARROW else 7.5,
        )
        rows.append(_row(place, one.task if how == "spread" else how, one.stuff_name, one.day, one.kg, look.letters))


def _row(place: str, how: str, what: str, day: date, kg: float, letters: str) -> Row:
    return {"week": day.isoformat(), "place": place, "how": how, "what": what, "letters": letters, "kg": round(kg, 2)}


def _heap(
    canvas: Canvas, plan: SeasonPlan, name: str, batches: list[Batch], looks: dict[str, Swatch], rows: list[Row]
) -> None:
    canvas.name(name)
    for batch in batches:
        end = min(batch.ready_week, plan.calendar.weeks)
        x, y = canvas.gutter + batch.week * canvas.week, canvas.y
        canvas.box(x + 1, y, (end - batch.week) * canvas.week - 2, MARK_HEIGHT - 2, MIST)
        share = canvas.week * 2 / max(sum(batch.parts_kg.values()), 1e-9)
        for key, kg in sorted(batch.parts_kg.items(), key=lambda item: -item[1]):
            if key in looks:
                canvas.box(x + 1, y, kg * share - 1, MARK_HEIGHT - 2, looks[key].colour)
            rows.append(_row(name, "built into a heap", plan.garden.material(key).name, batch.day, kg, ""))
            x += kg * share
        words = batch.recipe.compost_name
        room = canvas.gutter + canvas.week * plan.calendar.weeks - x
        left = len(words) * FEW_LETTERS > room
        at = canvas.gutter + batch.week * canvas.week - 6 if left else x + 6
        canvas.word(at, y + MARK_HEIGHT / 2 - 1, words, size=9.5, align="right" if left else "left")
    canvas.y += max(MARK_HEIGHT, 26.0 if len(name) * NAME_LETTERS > canvas.gutter else 0.0) + GAP


def _months(canvas: Canvas, plan: SeasonPlan, bottom: float) -> None:
    before = 0
    for week in range(plan.calendar.weeks):
        day = plan.calendar.monday(week)
        x = canvas.gutter + week * canvas.week
        if day.month != before:
            canvas.word(x + 1, 7, f"{day:%B}", size=11, bold=True, ink=ACCENT)
            canvas.line(x - 0.5, 0, x - 0.5, bottom)
            before = day.month
        if canvas.week > NARROW or week % 2 == 0:
            canvas.word(x + canvas.week / 2, 19, str(day.day), size=9, ink=SOFT, align="center")


def _key(canvas: Canvas, looks: dict[str, Swatch], width: float) -> None:
    """Draw the key: a box with its letters, then the name, in as many lines as it takes."""
    x, canvas.y = 0.0, canvas.y + 6
    for look in looks.values():
        wide = KEY_BOX + 18 + len(look.name) * KEY_LETTERS
        if x + wide > width and x > 0:
            x, canvas.y = 0.0, canvas.y + MARK_HEIGHT
        canvas.box(x + 1, canvas.y + 1, KEY_BOX, MARK_HEIGHT - 3, look.colour)
        at = canvas.y + MARK_HEIGHT / 2
        canvas.word(x + 1 + KEY_BOX / 2, at, look.letters, ink=look.on_colour, align="center", bold=True)
        canvas.word(x + KEY_BOX + 6, at, look.name, size=11)
        x += wide
    canvas.y += MARK_HEIGHT


def drawing(canvas: Canvas, width: float, height: float) -> Any:
    """Return what is on a canvas as layers of a chart, width and height in px."""
    import altair as alt

    x = alt.X("x:Q", scale=alt.Scale(domain=[0, width], nice=False), axis=None)
    y = alt.Y("y:Q", scale=alt.Scale(domain=[height, 0], nice=False), axis=None)
    lines = alt.Chart(alt.Data(values=canvas.lines)).mark_rule(color=LINE, strokeWidth=1)
    layers = [lines.encode(x=x, y=y, x2="x2", y2="y2")]
    boxes = alt.Chart(alt.Data(values=canvas.boxes)).mark_rect(cornerRadius=2)
    layers.append(boxes.encode(x=x, y=y, x2="x2", y2="y2", fill=alt.Fill("fill:N", scale=None)))
    styles = sorted({(str(one["align"]), bool(one["bold"]), float(str(one["size"]))) for one in canvas.words})
    for align, bold, size in styles:
        some = [one for one in canvas.words if (one["align"], one["bold"], one["size"]) == (align, bold, size)]
        mark = alt.Chart(alt.Data(values=some)).mark_text(
            align=align, baseline="middle", fontSize=size, fontWeight="bold" if bold else "normal"
        )
        layers.append(mark.encode(x=x, y=y, text="text:N", color=alt.Color("ink:N", scale=None)))
    return alt.layer(*layers).properties(width=width, height=height)


def _alt(plan: SeasonPlan, looks: dict[str, Swatch], units: Units) -> str:
    spread = [one for one in plan.actions if one.task in ("mulch", "dig_in")]
    totals: dict[str, float] = {}
    for one in spread:
        totals[one.stuff_name] = totals.get(one.stuff_name, 0.0) + one.kg
    applications = plural(len(spread), say("application"), say("applications"))
    beds = plural(len(plan.beds), say("bed"), say("beds"))
    heaps = plural(len(plan.batches), say("heap batch"), say("heap batches"))
    most: list[str] = [
        joined(" ", (name.lower(), units.mass(kg)))
        for name, kg in sorted(totals.items(), key=lambda item: -item[1])[:4]
    ]
    letters = joined(", ", (joined(" ", (one.letters, one.name.lower())) for one in looks.values()))
    return say(
        "Picture of {weeks} weeks from {first}: {applications} on {beds}, {heaps}. Most is {most}. "
        "The table of chores holds every amount. Letters: {letters}.",
        weeks=plan.calendar.weeks,
        first=plan.calendar.label(0),
        applications=applications,
        beds=beds,
        heaps=heaps,
        most=listing(most),
        letters=letters,
    )


def hours_chart(plan: SeasonPlan) -> Chart:
    """Return the hours of work in each week against the hands there are."""
    import altair as alt

    most = plan.garden.info.hours_per_week
    rows = [
        {"week": plan.calendar.monday(week).isoformat(), "label": plan.calendar.label(week), "hours": hours}
        for week, hours in enumerate(plan.hours)
    ]
    order = [str(one["label"]) for one in rows]
    shown = order[:: max(round(len(order) / 6), 1)]
    data = alt.Data(values=rows)
    axis = alt.Axis(values=shown, labelAngle=0, title=None, ticks=False)
    bars = alt.Chart(data).mark_bar(color=ACCENT, cornerRadius=1)
    layers = [
        bars.encode(
            x=alt.X("label:N", sort=order, axis=axis, scale=alt.Scale(paddingInner=0.25)),
            y=alt.Y("hours:Q", title=say("hours"), axis=alt.Axis(tickCount=4, domain=False)),
        )
    ]
    if most and most < 3 * max(plan.hours, default=0.0):
        rule = alt.Chart(alt.Data(values=[{"most": most}])).mark_rule(color=INK, strokeDash=[4, 3])
        layers.append(rule.encode(y="most:Q"))
    busiest = max(range(len(plan.hours)), key=lambda week: plan.hours[week], default=0)
    top = max(plan.hours, default=0.0)
    have = say(" The garden has {most} hours a week.", most=number(most)) if most else ""
    chart = make_chart(
        alt.layer(*layers),
        width=320,
        height=100,
        key="hours",
        title=say("Hours of work by week"),
        alt=say(
            "Bars of hours by week, {sum} hours in all; the busiest is the week of {label} with {top} hours.{have}",
            sum=number(sum(plan.hours)),
            label=plan.calendar.label(busiest),
            top=number(top, 2),
            have=have,
        ),
        caption=say("Hours of fetching, building, turning, feeding and spreading.")
        + (have and say("{have}", have=have)),
        sources=(),
        data=tuple(rows),
    )
    return replace(chart, phone=chart.taller(240.0))
