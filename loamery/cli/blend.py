"""``loamery blend``: a recipe for a heap from what is at hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.garden import open_garden
from loamery.cli.show import amount, console, number, pairs, print_findings, print_json, print_table, working
from loamery.errors import InputError, UnknownName, Where
from loamery.units import from_si, show, to_si

if TYPE_CHECKING:
    from loamery.blend.ingredient import Ingredient
    from loamery.blend.result import BlendResult
    from loamery.cli.options import UnitSystem
    from loamery.garden.model import Garden
    from loamery.lab.composition import Composition

DEFAULT_TOTAL_KG = 100.0
DEFAULT_BUCKET_L = 20.0
SUGGESTED = ("leaves-mixed", "chips-arborist", "straw-wheat", "cardboard", "grass-clippings", "manure-horse-straw")
"""Common materials that are tried as a remedy when nothing fits."""


@dataclass(frozen=True)
class Question:
    """What a person asked on the command line, as typed."""

    materials: tuple[str, ...]
    garden: Path | None
    total: str | None
    stock: tuple[str, ...]
    objective: str
    buckets: bool
    bucket: str | None
    water: bool
    robust: bool
    preferred: bool


def run(question: Question, units: UnitSystem | None, json: bool) -> None:
    """Solve the blend and print it."""
    from loamery.blend.bounds import Bounds
    from loamery.blend.solve import solve_blend

    garden = open_garden(question.garden, units) if question.garden else None
    stocks = {name: amount(text, "--stock", "mass")[0] for name, text in pairs(question.stock, "--stock").items()}
    total, dimension = (
        amount(question.total, "--total", "mass", "volume") if question.total else (DEFAULT_TOTAL_KG, "mass")
    )
    sized = question.objective == "most_mass" or question.objective.startswith("use_most")
    if question.total is None and sized and stocks:
        total = 0.0  # the stocks say how much there can be
    bucket_l = from_si(amount(question.bucket, "--bucket", "volume")[0], "L") if question.bucket else _bucket(garden)
    with working(json) as tell:
        tell("reading what is known of the materials")
        ingredients = _ingredients(question.materials, garden, stocks)
        tell("solving the blend")
        result = solve_blend(
            ingredients,
            Bounds.preferred() if question.preferred else Bounds.reasonable(),
            total_kg=total if dimension == "mass" and total else None,
            total_l=from_si(total, "L") if dimension == "volume" else None,
            objective=question.objective,
            robust=question.robust,
            buckets=question.buckets,
            water=question.water,
            bucket_l=bucket_l,
            candidates=_candidates(question.materials, garden),
        )
    if json:
        print_json({"format": "loamery blend 1", **result.as_dict()})
        return
    system = units.value if units else (garden.info.units if garden else "metric")
    print_blend(result, system)


def _bucket(garden: Garden | None) -> float:
    return garden.info.bucket_l if garden else DEFAULT_BUCKET_L


def _ingredients(names: Sequence[str], garden: Garden | None, stocks: dict[str, float]) -> list[Ingredient]:
    import math

    from loamery.blend.ingredient import Ingredient

    for name in stocks:
        if name not in names:
            raise UnknownName(
                f"a stock of “{name}”",
                where=Where(column="--stock"),
                expected="one of " + ", ".join(names),
                remedy="name a material of the blend",
            )
    found = _compositions(names, garden)
    return [Ingredient.from_composition(found[name], name=name, stock_kg=stocks.get(name, math.inf)) for name in names]


def _compositions(names: Sequence[str], garden: Garden | None) -> dict[str, Composition]:
    """Return the compositions of the garden's own materials, or of reference materials."""
    from loamery.lab.combine import compose
    from loamery.reference import table

    own = {one.id for one in garden.materials} if garden else set()
    known = {row["slug"] for row in table("materials")}
    prepared = {}
    if garden is not None and own & set(names):
        from loamery.season.prepare import prepare

        prepared = prepare(garden).compositions
    out = {}
    for name in names:
        if name in prepared:
            out[name] = prepared[name]
        elif name in known:
            out[name] = compose(name, ())
        else:
            raise InputError(
                f"material “{name}”",
                where=Where(file="the materials named"),
                expected="one of " + ", ".join(sorted(own or known)),
                remedy="use an id of the garden's materials.csv, or a reference name",
            )
    return out


def _candidates(names: Sequence[str], garden: Garden | None) -> list[Ingredient]:
    from loamery.blend.ingredient import Ingredient
    from loamery.lab.combine import compose

    kinds = {one.kind for one in garden.materials if one.id in names} if garden else set()
    return [
        Ingredient.from_composition(compose(slug, ()), name=slug)
        for slug in SUGGESTED
        if slug not in names and slug not in kinds
    ]


def print_blend(result: BlendResult, system: str) -> None:
    """Print a blend: amounts, what it is like, how near each bound is, findings."""

    def weight(kg: float) -> str:
        value, name = show(kg, "mass", system)  # type: ignore[arg-type]
        return f"{number(value)} {name}"

    def room(litres: float | None) -> str:
        if litres is None:
            return "–"
        value, name = show(to_si(litres, "L"), "volume", system)  # type: ignore[arg-type]
        return f"{number(value)} {name}"

    rows = [(one.name, weight(one.kg), room(one.litres), number(one.buckets)) for one in result.portions]
    rows.append(("water to add", weight(result.water_kg), room(result.water_kg), ""))
    rows.append(("in all", weight(result.total_kg), room(result.total_l), ""))
    vessels = {one.vessel_l for one in result.portions}
    head = ("", "mass", "volume", f"buckets of {room(vessels.pop())}" if len(vessels) == 1 else "buckets")
    print_table("The blend", head, rows, head[1:])
    values = [
        (key.replace("_", " "), number(one.median), f"{number(one.low)} to {number(one.high)}", one.unit)
        for key, one in result.values.items()
    ]
    print_table("What it is like", ("", "median", "90 % band", "unit"), values, ("median", "90 % band"))
    limits = {
        one.name: ("binds" if one.binds else f"{one.near:.0%} of the range away", f"{one.kept:.0%}")
        for one in result.limits
        if not one.name.startswith("a total of")
    }
    nearness = [(name, *state) for name, state in limits.items()]
    print_table("How near each limit is", ("limit", "", "kept in draws"), nearness, ("kept in draws",))
    if result.coverage is not None:
        asked = f", {result.asked:.0%} asked" if result.asked else ""
        console().print(f"All limits together hold in {result.coverage:.0%} of fresh draws{asked}.\n")
    print_findings(result.findings)
