"""``loamery heap``: what becomes of a heap, when to turn and water it, what a thermometer says of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loamery.cli.garden import open_garden
from loamery.cli.heap_findings import heap_findings, reading_findings
from loamery.cli.parts import check_weather, normals_of, parts_of
from loamery.cli.show import amount, console, literal, number, print_findings, print_json, print_table, working
from loamery.errors import InputError, Where
from loamery.evidence.heap_tables import temp_text
from loamery.units import show

if TYPE_CHECKING:
    from loamery.cli.options import UnitSystem
    from loamery.finding import Finding
    from loamery.garden.model import Garden
    from loamery.heap.calibrate import Calibration
    from loamery.heap.forecast import Forecast, HeapPlan
    from loamery.heap.readings import Reading
    from loamery.heap.remedies import Remedy
    from loamery.heap.schedule import Schedule

KINDS = {"bin": "bin", "pile": "pile", "tumbler": "bin"}
DEFAULT_M3, SEARCHED_DAYS = 1.0, 90
SHOWN_DAYS = (0, 3, 7, 14, 21, 28, 42, 56, 84, 120, 180, 270, 365)


@dataclass(frozen=True)
class HeapQuestion:
    """What a person asked on the command line, as typed."""

    garden: Path | None
    heap: str | None
    materials: tuple[str, ...]
    water: str | None
    size: str | None
    shape: str | None
    walls: str | None
    covered: bool
    start: str | None
    start_temp: float | None
    compost: float
    days: int
    turn: tuple[str, ...]
    watering: tuple[str, ...]
    goal: str
    readings: Path | None
    reading: tuple[str, ...]
    air: str | None
    weather: Path | None
    draws: int
    cluster: str | None
    into: Path | None
    language: str


def run(question: HeapQuestion, units: UnitSystem | None, json: bool) -> None:
    """Foresee a heap and print it."""
    from loamery.heap.calibrate import calibrate
    from loamery.heap.forecast import forecast
    from loamery.heap.hygiene import hygiene_rules
    from loamery.heap.remedies import MEMBERS, remedies
    from loamery.heap.schedule import search_schedule

    garden = open_garden(question.garden, units) if question.garden else None
    system = units.value if units else (garden.info.units if garden else "metric")
    seed = garden.info.seed if garden else 1
    normals = normals_of(garden, question.air, question.weather)
    with working(json) as tell:
        tell("reading what is known of the materials")
        plan, name = plan_of(question, garden, tell)
        filled = garden is not None or question.air is not None
        gaps = check_weather(normals, plan.start, question.days, question.weather, fallback=filled)
        readings = _readings(question, plan)
        learnt = calibrate(plan, readings, normals, progress=tell) if readings else None
        schedule: Schedule | None = None
        if "search" in question.turn:
            days = min(question.days, SEARCHED_DAYS)
            schedule = search_schedule(plan, normals, days, goal=question.goal, seed=seed, progress=tell)
            plan = _scheduled(plan, schedule)
        told = forecast(
            plan, normals, question.days, question.draws, seed, rules=hygiene_rules(_rule_keys(garden)),
            changes=learnt.draws(question.draws, seed) if learnt else None,
            centre=learnt.values if learnt else None, weigh=learnt.weights_of if learnt else None,
            scheduler=question.cluster, progress=tell,
        )  # fmt: skip
        tried = remedies(told, normals, seed, changes=learnt.draws(MEMBERS, seed) if learnt else None, progress=tell)
        cautions = [*gaps, *reading_findings(readings), *heap_findings(plan, told)]
        files = _files(question, told, name, readings, learnt, cautions, tried, garden, system, tell)
    if json:
        span = normals.span(plan.start, question.days).as_dict()
        print_json(
            {
                **document(told, name, schedule, learnt, cautions, files),
                "remedies": [one.as_dict() for one in tried],
                "weather": span,
            }
        )
        return
    print_heap(told, name, schedule, learnt, cautions, tried, system)
    for path in files:
        console().print(literal(path))


def plan_of(question: HeapQuestion, garden: Garden | None, tell: Any) -> tuple[HeapPlan, str]:
    """Return the heap asked for and its name."""
    from loamery.heap.forecast import HeapPlan

    heap = _garden_heap(question, garden)
    parts, water = parts_of(question.materials, garden, tell)
    if question.water:
        water = amount(question.water, "--water", "mass")[0] if "=" not in question.water else water
    kind = question.shape or (KINDS[heap.kind] if heap else "pile")
    volume = amount(question.size, "--size", "volume")[0] if question.size else heap.capacity_m3 if heap else DEFAULT_M3
    start = _day(question.start) if question.start else (garden.info.season_start if garden else date.today())
    temp = None if question.start_temp is None else question.start_temp
    plan = HeapPlan(
        parts=parts, start=start, shape=kind, volume_m3=volume,  # type: ignore[arg-type]
        shelter=question.walls or "open", covered=question.covered, start_temp_c=temp, water_kg=water,
        compost_share=_compost(question.compost), turn_days=_turns(question.turn),
        waterings=_waterings(question.watering),
    )  # fmt: skip
    return plan, heap.name if heap else "Heap"


def _garden_heap(question: HeapQuestion, garden: Garden | None) -> Any:
    if question.heap is None:
        return garden.heaps[0] if garden and garden.heaps else None
    found = [one for one in (garden.heaps if garden else ()) if one.id == question.heap]
    if not found:
        known = ", ".join(one.id for one in garden.heaps) if garden else ""
        raise InputError(
            f"heap “{question.heap}”", where=Where(column="--heap"),
            expected=f"one of {known}" if known else "a garden with a heaps.csv that names it",
            remedy="name a heap of the garden's heaps.csv",
        )  # fmt: skip
    return found[0]


def _compost(share: float) -> float:
    if not 0.0 <= share <= 0.9:
        raise InputError(
            f"{share:g}",
            where=Where(column="--compost"),
            expected="0 to 0.9 of the dry matter",
            remedy="for example 0.1",
        )
    return share


def _day(text: str) -> date:
    try:
        return datetime.strptime(text.strip(), "%Y-%m-%d").date()
    except ValueError:
        raise InputError(
            f"“{text}”", where=Where(column="--start"), expected="a date as 2027-05-01",
            remedy="write year, month and day with hyphens",
        ) from None  # fmt: skip


def _turns(given: Sequence[str]) -> tuple[float, ...]:
    out = []
    for text in (part for one in given for part in one.split(",")):
        if text.strip() == "search":
            continue
        out.append(_number(text, "--turn", "a day from the start, such as 14, or search"))
    return tuple(sorted(out))


def _waterings(given: Sequence[str]) -> tuple[tuple[float, float], ...]:
    out = []
    for text in given:
        day, equals, much = text.partition("=")
        if not equals:
            raise InputError(
                f"“{text}”", where=Where(column="--watering"), expected="DAY=AMOUNT", remedy='for example "14=40 kg"'
            )
        value, dimension = amount(much, "--watering", "mass", "volume")
        out.append(
            (_number(day, "--watering", "a day from the start"), value * (1000.0 if dimension == "volume" else 1.0))
        )
    return tuple(out)


def _number(text: str, option: str, expected: str) -> float:
    try:
        return float(text.strip())
    except ValueError:
        raise InputError(f"“{text}”", where=Where(column=option), expected=expected, remedy="correct it") from None


def _readings(question: HeapQuestion, plan: HeapPlan) -> tuple[Reading, ...]:
    from loamery.heap.readings import read_readings, typed_readings

    out: tuple[Reading, ...] = ()
    if question.readings is not None:
        out += read_readings(question.readings, plan.start)
    if question.reading:
        out += typed_readings(question.reading, plan.start)
    return tuple(sorted(out, key=lambda one: one.day))


def _scheduled(plan: HeapPlan, schedule: Schedule) -> HeapPlan:
    from loamery.heap.forecast import with_schedule

    return with_schedule(plan, schedule.turn_days, schedule.waterings)


def _rule_keys(garden: Garden | None) -> tuple[str, ...]:
    """Return the sets of hygiene rules: of the garden's jurisdiction with the two others to compare."""
    from loamery.reference import table

    rows = {row["key"]: row["hygiene_limits"].split(";") for row in table("jurisdictions")}
    order = [garden.info.jurisdiction] if garden else []
    return tuple(dict.fromkeys(key for one in (*order, "us", "ca-a", "eu") for key in rows.get(one, ())))


