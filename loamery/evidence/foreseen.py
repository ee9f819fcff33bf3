"""What the heap model says of a plan: inside each batch, under each mulch, in each worm bed."""

from __future__ import annotations

from collections.abc import Sequence

from loamery.evidence.block import Block, Column, Figure, Grid, Line, Para, Say, Section, Table
from loamery.evidence.charts_heap import SMALL, heat_picture
from loamery.evidence.heap_tables import asks_text, share_band, temp_text
from loamery.evidence.text import Units, share_text, short_day
from loamery.finding import Band
from loamery.heap.mulch_limit import MulchLimit
from loamery.say import joined, say
from loamery.season.foresee import BatchForecast, BedCheck, FeedCheck, Foreseen, MulchCheck

REASONS = {
    "airless": say("air runs short"),
    "heats": say("it heats"),
    "seals": say("it keeps rain out"),
    "none": say("nothing, up to 30 cm"),
}
DAYS_PER_WEEK = 7.0


def foreseen_sections(foreseen: Foreseen, units: Units) -> list[Section]:
    """Return the sections on heaps, mulches and worm beds as the heap model foresees them."""
    out = []
    if foreseen.batches:
        out.append(_heaps(foreseen.batches, units))
    parts: list[Block] = []
    if foreseen.mulches:
        parts += [Para(MULCHED, "soft"), _mulch_table(foreseen.mulches, units)]
    parts += [one for bed in foreseen.worm_beds for one in _bed(bed, units)]
    if parts:
        out.append(Section(say("Mulches and worm beds, foreseen"), "layers", parts, fresh=True))
    return out


MULCHED = say(
    "The thickest layer the plan spreads at a time, beside how thick the fresh material may lie before the first fault begins (median and 90 % band)."
)


def _heaps(batches: Sequence[BatchForecast], units: Units) -> Section:
    pictures = [
        Figure(heat_picture(one.told, units, look=SMALL, key=f"heat-{one.batch.id}", title=_title(one)), brief=True)
        for one in batches
    ]
    rule = batches[0].told.hygiene[0].rule if batches[0].told.hygiene else None
    keeps = say("Keeps {asked}", asked=asks_text(rule, units)) if rule else say("Hygiene")
    columns = (
        Column(say("Batch"), wide=1.6), Column(say("Warmest"), "right"), Column(say("Days at {temp} or more", temp=temp_text(55.0, units.system)), "right"),
        Column(keeps, "right"), Column(say("Nitrogen kept"), "right"), Column(say("Ready, by the model (by the plan)"), "right", wide=1.3),
    )  # fmt: skip
    rows = [_row(one, units) for one in batches]
    table = Table(say("The batches as the heap model foresees them"), columns, rows, NOTE)
    about = say(
        "Each batch is run {draws} times by the heap model, with the materials, the model's numbers and the weather drawn within what is known of them. "
        "In the pictures the surface is at the top and the middle of the heap at the bottom; the dark line encloses what is hot enough for the rules of hygiene, dashes are turnings. "
        "A forecast proves nothing: put a thermometer into the heap.",
        draws=batches[0].told.draws,
    )
    return Section(say("Inside the heaps"), "inside-heaps", [Para(about, "soft"), Grid(pictures), table], fresh=True)


NOTE = say(
    "Median and 90 % band. Ready means cool and quiet to the end of the time simulated; the plan reckons with the usual lead time. Where the model "
    "says later, look at the heap before you spread it: compost that still warms up or smells is not ready."
)


def _title(one: BatchForecast) -> str:
    number = one.batch.id.removeprefix("batch-")
    return say(
        "Batch {number}: {heap}, built {day}", number=number, heap=one.batch.heap_name, day=short_day(one.batch.day)
    )


def _row(one: BatchForecast, units: Units) -> Sequence[Line]:
    told = one.told
    peak, hot, kept = told.peak_c, told.days_above_55, told.kept("nitrogen_kg")
    ends = say("{low} to {high}", low=temp_text(peak.low, units.system), high=temp_text(peak.high, units.system))
    span = say("{low:.0f} to {high:.0f}", low=hot.low, high=hot.high)
    return (
        say("{number}: {heap}", number=one.batch.id.removeprefix("batch-"), heap=one.batch.heap_name),
        (Say(temp_text(peak.median, units.system), strong=True), Say(joined(" ", ("", ends)), soft=True)),
        (Say(f"{hot.median:.0f}", strong=True), Say(joined(" ", ("", span)), soft=True)),
        share_band(told.share[0]) if told.share else "–",
        share_band(kept),
        _ready(one),
    )


