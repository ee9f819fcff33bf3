"""``loamery mulch``: how thick a layer of a material or mix may be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.garden import open_garden
from loamery.cli.parts import DEFAULT_AIR_C, air_c, parts_of
from loamery.cli.show import console, literal, number, print_findings, print_json, print_table, working
from loamery.errors import InputError, Where
from loamery.units import show

if TYPE_CHECKING:
    from loamery.cli.options import UnitSystem
    from loamery.finding import Band, Finding
    from loamery.garden.model import Garden
    from loamery.heap.matter import Part
    from loamery.heap.mulch_limit import MulchLimit

CHIPS = "chips-arborist"
WORDS = {"airless": "airless", "heats": "heats", "seals": "keeps rain out", "none": "none", "fine": "fine"}
WARM_MARGIN_C = 5.0
"""A mulch is judged this much above the year's mean, as in the growing season, where only normals are known."""
MM_PER_M_PER_H, MM_PER_INCH = 3.6e6, 25.4


@dataclass(frozen=True)
class MulchQuestion:
    """What a person asked on the command line, as typed."""

    materials: tuple[str, ...]
    garden: Path | None
    air: str | None
    rain: float | None
    draws: int
    fines_table: bool
    into: Path | None
    language: str


def run(question: MulchQuestion, units: UnitSystem | None, json: bool) -> None:
    """Work out how thick a mulch may be and print it."""
    from loamery.heap.mulch_limit import mulch_limit

    garden = open_garden(question.garden, units) if question.garden else None
    system = units.value if units else (garden.info.units if garden else "metric")
    with working(json) as tell:
        parts, _ = parts_of(question.materials, garden, tell, option="MATERIAL", blended=False)
        chips = _chips() if question.fines_table and all(one.composition.kind != CHIPS for one in parts) else None
        found = mulch_limit(
            parts, _air(question, garden), question.draws, garden.info.seed if garden else 1, chips=chips,
            rain_m_s=_rain(question.rain), month_mm=_month_mm(garden), progress=tell,
        )  # fmt: skip
        cautions = _cautions(parts)
        files = _files(question, found, cautions, system, bool(garden and garden.info.invented))
    if json:
        told = {"findings": [one.as_dict() for one in cautions], "files": [str(path) for path in files]}
        print_json({"format": "loamery mulch 1", **found.as_dict(), **told})
        return
    print_mulch(found, system)
    print_findings(cautions, 6)
    for path in files:
        console().print(literal(path))


def _files(
    question: MulchQuestion, found: MulchLimit, cautions: Sequence[Finding], system: str, invented: bool
) -> list[Path]:
    if question.into is None:
        return []
    from loamery.evidence.layer_sheet import mulch_page, write_layers
    from loamery.evidence.text import Units

    page = mulch_page(found, cautions, Units(system), invented=invented)  # type: ignore[arg-type]
    return write_layers(page.in_language(question.language), question.into, "mulch")


def _air(question: MulchQuestion, garden: Garden | None) -> float:
    """Return the air temperature asked for, or of the garden's warmest month."""
    if question.air is not None:
        return air_c(question.air)
    return max(garden.climate.mean_temp_c) if garden else DEFAULT_AIR_C + WARM_MARGIN_C


def _month_mm(garden: Garden | None) -> float | None:
    """Return the rain of the garden's warmest month, mm; None without a garden."""
    if garden is None:
        return None
    warmest = max(range(12), key=lambda month: garden.climate.mean_temp_c[month])
    return garden.climate.rain_mm[warmest]


def _rain(mm_per_hour: float | None) -> float | None:
    if mm_per_hour is None:
        return None
    if not 0.0 < mm_per_hour <= 300.0:
        raise InputError(
            f"{mm_per_hour:g}",
            where=Where(column="--rain"),
            expected="above 0 and at most 300 mm an hour",
            remedy="for example 25",
        )
    return mm_per_hour / MM_PER_M_PER_H


def _chips() -> Part:
    from loamery.heap.matter import Part
    from loamery.lab.combine import compose

    return Part(compose(CHIPS, ()), 1.0)


def _cautions(parts: Sequence[Part]) -> list[Finding]:
    from loamery.evidence.cautions import cautions_for

    found = [one for part in parts for one in cautions_for(part.composition.kind, ["mulch"])]
    return list({one.code: replace(one, about="") for one in found}.values())


def print_mulch(found: MulchLimit, system: str) -> None:
    """Print how thick a mulch may be, why, and the table of depth against fines."""
    first = {key: share for key, share in found.first.items() if share > 0.0}
    worst = max(first, key=lambda key: first[key])
    out = console()
    out.print(
        f"[bold]{' + '.join(found.materials)}[/], {found.fines:.0%} finer than 2 mm, fresh, in air of {found.air_c:.0f} °C"
    )
    out.print(
        f"rain of {found.month_mm:.0f} mm a month while it lies fresh; a shower of {found.shower_mm:.0f} mm should get in"
    )
    most = found.limit.median >= found.depths_m[-1] - 1e-9
    out.print(
        f"At most [bold]{'more than ' if most else ''}{_depth(found.limit.median, system)}[/] ({_range(found.limit, system)})"
    )
    reasons = ", ".join(
        f"{WORDS[key]} in {share:.0%} of runs" for key, share in sorted(first.items(), key=lambda one: -one[1])
    )
    out.print(
        f"What comes first: {reasons}.\n"
        if worst != "none"
        else f"Nothing comes up to the thickest layer tried: {reasons}.\n"
    )
    top = found.depths_m[-1] - 1e-9
    rows = [
        (WORDS[key], f"{'over ' if one.median >= top else ''}{_depth(one.median, system)}", _range(one, system))
        for key, one in found.by_reason.items()
    ]
    print_table("Depth at which each fault begins", ("fault", "median", "90 % band"), rows, ("median", "90 % band"))
    course = [
        (_depth(depth, system), f"{100.0 * o2:.1f} %", f"{rise * (1.8 if system == 'us' else 1.0):.1f}")
        for depth, o2, rise in zip(found.depths_m, found.least_o2, found.rise_k, strict=True)
    ]
    print_table(
        "By depth (median)", ("depth", "least oxygen", "warming, °F" if system == "us" else "warming, °C"), course
    )
    if found.table:
        head = ("", *(f"{row.chips:.0%} chips" for row in found.table))
        # depths go down the page: nine of them beside each other are wider than a terminal
        body = [
            ("finer than 2 mm", *(f"{row.fines:.0%}" for row in found.table)),
            ("at most", *(_depth(row.limit.median, system) for row in found.table)),
            *(
                (_depth(depth, system), *(WORDS[row.verdicts[at]] for row in found.table))
                for at, depth in enumerate(found.depths_m)
            ),
        ]
        print_table("Depth against share of fines, thinned with coarse chips (by volume)", head, body)


def _depth(depth_m: float, system: str) -> str:
    value, unit = show(depth_m, "depth", system)  # type: ignore[arg-type]
    return f"{number(value, 2)} {unit}"


def _range(one: Band, system: str) -> str:
    return f"{_depth(one.low, system)} to {_depth(one.high, system)}" if one.high > one.low else "–"


def _rain_text(mm: float, system: str) -> str:
    return f"{mm / MM_PER_INCH:.1f} in" if system == "us" else f"{mm:.0f} mm"
