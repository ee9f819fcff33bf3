"""What has been done already: loads that came, heaps that stand, what was fed and spread, as the records say.

A plan in mid-season takes all of it as it is and plans the rest; a plan from the first day takes in heaps built before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from loamery.finding import Finding
from loamery.garden.model import Garden, Use
from loamery.garden.records import Batch
from loamery.heap.published import lead_time_weeks
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.season.believed import Believed
from loamery.season.calendar import Calendar
from loamery.season.stuff import CASTINGS, Stuff, compost_stuff
from loamery.words import mass_text
from loamery.worms.published import lead_time_weeks as castings_weeks

Array = NDArray[np.float64]
LEAST_GAP_KG = 1.0
"""A gap in the records below this is not told."""


@dataclass(frozen=True)
class Standing:
    """A heap that was built: its compost as stuff, what it gives and when (week, may lie after the season)."""

    batch: Batch
    compost: Stuff
    compost_kg: float
    ready_week: int


@dataclass(frozen=True)
class SoFar:
    """The past of a season, as arrays.

    Parameters
    ----------
    week : first week that is planned; 0 for a plan from the first day.
    came, went : kg into and out of store other than by spreading on beds, (stuffs, weeks).
    spread : kg that lies on beds, (spreads, beds, weeks).
    occupied : heap places that a standing batch holds, (places, weeks).
    spring_kg : compost of standing heaps that is ready only after the season.
    loads, heaps, worms : kg of each raw material collected, built in and fed, (raw,).
    found : kg of each stuff that must have been there because it was used, (stuffs,).
    used : kg of each stuff that was spread before that week, (stuffs,).
    used_now : kg of each stuff that was used in that week before the day of planning, (stuffs,).
    spent : money paid for loads.
    """

    week: int
    came: Array
    went: Array
    spread: Array
    occupied: Array
    spring_kg: float
    loads: Array
    heaps: Array
    worms: Array
    found: Array
    used: Array
    used_now: Array
    spent: float
    findings: tuple[Finding, ...]

    def in_store(self, store_kg: Array) -> Array:
        """Return what lies in store when the plan begins, kg, (stuffs,)."""
        return np.asarray(store_kg + (self.came - self.went)[:, : self.week].sum(axis=1) - self.used)

    def may_be_thrown(self, store_kg: Array) -> Array:
        """Return what lies in store when the plan begins, with loads that came in its first week before that day, kg, (stuffs,)."""
        there = np.maximum(self.in_store(store_kg), 0.0)
        raw = self.loads.size
        there[:raw] += self.came[:raw, self.week : self.week + 1].sum(axis=1)
        return there

    def spoiled(self, store_kg: Array, kept_weeks: NDArray[np.int64]) -> Array:
        """Return what of the store has kept too long when the plan begins and nobody has used since, kg, (stuffs,)."""
        if self.week == 0:
            return np.zeros(store_kg.size)
        came = self.came.copy()
        came[:, 0] += store_kg
        ages = self.week - np.arange(came.shape[1])
        young = ((ages >= 1) & (ages <= kept_weeks[:, None])) * came
        return np.asarray(np.maximum(self.in_store(store_kg) - young.sum(axis=1) - self.used_now, 0.0))


def standing_heaps(
    garden: Garden, calendar: Calendar, raw: Sequence[Stuff], since: date, believed: Believed
) -> tuple[tuple[Standing, ...], tuple[Finding, ...]]:
    """Return the heaps that were built before a day, and what keeps others from being counted."""
    by_id, out, findings = {one.id: one for one in raw}, [], []
    for batch in garden.batches:
        parts = [(by_id[one.material], one.kg) for one in garden.batch_parts if one.batch == batch.id]
        total = sum(kg for _, kg in parts)
        if batch.built >= since:
            continue
        if not total:
            findings.append(_no_parts(batch))
            continue
        heap = next(one.name for one in garden.heaps if one.id == batch.heap)
        name = say("Compost of {heap}, {day}", heap=heap, day=batch.built.isoformat())
        stuff, share = compost_stuff(
            batch.id, name, [(one, kg / total) for one, kg in parts], believed.lost.get(batch.id)
        )
        known = batch.emptied is not None and batch.emptied < since
        kg = batch.compost_kg if known and batch.compost_kg is not None else share * total
        out.append(Standing(batch, stuff, kg, _ready_week(batch, calendar, since, believed)))
    return tuple(out), tuple(findings)


def _ready_week(batch: Batch, calendar: Calendar, since: date, believed: Believed) -> int:
    if batch.emptied is not None and batch.emptied < since:
        return calendar.week_of(batch.emptied)
    built = calendar.week_of(batch.built)
    temp = float(calendar.temp_c[min(max(built, 0), calendar.weeks - 1)])
    lead = believed.lead_weeks.get(batch.id)
    weeks = lead_time_weeks(temp) if lead is None else float(np.median(lead))
    return built + int(np.ceil(weeks))


def _no_parts(batch: Batch) -> Finding:
    return Finding(
        "batch_without_parts",
        "warning",
        say(
            "The heap built on {built} is not counted: nobody wrote down what it is made of.",
            built=batch.built.isoformat(),
        ),
        say("batch_parts.csv holds no line for it"),
        about="heap",
        proposal=say("write its materials into batch_parts.csv, roughly is better than not at all"),
    )


def uses_done(garden: Garden, since: date) -> set[tuple[str, Use]]:
    """Return the stuff and use of everything that was spread before a day; castings go by their form."""
    return {(one.material or one.batch or CASTINGS, one.use) for one in garden.applications if one.on < since}


def take_stock(
    garden: Garden,
    calendar: Calendar,
    since: date,
    *,
    raw: Sequence[Stuff],
    stuffs: Sequence[Stuff],
    spreads: Sequence[tuple[str, str]],
    places: Sequence[Sequence[str]],
    store_kg: Array,
    standing: Sequence[Standing],
    castings_yield: Array,
    findings: Sequence[Finding] = (),
) -> SoFar:
    """Return the past of a season up to a day.

    Parameters
    ----------
    since : first day that is planned; its whole week is.
    spreads : stuff id and use of each. places : ids of the heaps of each size.
    castings_yield : kg of castings for each kg fed, (raw,).
    """
    weeks = calendar.weeks
    now = min(max(calendar.week_of(since), 0), weeks)
    order = {one.id: row for row, one in enumerate(stuffs)}
    came, went = np.zeros((len(stuffs), weeks)), np.zeros((len(stuffs), weeks))
    loads, heaps, worms = (np.zeros(len(raw)) for _ in range(3))
    spent = 0.0
    for load in garden.loads:
        if calendar.start <= load.on < since and load.on < calendar.end:
            came[order[load.material], calendar.week_of(load.on)] += load.kg
            loads[order[load.material]] += load.kg
            spent += load.kg * load.price_per_kg
    occupied, spring = np.zeros((len(places), weeks)), 0.0
    for one in standing:
        built = calendar.week_of(one.batch.built)
        for part in garden.batch_parts:
            if part.batch == one.batch.id and 0 <= built < weeks:
                went[order[part.material], built] += part.kg
                heaps[order[part.material]] += part.kg
        if one.ready_week < weeks:
            came[order[one.compost.id], max(one.ready_week, 0)] += one.compost_kg
        else:
            spring += one.compost_kg
        _occupy(occupied, one.batch, places, calendar)
    for feeding in garden.feedings:
        if calendar.start <= feeding.on < since and feeding.on < calendar.end:
            row, week = order[feeding.material], calendar.week_of(feeding.on)
            went[row, week] += feeding.kg
            worms[row] += feeding.kg
            ready = week + int(np.ceil(castings_weeks()))
            if castings_yield[row] > 0 and ready < weeks:
                came[order[CASTINGS], ready] += castings_yield[row] * feeding.kg
    laid, unknown = _laid(garden, calendar, since, spreads)
    by_stuff = np.zeros((len(stuffs), weeks))
    for row, (stuff, _) in enumerate(spreads):
        by_stuff[order[stuff]] += laid[row].sum(axis=0)
    # of the week of that day only what was done before it is in here, so it counts as past
    past = min(now + 1, weeks)
    found = _found(store_kg, came - went - by_stuff, past)
    came[:, :past] += np.diff(found, axis=1, prepend=0.0)
    lacking = found.max(axis=1, initial=0.0)
    told = [*findings, *unknown, *_gaps(garden, stuffs, lacking)]
    if now > 0:
        told.append(_told(garden, since))
    used = by_stuff[:, :now].sum(axis=1)
    used_now = (went + by_stuff)[:, now:past].sum(axis=1)
    return SoFar(
        now, came, went, laid, occupied, spring, loads, heaps, worms, lacking, used, used_now, spent, tuple(told)
    )


def _occupy(occupied: Array, batch: Batch, places: Sequence[Sequence[str]], calendar: Calendar) -> None:
    built, active = calendar.week_of(batch.built), int(np.ceil(coefficient("heap_active_weeks").value))
    until = built + active if batch.emptied is None else min(calendar.week_of(batch.emptied), built + active)
    place = next(row for row, heaps in enumerate(places) if batch.heap in heaps)
    occupied[place, max(built, 0) : max(until, 0)] += 1.0


def _laid(
    garden: Garden, calendar: Calendar, since: date, spreads: Sequence[tuple[str, str]]
) -> tuple[Array, list[Finding]]:
    """Return what was spread on beds, (spreads, beds, weeks), and what of it cannot be counted."""
    out = np.zeros((len(spreads), len(garden.beds), calendar.weeks))
    beds, rows, findings = [one.id for one in garden.beds], list(spreads), []
    for one in garden.applications:
        key = (one.material or one.batch or CASTINGS, one.use)
        if not calendar.start <= one.on < min(since, calendar.end):
            continue
        if key not in rows:
            findings.append(_not_counted(key[0], garden.bed(one.bed).name, one.on))
        else:
            out[rows.index(key), beds.index(one.bed), calendar.week_of(one.on)] += one.kg
    return out, findings


def _not_counted(stuff: str, bed: str, on: date) -> Finding:
    return Finding(
        "application_not_counted",
        "warning",
        say("{bed}: what was spread on {on} is not counted.", bed=bed, on=on.isoformat()),
        say("nothing is known of “{stuff}” that could be reckoned with", stuff=stuff),
        about=bed,
        proposal=say("write what it was made of into batch_parts.csv, or feed the worm bed on paper too"),
    )


def _found(store_kg: Array, flow: Array, past: int) -> Array:
    """Return what must have been there by the end of each past week because it was used, kg, (stuffs, past)."""
    stock = store_kg[:, None] + np.cumsum(flow[:, :past], axis=1)
    return np.maximum.accumulate(np.maximum(-stock, 0.0), axis=1)


def _gaps(garden: Garden, stuffs: Sequence[Stuff], found: Array) -> list[Finding]:
    return [
        Finding(
            "records_gap",
            "note",
            say(
                "{name}: {kg} more was used than the records say came.",
                name=stuff.name,
                kg=mass_text(float(kg), garden.info.units),
            ),
            say("loads.csv, stores.csv and the heaps that were built, against what was spread, built in and fed"),
            about=stuff.name,
            proposal=say("the plan takes it that it was there; add the loads that are missing"),
        )
        for stuff, kg in zip(stuffs, found, strict=True)
        if kg > LEAST_GAP_KG
    ]


def _told(garden: Garden, since: date) -> Finding:
    done = {
        say("loads"): sum(one.on < since for one in garden.loads),
        say("applications"): sum(one.on < since for one in garden.applications),
        say("heaps"): sum(one.built < since for one in garden.batches),
        say("feedings of worms"): sum(one.on < since for one in garden.feedings),
    }
    return Finding(
        "planned_anew",
        "note",
        say("Planned anew from {since}: what was done before is taken as it is written down.", since=since.isoformat()),
        say("written down are ")
        + joined(", ", (say("{count} {what}", count=count, what=what) for what, count in done.items())),
        about="garden",
        proposal=say("what is not written down counts as not done: write it down and plan again"),
    )
