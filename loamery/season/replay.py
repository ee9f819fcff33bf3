"""A plan played through heaps and beds in seasons that may come: does it hold, and what does it come to?"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.reference import coefficient
from loamery.say import say
from loamery.season.actions import batches_of
from loamery.season.carry_out import LEAST_KG, Carried, carry_out, had_kg
from loamery.season.decision import Decision
from loamery.season.outcome import Outcome, outcome
from loamery.season.plan import Batch
from loamery.season.prepare import Prepared
from loamery.season.problem import Problem
from loamery.season.replay_beds import BedYear, bed_years
from loamery.season.replay_heaps import HeapFate, heap_fates, published_fates
from loamery.season.replay_soil import SoilYears, soil_years
from loamery.season.years import Years, draw_years

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
FRESH, DRAWS = 7919, 60
"""Added to the garden's seed, so that a plan is never judged by the draws it was made with; and how many."""
IN_TIME = 0.02
"""Product missing in its week, as a share of what is planned, that nobody would notice."""
ROUNDING = 1e-6


@dataclass(frozen=True, eq=False)
class Limit:
    """One kind of limit in the replay.

    Parameters
    ----------
    broken : by member, shape (n,).
    worst : by how much the worst place of each member stands against it; 1 is at the limit, (n,).
    """

    key: str
    label: str
    broken: Flags
    worst: Array

    @property
    def kept_share(self) -> float:
        """Return the share of seasons in which it is kept."""
        return float(1.0 - self.broken.mean())


@dataclass(frozen=True, eq=False)
class Replay:
    """A plan in seasons that may come.

    Parameters
    ----------
    limits : every kind of limit. carried, soil, beds, fates : what happened.
    """

    problem: Problem
    solution: Decision
    years: Years
    batches: tuple[Batch, ...]
    fates: tuple[HeapFate, ...]
    carried: Carried
    soil: SoilYears
    beds: tuple[BedYear, ...]
    limits: tuple[Limit, ...]
    outcome: Outcome

    @property
    def holds_share(self) -> float:
        """Return the share of seasons in which no limit at all is broken."""
        return float(1.0 - np.any([one.broken for one in self.limits], axis=0).mean())

    def balance_error(self) -> float:
        """Return the most by which an account of dry matter, nitrogen or phosphorus does not close, as a share."""
        return max(*(float(np.max(_gap(account))) for account in self.carried.book.values()), self.soil.gap)


def _gap(account: Mapping[str, Array]) -> Array:
    stayed = sum((value for key, value in account.items() if key != "collected"), np.zeros(1))
    return np.asarray(np.abs(account["collected"] - stayed) / np.maximum(account["collected"], 1e-12))


def replay(
    prepared: Prepared,
    problem: Problem,
    solution: Decision,
    *,
    years: Years | None = None,
    draws: int = DRAWS,
    simulate: bool = True,
    progress: Callable[[str], None] = lambda _: None,
) -> Replay:
    """Return what comes of a plan in fresh draws of compositions, kinetics and weather.

    Parameters
    ----------
    problem, solution : the plan's own, or one made by hand.
    years : to play several plans in the same seasons; drawn when None.
    draws : how many seasons are drawn.
    simulate : run the heap model too; else published factors stand for it, quick enough for a thousand seasons.

    Raises
    ------
    HeapFailed : the equations of a heap could not be solved.
    """
    if years is None:
        years = draw_years(prepared, problem.calendar, draws, prepared.garden.info.seed + FRESH)
    batches = batches_of(problem, solution)
    progress(f"playing the plan in {years.n} seasons")
    fates = heap_fates(problem.garden, batches, years) if simulate else published_fates(problem.garden, batches, years)
    carried = carry_out(problem, solution, batches, fates, years)
    soil = soil_years(problem, carried.laid, years)
    beds = bed_years(problem, carried.laid, years, soil.nitrogen)
    made = sum(
        (_in_season(problem, batch, fate) * fate.fits for batch, fate in zip(batches, fates, strict=True)),
        np.zeros(years.n),
    )
    return Replay(
        problem,
        solution,
        years,
        batches,
        tuple(fates),
        carried,
        soil,
        tuple(beds),
        tuple(_limits(problem, solution, batches, fates, carried, beds)),
        outcome(problem, solution, beds, made, carried.left_over),
    )


