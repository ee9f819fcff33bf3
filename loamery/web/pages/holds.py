"""Amounts a person fixed by hand: kept from one plan to the next until the person lets them go."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path

from loamery.garden.model import Garden as Records
from loamery.saving import save_text
from loamery.season.calendar import calendar_of
from loamery.season.holding import Held
from loamery.season.plan import SeasonPlan

HELD = "held.json"
Moves = Mapping[int, tuple[float, int]]


def held_in(folder: Path) -> tuple[Held, ...]:
    """Return what was fixed by hand in the plans so far, in the order of weeks."""
    path = folder / HELD
    if not path.is_file():
        return ()
    try:
        rows = json.loads(path.read_text(encoding="utf-8"))
    except ValueError:  # damaged: nothing is held, and the page shows that
        return ()
    return tuple(Held(**{**row, "day": date.fromisoformat(row["day"])}) for row in rows)


def keep_held(folder: Path, held: Iterable[Held]) -> None:
    """Keep what is fixed by hand."""
    rows = [{**vars(one), "day": one.day.isoformat()} for one in held]
    save_text(folder / HELD, json.dumps(rows))


def with_moves(held: Iterable[Held], plan: SeasonPlan | None, moves: Moves) -> tuple[Held, ...]:
    """Return what is fixed after a plan was changed by hand: later words stand over earlier ones.

    Parameters
    ----------
    moves : place of the action in the plan to its new kg and week. An action that moves to another week leaves its old one empty.
    """
    out = {(one.stuff, one.use, one.bed, one.day): one for one in held}

    def fix(one: Held) -> None:
        out[one.stuff, one.use, one.bed, one.day] = one

    for index, (kg, week) in moves.items() if plan else ():
        assert plan is not None
        action = plan.actions[index]
        if week != action.week:
            fix(Held(action.stuff, action.stuff_name, action.task, action.target, action.day, 0.0))  # type: ignore[arg-type]
        fix(Held(action.stuff, action.stuff_name, action.task, action.target, plan.calendar.monday(week), kg))  # type: ignore[arg-type]
    return tuple(sorted(out.values(), key=lambda one: (one.day, one.bed, one.stuff, one.use)))


def first_day(records: Records, on: date) -> date | None:
    """Return the first day to plan: today once something was written down in a season that runs, else None for the whole season."""
    calendar = calendar_of(records)
    if not calendar.start < on < calendar.end:
        return None
    done = [
        *(one.on for part in (records.loads, records.applications, records.feedings) for one in part),
        *(one.built for one in records.batches),
    ]
    return on if any(calendar.start <= one <= on for one in done) else None
