"""``loamery season``: the plan on a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.garden import open_garden
from loamery.cli.show import console, literal, number, print_findings, print_json, print_table, working
from loamery.errors import InputError, Where
from loamery.units import show, to_si

if TYPE_CHECKING:
    from loamery.cli.options import UnitSystem
    from loamery.season.plan import Action, BedPlan, SeasonPlan

MOST_FINDINGS = 12
BUCKET_TOLD = 0.25
"""Less than this share of a bucket is told by volume; half a bucket is the least that buckets tell."""


def run(garden: Path, since: str | None, units: UnitSystem | None, json: bool) -> None:
    """Plan a garden and print the plan."""
    from loamery.season import plan_season
    from loamery.season.kept import plan_kept

    opened, day = open_garden(garden, units), _day(since)
    with working(json) as tell:
        plan = plan_season(opened, tell, since=day) if day else plan_kept(opened, tell, anew=True).plan
    if json:
        print_json(plan.as_dict())
        return
    print_plan(plan)
    console().print(f"Everything, with where it comes from:  loamery report {literal(garden)}")


def _day(text: str | None) -> date | None:
    """Return the day a person wrote, None for none."""
    try:
        return None if text is None else date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(
            f"“{text}”",
            where=Where(column="--from"),
            expected="a date as 2027-06-14",
            remedy="write year, month and day",
        ) from None


def print_plan(plan: SeasonPlan) -> None:
    """Print what to do, what each bed gets, what becomes of each material, and what to know."""
    info = plan.garden.info
    out = console()
    out.print(f"[bold]{literal(info.name)}[/], {plan.calendar.weeks} weeks from {plan.calendar.start.isoformat()}")
    if info.invented:
        out.print("[bold yellow]Invented garden: places, people and numbers are made up.[/]")
    out.print()
    print_findings(plan.findings, MOST_FINDINGS)
    _print_weeks(plan)
    _print_beds(plan)
    _print_materials(plan)
    spent = f", {plan.money:.0f} {info.currency} spent" if plan.money else ""
    out.print(f"In all {sum(plan.hours):.0f} hours of work{spent}. Solved in {plan.seconds:.1f} s ({plan.status}).")


def _amount(plan: SeasonPlan, value: float, kind: str, unit: str, digits: int = 3) -> str:
    shown, name = show(to_si(value, unit), kind, plan.garden.info.units)
    return f"{number(shown, digits)} {name.replace('2', '²').replace('3', '³')}"


TASKS = {
    "buy": "buy",
    "collect": "collect",
    "build": "build heap",
    "turn": "turn heap",
    "feed": "feed worms",
    "dig_in": "work in",
    "mulch": "mulch",
}


def _print_weeks(plan: SeasonPlan) -> None:
    rows = []
    for week, actions in plan.chores().items():
        label = plan.calendar.label(week)
        for task in TASKS:
            lines = _task_lines(plan, [one for one in actions if one.task == task])
            if lines:
                rows.append((label, TASKS[task], "\n".join(lines)))
                label = ""
    print_table("What to do, week by week (buckets in brackets)", ("week of", "do", ""), rows)


def _task_lines(plan: SeasonPlan, actions: Sequence[Action]) -> list[str]:
    """Return one line for each place, with everything that goes there."""
    lines = []
    for target in dict.fromkeys(one.target for one in actions):
        there = [one for one in actions if one.target == target]
        parts = [f"{_what(plan, one)}" for one in there]
        where = f"{there[0].target_name}: " if target else ""
        lines.append(f"{where}{', '.join(parts)}")
    return lines


def _what(plan: SeasonPlan, action: Action) -> str:
    if action.task in ("build", "turn"):
        return action.detail
    if action.task == "buy":
        return f"{action.stuff_name.lower()}, {action.detail}"
    return f"{action.stuff_name.lower()} {_amount(plan, action.kg, 'mass', 'kg')} ({_measure(plan, action)})"


def _measure(plan: SeasonPlan, action: Action) -> str:
    """Return an amount in buckets, or by volume what is less than the half bucket that could be told."""
    if action.volume_l < BUCKET_TOLD * plan.garden.info.bucket_l:
        return _amount(plan, action.volume_l, "volume", "L", 2)
    return f"{action.buckets:g}"


def _print_beds(plan: SeasonPlan) -> None:
    unit = show(to_si(1.0, "g/m2"), "nutrient rate", plan.garden.info.units)[1].replace("2", "²")
    head = ("bed", "needed", "from soil", "supplied", "90 % band", "short", "nearest ceiling")
    print_table(f"Nitrogen of each bed, {unit}", head, [_nitrogen_row(plan, bed) for bed in plan.beds], head[1:6])
    others = ("bed", "P needed", "P supplied", "K needed", "K supplied", "mulch cover")
    rows = [_other_row(plan, bed) for bed in plan.beds]
    print_table(f"Phosphorus, potassium and cover, {unit}", others, rows, others[1:])


def _rate(plan: SeasonPlan, value: float) -> str:
    return number(show(to_si(value, "g/m2"), "nutrient rate", plan.garden.info.units)[0], 3)


def _nitrogen_row(plan: SeasonPlan, bed: BedPlan) -> tuple[str, ...]:
    n, top = bed.supplied["N"], bed.ceilings[0] if bed.ceilings else None
    figures = (bed.need["N"], bed.soil_n[-1], n.median)
    band = f"{_rate(plan, n.low)} to {_rate(plan, n.high)}"
    nearest = f"{top.ceiling.key} {top.share:.0%}" if top else ""
    return (bed.name, *(_rate(plan, one) for one in figures), band, _rate(plan, bed.short["N"]), nearest)


def _other_row(plan: SeasonPlan, bed: BedPlan) -> tuple[str, ...]:
    figures = (value for key in "PK" for value in (bed.need[key], bed.supplied[key].median))
    return (bed.name, *(_rate(plan, one) for one in figures), f"{bed.cover_share:.0%}")


def _print_materials(plan: SeasonPlan) -> None:
    uses = {"mulch": "mulch", "dig_in": "worked in", "heap": "heap", "worm_bed": "worms"}
    rows = [
        (
            one.name,
            "reports" if plan.reports.get(one.material) else "published only",
            *(_amount(plan, value, "mass", "kg") for value in (one.offered_kg, one.collected_kg)),
            ", ".join(f"{uses[key]} {_amount(plan, kg, 'mass', 'kg')}" for key, kg in one.by_use_kg.items()),
        )
        for one in plan.materials
    ]
    print_table(
        "What becomes of each material",
        ("material", "known from", "offered", "collected", "used as"),
        rows,
        ("offered", "collected"),
    )