def _ready(one: BatchForecast) -> Line:
    told = one.told
    last, planned = f"{told.day[-1]:.0f}", Say(say(" (plan {days})", days=one.planned_days), soft=True)
    if told.ready.median < float("inf"):
        high = f"{told.ready.high:.0f}" if told.ready.high < float("inf") else say("over {limit}", limit=last)
        words = say(
            "{median:.0f}, {low:.0f} to {high}\u00a0days", median=told.ready.median, low=told.ready.low, high=high
        )
        return (words, planned)
    early = say(", earliest {day:.0f}", day=told.ready.low) if told.ready.low < float("inf") else ""
    return (say("over {days}\u00a0days{early}", days=last, early=early), planned)


def _mulch_table(mulches: Sequence[MulchCheck], units: Units) -> Table:
    columns = (
        Column(say("Material"), wide=1.4), Column(say("Spread"), "right", wide=0.8), Column(say("At most"), "right", wide=1.5),
        Column(say("What comes first"), wide=1.6), Column(say("So it is"), wide=1.2),
    )  # fmt: skip
    rows = [
        (one.name, _depth(one.planned_m, units), _limit(one.found, units), _first(one.found), _verdict(one))
        for one in mulches
    ]
    return Table(say("Mulches: how thick, and how thick they may be"), columns, rows)


def _depth(depth_m: float, units: Units) -> str:
    return units.amount(depth_m, "depth")


def _limit(found: MulchLimit, units: Units) -> str:
    top = found.depths_m[-1]
    low, median, high = (
        say("over {limit}", limit=_depth(top, units)) if one >= top - 1e-9 else _depth(one, units)
        for one in (found.limit.low, found.limit.median, found.limit.high)
    )
    return median if low == high else say("{middle} ({low} to {high})", middle=median, low=low, high=high)


def _first(found: MulchLimit) -> str:
    order = sorted(((share, key) for key, share in found.first.items() if share > 0.0), reverse=True)
    return joined(
        ", ", (say("{reason} ({share})", reason=REASONS[key], share=share_text(share)) for share, key in order[:2])
    )


def _verdict(one: MulchCheck) -> Line:
    if one.planned_m <= one.found.limit.low:
        return say("well within")
    if one.planned_m <= one.found.limit.median:
        return say("likely fine; look under it after rain")
    return Say(say("rather thick: spread it thinner or mix it with chips"), strong=True)


def _bed(bed: BedCheck, units: Units) -> list[Block]:
    columns = (
        Column(say("Feed"), wide=1.4), Column(say("Planned a week, most"), "right"), Column(say("The bed takes a week"), "right", wide=1.5),
        Column(say("Weeks with too much"), "right"), Column(say("What limits it"), wide=1.3),
    )  # fmt: skip
    rows = [_feed(one, units) for one in bed.feeds]
    weeks = bed.forecast.weeks
    castings, worms = bed.forecast.at("castings_kg", weeks), bed.forecast.at("worms_kg", weeks)
    told = say(
        "Fed as planned, {bed} makes {castings} of castings, counted dry, by the end of the season and then holds "
        "{worms} of worms. The air over it is taken as that of the place; indoors it differs.",
        bed=bed.bed.name, castings=_mass_band(castings, units), worms=_mass_band(worms, units),
    )  # fmt: skip
    return [
        Table(
            say("{bed}: what it is fed, and what it takes in its coldest to its best week", bed=bed.bed.name),
            columns,
            rows,
        ),
        Para(told, "soft"),
    ]


def _feed(one: FeedCheck, units: Units) -> Sequence[Line]:
    takes = one.found.weekly_kg
    fed = sum(kg > 0.0 for kg in one.planned_kg)
    over: Line = (
        Say(say("{over} of {weeks}", over=one.over, weeks=fed), strong=True)
        if one.over
        else say("none of {weeks}", weeks=fed)
    )
    first = max(set(one.found.course.limit), key=one.found.course.limit.count)
    return (
        one.name,
        units.mass(max(one.planned_kg)),
        say("{low} to {high}", low=units.mass(min(takes)), high=units.mass(max(takes))),
        over,
        first,
    )


def _mass_band(one: Band, units: Units) -> str:
    if one.high == float("inf"):
        return say("no limit")
    middle = units.mass(one.median)
    if one.high <= one.low:
        return middle
    return say("{middle} ({low} to {high})", middle=middle, low=units.mass(one.low), high=units.mass(one.high))
