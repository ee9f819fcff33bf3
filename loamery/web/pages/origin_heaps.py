"""Where the numbers of heaps and worm beds come from."""

from __future__ import annotations

from datetime import date, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from loamery.finding import Band, Input, Trace
from loamery.garden.model import Garden
from loamery.heap.forecast import HeapPlan
from loamery.reference import Coefficient, coefficient
from loamery.web.pages.sight import Learnt, Sight
from loamery.web.pages.terms import stuff_name
from loamery.worms.published import feed_kg_per_week

HEAP_SOURCES = ("HAUG93",)
HOT_C = 55.0
"""From here on a heap is called hot; every time and temperature rule asks for as much."""
MOST_DAYS = 40
WORM_WARMTH = ("worm_temp_low", "worm_temp_high")


def heap_origin(sight: Sight, rest: str) -> Trace | None:
    """Return how a figure of a heap forecast was reckoned: ``HEAP/WHAT``, None where there is no such figure."""
    key, _slash, what = rest.partition("/")
    learnt = sight.reckoned.heaps.get(key)
    if learnt is None:
        return None
    if what.startswith("rule-"):
        return _rule(sight, learnt, rest, what.removeprefix("rule-"))
    found = _figure(sight, learnt, what)
    return None if found is None else _foreseen(sight, learnt, rest, *found)


def _figure(sight: Sight, learnt: Learnt, what: str) -> tuple[str, str] | None:
    """Return the name of a figure of a forecast and the figure in words."""
    told, words = learnt.told, sight.words
    ready = told.ready.median
    day = words.day(told.on(ready)) if ready < float("inf") else _("later")
    return {
        "peak": (_("Warmest part of the heap"), words.temp(told.peak_c.median)),
        "hot": (_("Days with some hot part"), words.number(told.days_above_55.median, 2)),
        "ready": (_("Day the heap is ready"), day),
        "share": (_("Share of the runs in which the heap is ready"), words.share(told.ready_share)),
        "mass": (_("Mass left"), words.share(told.kept("mass_kg").median)),
    }.get(what)


def _foreseen(sight: Sight, learnt: Learnt, rest: str, title: str, value: str) -> Trace:
    told = learnt.told
    return Trace(
        f"heap/{rest}", title, value,
        _("heat, air, water and decay in {count} layers, run {runs} times with drawn materials, model numbers and weather; the middle run is shown").format(
            count=told.temp_c.shape[2], runs=told.draws),
        (*_built_from(sight, told.plan), Input(_("Weather"), _("monthly normals of the garden and days that were measured"))),
        HEAP_SOURCES, " ".join(learnt.words) or _("No reading of this heap has been used yet."),
    )  # fmt: skip


def _built_from(sight: Sight, heap: HeapPlan) -> tuple[Input, ...]:
    words = sight.words
    parts = [
        Input(stuff_name(sight.garden.material(one.composition.material).name), words.mass(one.kg), "",
              f"composition/{one.composition.material}/moisture")
        for one in heap.parts
    ]  # fmt: skip
    return (
        *parts,
        Input(_("Water added"), words.mass(heap.water_kg)),
        Input(_("Volume"), words.amount(heap.volume_m3, "heap volume")),
        Input(_("Turnings"), str(len(heap.turn_days))),
    )


def _rule(sight: Sight, learnt: Learnt, rest: str, index: str) -> Trace | None:
    if not index.isdecimal() or int(index) >= len(learnt.told.hygiene):
        return None
    one = learnt.told.hygiene[int(index)]
    return Trace(
        f"heap/{rest}", one.rule.words, sight.words.share(one.share),
        _("share of the heap's matter that has been as hot for as long as the rule asks, turnings counted, in the middle run"),
        (Input(_("Temperature asked"), sight.words.temp(one.rule.temp_c)), Input(_("Days asked"), sight.words.number(one.rule.hold_days)),
         *_built_from(sight, learnt.told.plan)),
        HEAP_SOURCES, _("A forecast proves no hygiene. Measure, and follow local codes."),
    )  # fmt: skip


def hot_days(garden: Garden, batch: str) -> set[date]:
    """Return the days on which a heap was measured hot."""
    return {one.on for one in garden.readings if one.batch == batch and (one.temp_c or 0.0) >= HOT_C}


def longest_run(days: set[date]) -> int:
    """Return the longest run of days without a gap."""
    best = 0
    for day in days:
        if day - timedelta(1) in days:
            continue
        length = 1
        while day + timedelta(length) in days:
            length += 1
        best = max(best, length)
    return best


def run_origin(sight: Sight, batch: str) -> Trace | None:
    """Return which readings make the longest run of hot days of a heap."""
    if all(one.id != batch for one in sight.garden.batches):
        return None
    words, hot = sight.words, hot_days(sight.garden, batch)
    best = {
        day: max(one.temp_c or 0.0 for one in sight.garden.readings if (one.batch, one.on) == (batch, day))
        for day in hot
    }
    run = longest_run(hot)
    return Trace(
        f"run/{batch}",
        _("Longest run of days measured hot"),
        ngettext("{count} day", "{count} days", run).format(count=run),
        _("days in a row with a reading of {temp} or more; a day without a reading does not count").format(temp=words.temp(HOT_C)),
        tuple(Input(words.day(day), words.temp(best[day])) for day in sorted(best, reverse=True)[:MOST_DAYS]),
    )  # fmt: skip


def worm_origin(sight: Sight, rest: str) -> Trace | None:
    """Return where a number about a worm bed comes from: the most food, or the warmth worms want."""
    key, _slash, what = rest.partition("/")
    box = next((one for one in sight.garden.worm_beds if one.id == key), None)
    if box is None:
        return None
    if what == "warmth":
        return _warmth(sight, rest)
    weighed = _("weighed") if box.worms_kg else _("not weighed: the usual stocking per area is assumed")
    stocking, feed = coefficient("worm_stocking"), coefficient("worm_feed_ceiling")
    inputs = [
        Input(_("Worms"), sight.words.mass(box.worms_kg or stocking.value * box.area_m2), weighed),
        Input(_("Area"), sight.words.amount(box.area_m2, "area"), _("as written down")),
        Input(_("Food a day for their mass"), sight.words.number(feed.value), _between(sight, feed)),
    ]
    sources = (feed.source,) if box.worms_kg else (feed.source, stocking.source)
    return Trace(f"worms/{rest}", _("Most fresh food in a week"), sight.words.mass(feed_kg_per_week(box)),
                 _("a share of the worms' own mass each day, times seven"), tuple(inputs), sources)  # fmt: skip


def _warmth(sight: Sight, rest: str) -> Trace:
    low, high = (coefficient(key) for key in WORM_WARMTH)
    value = _("{low} to {high}").format(low=sight.words.temp(low.value), high=sight.words.temp(high.value))
    inputs = (
        Input(_("Lower end"), sight.words.temp(low.value)),
        Input(_("Upper end"), sight.words.temp(high.value)),
    )
    sources = tuple(dict.fromkeys((low.source, high.source)))
    return Trace(f"worms/{rest}", _("Warmth in which worms work well"), value, _("as published"), inputs, sources)


def _between(sight: Sight, one: Coefficient) -> str:
    return sight.words.between(Band(one.value, one.low, one.high))
