"""Amounts that a person fixed: the season is solved around them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from loamery.finding import Finding
from loamery.garden.model import Use
from loamery.say import say
from loamery.season.problem import Problem
from loamery.words import mass_text


@dataclass(frozen=True)
class Held:
    """One amount fixed by hand: kg of a stuff still to be spread on a bed in the week of a day; 0 keeps it free of the stuff.

    Parameters
    ----------
    stuff, stuff_name : as in the plan it was fixed in; both have to be found again. use : how it is spread.
    bed : its id. day : in the week. kg : as received, without what was spread in that week already.
    """

    stuff: str
    stuff_name: str
    use: Use
    bed: str
    day: date
    kg: float


def hold(problem: Problem, held: Sequence[Held]) -> tuple[Problem, tuple[Finding, ...]]:
    """Return a season in which amounts are fixed, and what could not be.

    Parameters
    ----------
    held : at most one for each stuff, use, bed and week; those of weeks that are past are left to the records.

    Returns
    -------
    the problem with `held` set, kg, shape (spreads, beds, weeks), not a number where the plan is free; a warning for each amount whose
    stuff, bed or week no longer is what it was.
    """
    fixed = np.full(problem.allowed.shape, np.nan)
    ways = {(one.stuff.id, one.stuff.name, one.use): row for row, one in enumerate(problem.spreads)}
    beds = {one.bed.id: row for row, one in enumerate(problem.needs)}
    lost = []
    for one in held:
        week = problem.calendar.week_of(one.day)
        if week < problem.so_far.week:
            continue
        row, bed = ways.get((one.stuff, one.stuff_name, one.use)), beds.get(one.bed)
        inside = week < problem.calendar.weeks
        if row is not None and bed is not None and inside and problem.spreading[row, bed, week]:
            fixed[row, bed, week] = one.kg
        elif one.kg > 0:
            lost.append(_lost(problem, one))
    return (replace(problem, held=fixed) if np.isfinite(fixed).any() else problem), tuple(lost)


def _lost(problem: Problem, one: Held) -> Finding:
    mass = mass_text(one.kg, problem.garden.info.units)
    return Finding(
        "hand_not_held",
        "warning",
        say(
            "{mass} of {stuff_name} on {bed} in the week of {day} could not be kept as fixed by hand",
            mass=mass,
            stuff_name=one.stuff_name.lower(),
            bed=one.bed,
            day=one.day.isoformat(),
        ),
        say("the garden no longer has this material, this bed, or a week in which it may go there"),
        about=one.bed,
        proposal=say("let it go, or fix an amount of what there is now"),
    )
