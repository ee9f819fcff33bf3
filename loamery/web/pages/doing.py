"""Chores of the plan held against the records of what was done: which is done, which is late."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from loamery.garden.fields import Record
from loamery.garden.model import Garden
from loamery.reference import coefficient
from loamery.season.bought import is_bought
from loamery.season.plan import Action, SeasonPlan

WEEK = timedelta(7)
Key = tuple[str, str, str]
"""Task, stuff (empty where the record does not say), target."""


@dataclass(frozen=True)
class Deed:
    """One record of work: which chores it could be, when it was done, how much, and where it is kept."""

    part: str
    key: Key
    on: date
    kg: float
    record: Record


def deeds(garden: Garden) -> Iterator[Deed]:
    """Yield every record that can answer a chore."""
    heap_of = {one.id: one.heap for one in garden.batches}
    for load in garden.loads:
        key = ("buy", load.material, "") if is_bought(garden, load) else ("collect", load.material, load.donor)
        yield Deed("loads", key, load.on, load.kg, load)
    for batch in garden.batches:
        yield Deed("batches", ("build", "", batch.heap), batch.built, 0.0, batch)
    for turning in garden.turnings:
        yield Deed("turnings", ("turn", "", heap_of.get(turning.batch, "")), turning.on, 0.0, turning)
    for feeding in garden.feedings:
        yield Deed("feedings", ("feed", feeding.material, feeding.worm_bed), feeding.on, feeding.kg, feeding)
    for one in garden.applications:
        stuff = one.material or ("castings" if one.worm_bed else "compost")
        yield Deed("applications", (one.use, stuff, one.bed), one.on, one.kg, one)


def chore_key(plan: SeasonPlan, action: Action) -> Key:
    """Return what a record must say to answer a chore; composts of all recipes count as one."""
    if action.task in ("build", "turn"):
        return action.task, "", action.target
    stuff = action.stuff
    if action.task in ("mulch", "dig_in"):
        composts = {one.id for one in plan.recipes}
        raw = {one.id for one in plan.garden.materials}
        stuff = "compost" if stuff in composts else stuff if stuff in raw else "castings"
    return action.task, stuff, action.target


def done_chores(plan: SeasonPlan, garden: Garden) -> dict[int, Deed]:
    """Return the record that answers each chore that is done, by the chore's place in the plan.

    Notes
    -----
    A record answers the earliest open chore of its kind from a week before the chore's week until the chore is
    given up; each record answers one chore.
    """
    give_up = timedelta(coefficient("chore_given_up_days").value)
    waiting: dict[Key, list[Deed]] = {}
    for deed in sorted(deeds(garden), key=lambda one: one.on):
        waiting.setdefault(deed.key, []).append(deed)
    out: dict[int, Deed] = {}
    for index, action in sorted(enumerate(plan.actions), key=lambda item: item[1].week):
        found = waiting.get(chore_key(plan, action), [])
        match = next((one for one in found if action.day - WEEK <= one.on <= action.day + give_up), None)
        if match is not None:
            found.remove(match)
            out[index] = match
    return out


def late_chores(plan: SeasonPlan, done: dict[int, Deed], on: date) -> list[int]:
    """Return the chores of weeks that have passed and that no record answers, while they are still worth doing."""
    give_up = timedelta(coefficient("chore_given_up_days").value)
    return [
        index
        for index, action in enumerate(plan.actions)
        if index not in done and action.day + WEEK <= on <= action.day + give_up
    ]