def _files(
    question: HeapQuestion, told: Forecast, name: str, readings: Sequence[Reading], learnt: Calibration | None,
    cautions: Sequence[Finding], tried: Sequence[Remedy], garden: Garden | None, system: str, tell: Any,
) -> list[Path]:  # fmt: skip
    if question.into is None:
        return []
    from loamery.evidence.heap_sheet import heap_page, write_heap
    from loamery.evidence.text import Units

    tell("drawing charts")
    words = learnt.words if learnt else ()
    invented = bool(garden and garden.info.invented)
    page = heap_page(
        told, name, cautions, Units(system), tried=tried, readings=readings, words=words, invented=invented,  # type: ignore[arg-type]
    )  # fmt: skip
    return write_heap(page.in_language(question.language), question.into)


def document(
    told: Forecast, name: str, schedule: Schedule | None, learnt: Calibration | None, cautions: Sequence[Finding],
    files: Sequence[Path],
) -> dict[str, Any]:  # fmt: skip
    """Return a forecast ready for JSON, SI units."""
    from loamery.heap.nutrients import foods_left

    plan = told.plan
    each = [int(abs(told.day - day).argmin()) for day in SHOWN_DAYS if day <= told.day[-1]]
    totals = {
        "mass_kg": "kg",
        "volume_m3": "m3",
        "nitrogen_kg": "kg",
        "organic_kg": "kg",
        "warmest_c": "C",
        "moisture": "1",
    }
    stuff = plan.middle
    return {
        "format": "loamery heap 1",
        "name": name,
        "start": plan.start.isoformat(),
        "days": float(told.day[-1]),
        "draws": told.draws,
        "built": {
            "shape": plan.shape, "walls": plan.shelter, "covered": plan.covered, "volume_m3": plan.volume_m3,
            "mass_kg": plan.volume_m3 * stuff.bulk_density_kg_m3, "moisture": stuff.moisture, "cn": stuff.c_dm / stuff.n_dm,
            "bulk_density_kg_m3": stuff.bulk_density_kg_m3, "compost_share": plan.compost_share,
            "parts": [{"material": one.composition.material, "kg": one.kg} for one in plan.parts],
            "water_kg": plan.water_kg,
            "turn_days": list(plan.turn_days), "waterings": [{"day": day, "kg": kg} for day, kg in plan.waterings],
        },
        "peak": told.peak_c.as_dict(), "peak_day": told.peak_day.as_dict(), "days_above_55": told.days_above_55.as_dict(),
        "ready_day": told.ready.as_dict(), "ready_share": told.ready_share,
        "left": {key: told.kept(f"{key}").as_dict() for key in ("mass_kg", "volume_m3", "nitrogen_kg", "organic_kg", "dry_kg")},
        "foods": [one.as_dict() for one in foods_left(told)],
        "course": [
            {"day": float(told.day[k]), **{key: told.total(key, unit, k).as_dict() for key, unit in totals.items()}} for k in each
        ],
        "depths_m": list(told.depth_m),
        "profiles": [
            {"day": float(told.day[k]), "temp_c": list(told.temp_c[1, k]), "temp_low_c": list(told.temp_c[0, k]),
             "temp_high_c": list(told.temp_c[2, k]), "oxygen": list(told.o2_frac[1, k]), "moisture": list(told.moisture[1, k])}
            for k in each
        ],
        "hygiene": [
            {**one.as_dict(), "draws_met": met, "draws_probe": probe, "draws_share": share.as_dict(), "draws_coldest": coldest.as_dict()}
            for one, met, probe, share, coldest in zip(told.hygiene, told.met, told.probe, told.share, told.coldest, strict=True)
        ],
        "schedule": schedule.as_dict() if schedule else None,
        "calibration": learnt.as_dict() if learnt else None,
        "findings": [one.as_dict() for one in cautions],
        "files": [str(path) for path in files],
    }  # fmt: skip


