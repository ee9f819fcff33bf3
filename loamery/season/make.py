"""Make a season plan: prepare, blend, solve, and read the answer as people do.

To solve a garden again with something changed: change the `Garden` (`model_copy`) and call `plan_season`, or keep what the
reports said (`prepare`) and call `solve_prepared`, which takes what simulators found as a `Believed` and returns problem and solution beside the
plan; recipes of an earlier answer can be given back, so that a loop does not blend again. `loamery.season.duals.shadow_prices(problem,
solution)` gives the price of every limit. A `Decision` (any, also one made by hand) is what a simulator replays.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from loamery.errors import InputError, NoPlan
from loamery.finding import Finding, Ledger, by_severity
from loamery.garden.model import Garden, Material
from loamery.say import say
from loamery.season.actions import actions_of, batches_of, material_uses, weekly_hours
from loamery.season.balance import bed_plans
from loamery.season.believed import AS_PUBLISHED, Believed
from loamery.season.calendar import Calendar, calendar_of
from loamery.season.decision import Solution
from loamery.season.explain import plan_findings
from loamery.season.holding import Held, hold
from loamery.season.levers import levers_of
from loamery.season.mulch_depths import bearable, mulch_findings
from loamery.season.needs import bed_need
from loamery.season.plan import SeasonPlan
from loamery.season.prepare import Prepared, barred_materials, prepare
from loamery.season.problem import Problem, make_problem
from loamery.season.recipes import Recipe, make_recipes
from loamery.season.scenarios import SCENARIOS
from loamery.season.solve import GAPS, MOST_NODES, TIME_LIMIT_S, solve_season
from loamery.season.stuff import Stuff, raw_stuff
from loamery.season.traces import composition_traces, plan_traces

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Solved:
    """A plan with what it was computed from."""

    prepared: Prepared
    problem: Problem
    solution: Solution
    plan: SeasonPlan


def plan_season(garden: Garden, progress: Progress = lambda _: None, *, since: date | None = None) -> SeasonPlan:
    """Return the season plan of a garden.

    Parameters
    ----------
    garden : as read from its folder; it needs no laboratory report.
    progress : told, in a few words, what is being done.
    since : first day to plan, in mid-season; what was done before it is taken as the records say.

    Raises
    ------
    InputError : a laboratory file cannot be used.
    NoPlan : there is nothing to plan, or no plan keeps the limits given.
    """
    return solve_prepared(prepare(garden, progress), progress, since=since).plan


def plan_prepared(prepared: Prepared, progress: Progress = lambda _: None) -> SeasonPlan:
    """Return the season plan of a garden whose reports have been read; see `plan_season`."""
    return solve_prepared(prepared, progress).plan


def solve_prepared(
    prepared: Prepared,
    progress: Progress = lambda _: None,
    *,
    believed: Believed = AS_PUBLISHED,
    recipes: Sequence[Recipe] | None = None,
    scenarios: int = SCENARIOS,
    since: date | None = None,
    held: Sequence[Held] = (),
    time_limit_s: float = TIME_LIMIT_S,
    gaps: Mapping[str, float] = GAPS,
    most_nodes: int = MOST_NODES,
    known: Solution | None = None,
) -> Solved:
    """Return the season plan of a garden whose reports have been read, with problem and solution.

    Parameters
    ----------
    believed : what simulators found, in place of published factors.
    recipes : of an earlier answer for the same materials; blended anew when None.
    scenarios : for how many draws the plan is made.
    since : first day to plan, in mid-season.
    held : amounts a person fixed; the rest is solved around them.
    time_limit_s : of the solver, a far backstop; then the best plan so far is returned. gaps, most_nodes : as `solve_season`.
    known : what the same question was answered before; then nothing is solved.

    Raises
    ------
    NoPlan : as `plan_season`.
    """
    garden, calendar = prepared.garden, calendar_of(prepared.garden)
    _refuse_empty(garden, calendar)
    _refuse_day(calendar, since)
    started = time.perf_counter()
    barred = barred_materials(prepared)
    progress("running layers of mulch")
    raw = [_raw(prepared, one, one.id in barred) for one in garden.materials]
    needs = [bed_need(garden, bed, prepared.soils[bed.id], calendar) for bed in garden.beds]
    findings: tuple[Finding, ...] = ()
    if recipes is None:
        progress("blending heaps")
        recipes, findings = make_recipes(garden, calendar, raw, prepared.compositions) if garden.heaps else ((), ())
    progress("solving the season")
    problem = make_problem(garden, calendar, needs, raw, recipes, believed=believed, scenarios=scenarios, since=since)
    problem, lost = hold(problem, held)
    solution = known or solve_season(problem, gaps=gaps, time_limit_s=time_limit_s, most_nodes=most_nodes)
    progress("checking the plan against its uncertainty")
    plan = _told(prepared, problem, solution)
    ledger = plan.ledger
    ledger.merge(plan_traces(plan))
    told = (*prepared.findings, *barred.values(), *findings, *lost, *problem.so_far.findings)
    told = (*told, *plan_findings(plan, problem, solution), *mulch_findings(plan, problem))
    plan = replace(plan, seconds=time.perf_counter() - started, findings=tuple(by_severity(told)))
    return Solved(prepared, problem, solution, plan)


def _raw(prepared: Prepared, material: Material, barred: bool) -> Stuff:
    composition = prepared.compositions[material.id]
    stuff = raw_stuff(material, composition)
    return replace(stuff, uses=()) if barred else bearable(stuff, composition, prepared.garden)


def _told(prepared: Prepared, problem: Problem, solution: Solution) -> SeasonPlan:
    """Return a solution as people read it, without findings."""
    garden, calendar = problem.garden, problem.calendar
    batches = batches_of(problem, solution)
    actions = actions_of(problem, solution, batches)
    materials = material_uses(problem, solution)
    ledger = Ledger()
    for composition in prepared.compositions.values():
        ledger.merge(composition_traces(composition, garden.material(composition.material).name))
    return SeasonPlan(
        garden=garden,
        calendar=calendar,
        compositions=prepared.compositions,
        reports=prepared.reports,
        actions=actions,
        batches=batches,
        recipes=problem.recipes,
        beds=bed_plans(problem, solution),
        materials=materials,
        hours=weekly_hours(actions, calendar.weeks),
        money=sum(one.spent for one in materials) + problem.so_far.spent,
        from_week=problem.so_far.week,
        status=solution.status,
        values=solution.values,
        gaps=solution.gaps,
        scenarios=problem.scenarios.count,
        seconds=0.0,
        ledger=ledger,
        levers=levers_of(problem),
    )


def _refuse_day(calendar: Calendar, since: date | None) -> None:
    """Raise when a plan is to begin on a day outside of the season."""
    if since is not None and not calendar.start <= since < calendar.end:
        raise InputError(
            say("a plan from {day}", day=since.isoformat()),
            expected=say(
                "a day of the season, {start} to {end}", start=calendar.start.isoformat(), end=calendar.end.isoformat()
            ),
            remedy=say("change the day, or season_start and season_weeks in garden.toml"),
        )


def _refuse_empty(garden: Garden, calendar: Calendar) -> None:
    """Raise when there is nothing to plan for."""
    lacking: dict[str, str] = {}
    if not garden.beds:
        lacking[say("beds.csv holds no bed")] = say("add a bed with its area")
    if not garden.materials:
        lacking[say("materials.csv holds no material")] = say("add a material")
    if not (garden.goods or garden.stores):
        if not any(one.kg_per_week > 0 for one in garden.supplies):
            lacking[say("supplies.csv holds no amount above zero")] = say("add a supply with kg_per_week above zero")
        elif all(one.last < calendar.start or one.first >= calendar.end for one in garden.supplies):
            late = say("no supply falls into the season")
            lacking[late] = say("check the dates of the supplies and of the season")
    if lacking:
        raise NoPlan(say("There is nothing to plan."), conflict=list(lacking), remedies=list(lacking.values()))