def _in_season(problem: Problem, batch: Batch, fate: HeapFate) -> Array:
    """Return the compost of a batch, ready or not, kg at its finished moisture."""
    dry = sum(float(np.median(stuff.dry)) * batch.parts_kg.get(stuff.id, 0.0) for stuff in problem.raw)
    return np.asarray(dry * fate.dry_left / (1.0 - coefficient("heap_finished_moisture").value))


def _limits(
    problem: Problem,
    solution: Decision,
    batches: tuple[Batch, ...],
    fates: list[HeapFate],
    carried: Carried,
    beds: list[BedYear],
) -> list[Limit]:
    n = beds[0].p_kg_m2.size
    room = {one.id: one.capacity_m3 for one in problem.garden.heaps}
    late = carried.late / carried.planned if carried.planned > 0.0 else np.zeros(n)
    standing = coefficient("standing_mulch_max").value
    rate = coefficient("compost_rate_max").value
    found = [
        _limit("supply", say("no more is used than was collected"), _supply(problem, solution, carried)),
        _limit(
            "heap_room",
            say("every batch fits its heap"),
            [f.volume_m3 / room[b.heap] for b, f in zip(batches, fates, strict=True)],
            n,
        ),
        Limit(
            "in_time", say("compost and castings are there when the plan spreads them"), late > IN_TIME, late / IN_TIME
        ),
        _limit(
            "layer",
            say("no mulch is deeper than its own limit"),
            [depth / problem.spreads[row].depth_limit_m for one in beds for row, depth in one.layers_m.items()],
            n,
        ),
        _limit(
            "standing",
            say("mulch on a bed is not deeper than it may be in all"),
            [one.standing_m / standing for one in beds],
            n,
        ),
        _limit("dug_in", say("no more is worked in than soil takes"), [one.dug_in_kg_m2 / rate for one in beds], n),
    ]
    for key, label in (("P", say("phosphorus")), ("K", say("potassium")), ("salt", say("salt"))):
        found.append(
            _limit(
                f"ceiling_{key}",
                say("{label} stays below each bed's ceiling", label=label),
                _loads(problem, beds, (key,)),
                n,
            )
        )
    traces = tuple({key for need in problem.needs for key in need.ceilings} - {"P", "K", "salt"})
    found.append(
        _limit("ceiling_trace", say("trace elements stay below each bed's ceilings"), _loads(problem, beds, traces), n)
    )
    hours = problem.garden.info.hours_per_week
    if hours is not None:
        found.append(
            _limit(
                "hands",
                say("no week asks for more hours than there are"),
                [np.full(n, _busiest(problem, solution) / max(hours, 1e-9))],
                n,
            )
        )
    return found


def _limit(key: str, label: str, shares: list[Array], n: int = 0) -> Limit:
    worst = np.max(np.stack(shares), axis=0) if shares else np.zeros(n)
    return Limit(key, label, worst > 1.0 + ROUNDING, worst)


def _supply(problem: Problem, solution: Decision, carried: Carried) -> list[Array]:
    had = {one.id: had_kg(problem, solution, index) for index, one in enumerate(problem.raw)}
    return [carried.used[key] / max(kg, LEAST_KG) for key, kg in had.items()]


def _loads(problem: Problem, beds: list[BedYear], keys: tuple[str, ...]) -> list[Array]:
    return [
        year.load_kg_m2[key] / need.ceilings[key].limit_kg_m2
        for need, year in zip(problem.needs, beds, strict=True)
        for key in keys
        if key in need.ceilings and need.ceilings[key].limit_kg_m2 > 0.0
    ]


def _busiest(problem: Problem, solution: Decision) -> float:
    from loamery.season.actions import actions_of, weekly_hours

    actions = actions_of(problem, solution, batches_of(problem, solution))
    return max(weekly_hours(actions, problem.calendar.weeks), default=0.0)