def print_heap(
    told: Forecast,
    name: str,
    schedule: Schedule | None,
    learnt: Calibration | None,
    cautions: Sequence[Finding],
    tried: Sequence[Remedy],
    system: str,
) -> None:
    """Print what becomes of a heap."""
    from loamery.evidence.heap_tables import days_band, facts, remedy_rows, rule_lines, share_band
    from loamery.evidence.text import Units

    units = Units(system)  # type: ignore[arg-type]
    out, plan = console(), told.plan
    volume, unit = show(plan.volume_m3, "heap volume", system)  # type: ignore[arg-type]
    mass, mass_unit = show(plan.volume_m3 * plan.middle.bulk_density_kg_m3, "mass", system)  # type: ignore[arg-type]
    out.print(
        f"[bold]{literal(name)}[/], {plan.shape} of {number(volume)} {unit} ({number(mass)} {mass_unit}), built {plan.start.isoformat()}"
    )
    stuff = plan.middle
    out.print(f"moisture {stuff.moisture:.0%}, C:N {stuff.c_dm / stuff.n_dm:.0f}, {told.draws} runs\n")
    if learnt is not None:
        out.print("[bold]What the readings say[/]")
        for line in learnt.words:
            out.print(literal(line))
        out.print()
    if schedule is not None:
        lines = [f"{event} (score then {one.score:.2f})" for one in schedule.steps for event in one.events]
        out.print(
            "[bold]Days found by trying[/]: "
            + (literal("; ".join(lines)) if lines else "leave it alone: no turning or watering tried gained enough")
        )
        out.print(f"score {schedule.before:.2f} without, {schedule.after:.2f} with; {schedule.tried} heaps tried\n")
    print_table("What comes of it (90 % band)", ("", ""), facts(told, units))
    print_table("Temperature, median (90 % band)", _depth_head(told, system), _depth_rows(told, system))
    rules = [
        (one.asks, share_band(one.share), days_band(one.coldest), f"{one.met:.0%}", one.laws)
        for one in rule_lines(told, units)
    ]
    head = ("rule", "of the matter", "coldest part, days", "all of it, in runs", "asked by")
    print_table("Hygiene: how much of the heap keeps each rule (90 % band)", head, rules, head[1:4])
    head_, rows = remedy_rows(told, tried, units)
    print_table("What would bring more of it through the heat: share of the matter that keeps each rule", head_, rows)
    print_findings(cautions, 8)


