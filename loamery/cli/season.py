"""``loamery season``: the plan on a terminal."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.garden import open_garden
from loamery.cli.show import console, number, print_findings, print_json, print_table, working
from loamery.units import show, to_si

if TYPE_CHECKING:
    from loamery.cli.app import UnitSystem
    from loamery.season.plan import BedPlan, SeasonPlan

MOST_FINDINGS = 12


def run(garden: Path, units: UnitSystem | None, json: bool) -> None:
    """Plan a garden and print the plan."""
    from loamery.season import plan_season

    opened = open_garden(garden, units)
    with working(json) as tell:
        plan = plan_season(opened, tell)
    if json:
        print_json(plan.as_dict())
        return
    print_plan(plan)
    console().print(f"Everything, with where it comes from:  loamery report {garden}")


def print_plan(plan: SeasonPlan) -> None:
    """Print what to do, what each bed gets, what becomes of each material, and what to know."""
    info = plan.garden.info
    out = console()
    out.print(f"[bold]{info.name}[/], {plan.calendar.weeks} weeks from {plan.calendar.start.isoformat()}")
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


def _print_weeks(plan: SeasonPlan) -> None:
    words = {"collect": "collect", "build": "build heap", "turn": "turn heap", "feed": "feed worms"}
    rows = []
    for week, actions in plan.chores().items():
        for place, action in enumerate(actions):
            what = words.get(action.task, "mulch" if action.task == "mulch" else "work in")
            amount = _amount(plan, action.kg, "mass", "kg") if action.kg else ""
            buckets = f"{action.buckets:g}" if action.buckets else ""
            label = plan.calendar.label(week) if place == 0 else ""
            rows.append((label, what, action.stuff_name, action.target_name, amount, buckets, action.detail))
    print_table(
        "What to do, week by week",
        ("week of", "do", "what", "where", "amount", "buckets", ""),
        rows,
        ("amount", "buckets"),
    )


def _print_beds(plan: SeasonPlan) -> None:
    rows = [_bed_row(plan, bed) for bed in plan.beds]
    unit = show(to_si(1.0, "g/m2"), "nutrient rate", plan.garden.info.units)[1].replace("2", "²")
    head = (
        "bed",
        "N needed",
        "from soil",
        "N supplied (90 % band)",
        "short",
        "P needed",
        "P supplied",
        "K needed",
        "K supplied",
        "nearest ceiling",
    )
    print_table(f"What each bed needs and gets, {unit}", head, rows, head[1:9])


def _bed_row(plan: SeasonPlan, bed: BedPlan) -> tuple[str, ...]:
    def rate(value: float) -> str:
        return number(show(to_si(value, "g/m2"), "nutrient rate", plan.garden.info.units)[0], 3)

    n = bed.supplied["N"]
    top = bed.ceilings[0] if bed.ceilings else None
    return (
        bed.name,
        rate(bed.need["N"]),
        rate(bed.soil_n[-1]),
        f"{rate(n.median)} ({rate(n.low)} to {rate(n.high)})",
        rate(bed.short["N"]),
        *(rate(value) for key in "PK" for value in (bed.need[key], bed.supplied[key].median)),
        f"{top.ceiling.key} {top.share:.0%}" if top else "",
    )


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
