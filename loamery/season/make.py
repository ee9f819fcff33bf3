"""Make a season plan: prepare, blend, solve, and read the answer as people do."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

from loamery.errors import NoPlan
from loamery.finding import Finding, Ledger, by_severity
from loamery.garden.model import Garden
from loamery.season.actions import actions_of, batches_of, material_uses, weekly_hours
from loamery.season.balance import bed_plans
from loamery.season.calendar import Calendar, calendar_of
from loamery.season.explain import plan_findings
from loamery.season.levers import levers_of
from loamery.season.needs import bed_need
from loamery.season.plan import SeasonPlan
from loamery.season.prepare import Prepared, barred_materials, prepare
from loamery.season.problem import make_problem
from loamery.season.programme import solve_season
from loamery.season.recipes import make_recipes
from loamery.season.stuff import raw_stuff
from loamery.season.traces import composition_traces, plan_traces

Progress = Callable[[str], None]


def plan_season(garden: Garden, progress: Progress = lambda _: None) -> SeasonPlan:
    """Return the season plan of a garden.

    Parameters
    ----------
    garden : as read from its folder; it needs no laboratory report.
    progress : told, in a few words, what is being done.

    Raises
    ------
    InputError : a laboratory file cannot be used.
    NoPlan : there is nothing to plan, or no plan keeps the limits given.
    """
    return plan_prepared(prepare(garden, progress), progress)


def plan_prepared(prepared: Prepared, progress: Progress = lambda _: None) -> SeasonPlan:
    """Return the season plan of a garden whose reports have been read; see `plan_season`."""
    garden, calendar = prepared.garden, calendar_of(prepared.garden)
    _refuse_empty(garden, calendar)
    started = time.perf_counter()
    barred = barred_materials(prepared)
    raw = [
        replace(stuff, uses=()) if stuff.id in barred else stuff
        for stuff in (raw_stuff(one, prepared.compositions[one.id]) for one in garden.materials)
    ]
    needs = [bed_need(garden, bed, prepared.soils[bed.id], calendar) for bed in garden.beds]
    progress("blending heaps")
    recipes, findings = make_recipes(garden, calendar, raw, prepared.compositions) if garden.heaps else ((), ())
    progress("solving the season")
    problem = make_problem(garden, calendar, needs, raw, recipes)
    solution = solve_season(problem)
    progress("checking the plan against its uncertainty")
    batches = batches_of(problem, solution)
    actions = actions_of(problem, solution, batches)
    beds = bed_plans(problem, solution)
    materials = material_uses(problem, solution)
    ledger = Ledger()
    for composition in prepared.compositions.values():
        ledger.merge(composition_traces(composition, garden.material(composition.material).name))
    plan = SeasonPlan(
        garden=garden,
        calendar=calendar,
        compositions=prepared.compositions,
        reports=prepared.reports,
        actions=actions,
        batches=batches,
        recipes=tuple(recipes),
        beds=beds,
        materials=materials,
        hours=weekly_hours(actions, calendar.weeks),
        money=sum(one.spent for one in materials),
        status=solution.status,
        gap=solution.gap,
        seconds=time.perf_counter() - started,
        ledger=ledger,
        levers=levers_of(problem),
    )
    ledger.merge(plan_traces(plan))
    told = (*prepared.findings, *barred.values(), *findings, *plan_findings(plan, problem, solution))
    return replace(plan, findings=tuple(by_severity(told)))


def _refuse_empty(garden: Garden, calendar: Calendar) -> None:
    """Raise when there is nothing to plan for."""
    lacking: dict[str, Finding | str] = {}
    if not garden.beds:
        lacking["beds.csv holds no bed"] = "add a bed with its area"
    if not garden.materials:
        lacking["materials.csv holds no material"] = "add a material"
    if not any(one.kg_per_week > 0 for one in garden.supplies):
        lacking["supplies.csv holds no amount above zero"] = "add a supply with kg_per_week above zero"
    elif all(one.last < calendar.start or one.first >= calendar.end for one in garden.supplies):
        lacking["no supply falls into the season"] = "check the dates of the supplies and of the season"
    if lacking:
        raise NoPlan(
            "There is nothing to plan.", conflict=list(lacking), remedies=[str(one) for one in lacking.values()]
        )