DEPTHS = (("surface", 0.1), ("halfway", 0.5), ("middle", 1.0))


def _depth_head(told: Forecast, system: str) -> tuple[str, ...]:
    whole = float(told.depth_m[-1])
    shown = [show(share * whole, "depth", system) for _, share in DEPTHS]  # type: ignore[arg-type]
    return (
        "day",
        *(f"{name} ({number(value, 2)} {unit})" for (name, _), (value, unit) in zip(DEPTHS, shown, strict=True)),
        "least oxygen",
        "moisture",
    )


def _depth_rows(told: Forecast, system: str) -> list[tuple[str, ...]]:
    whole, rows = float(told.depth_m[-1]), []
    for day in (one for one in SHOWN_DAYS if one <= told.day[-1]):
        k = int(abs(told.day - day).argmin())
        cells = [int(abs(told.depth_m - share * whole).argmin()) for _, share in DEPTHS]
        temps = [[temp_text(float(told.temp_c[q, k, i]), system) for q in (1, 0, 2)] for i in cells]
        rows.append((
            str(day), *(f"{a} ({b[:-3]} to {c[:-3]})" for a, b, c in temps),
            f"{float(told.o2_frac[1, k].min()):.0%}", f"{float(told.totals['moisture'][1, k]):.0%}",
        ))  # fmt: skip
    return rows
