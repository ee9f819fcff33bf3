"""``loamery worms``: how much a worm bed can be given, and what comes of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.garden import open_garden
from loamery.cli.parts import air_c, check_weather, normals_of, parts_of
from loamery.cli.show import console, literal, number, print_findings, print_json, print_table, working
from loamery.errors import InputError, Where
from loamery.units import show

if TYPE_CHECKING:
    from loamery.cli.options import UnitSystem
    from loamery.finding import Band, Finding
    from loamery.garden.model import Garden, WormBed
    from loamery.heap.matter import Part
    from loamery.heap.weather import Weather
    from loamery.season.worm_feeding import Feeding

SHOWN_WEEKS = (0, 4, 8, 13, 20, 26, 39, 52)


@dataclass(frozen=True)
class WormQuestion:
    """What a person asked on the command line, as typed."""

    garden: Path
    bed: str | None
    materials: tuple[str, ...]
    every: float
    weeks: int
    air: str | None
    weather: Path | None
    into: Path | None
    language: str


def run(question: WormQuestion, units: UnitSystem | None, json: bool) -> None:
    """Work out the feeding of each worm bed and print it."""
    garden = open_garden(question.garden, units)
    beds = _beds(garden, question.bed)
    with working(json) as tell:
        parts = _parts(garden, question.materials, tell)
        found = [_one(garden, bed, part, question, tell) for bed in beds for part in parts]
        cautions = [*_cautions(parts), *_gaps(garden, question)]
        files = _files(question, found, cautions, garden)
    if json:
        feedings = [{**one.as_dict(), "materials": list(names)} for one, names in found]
        print_json(
            {
                "format": "loamery worms 1",
                "beds": feedings,
                "findings": [one.as_dict() for one in cautions],
                "files": [str(path) for path in files],
            }
        )
        return
    for one, names in found:
        print_feeding(one, names, garden.info.units)
    print_findings(cautions, 8)
    for path in files:
        console().print(literal(path))


def _files(
    question: WormQuestion,
    found: Sequence[tuple[Feeding, tuple[str, ...]]],
    cautions: Sequence[Finding],
    garden: Garden,
) -> list[Path]:
    if question.into is None:
        return []
    from loamery.evidence.layer_sheet import worms_page, write_layers
    from loamery.evidence.text import Units

    page = worms_page(found, cautions, Units(garden.info.units), invented=garden.info.invented)
    return write_layers(page.in_language(question.language), question.into, "worms")


def _beds(garden: Garden, wanted: str | None) -> list[WormBed]:
    found = [one for one in garden.worm_beds if wanted in (None, one.id)]
    if not found:
        known = ", ".join(one.id for one in garden.worm_beds)
        raise InputError(
            f"worm bed “{wanted}”" if wanted else "no worm bed in this garden",
            where=Where(column="--bed") if wanted else Where(file="worm_beds.csv"),
            expected=f"one of {known}" if known else "a row with id, name and area_m2",
            remedy="correct the name" if known else "add the worm bed to worm_beds.csv",
        )  # fmt: skip
    return found


def _parts(garden: Garden, materials: Sequence[str], tell: Callable[[str], None]) -> list[tuple[Part, ...]]:
    """Return the mix asked for, or each of the garden's worm feeds by itself."""
    if materials:
        return [parts_of(materials, garden, tell, blended=False)[0]]
    names = [one.id for one in garden.materials if "worm_bed" in one.uses]
    if not names:
        raise InputError(
            "no material for worms", where=Where(file="materials.csv"), expected="a material whose uses hold worm_bed",
            remedy="add worm_bed to the uses of what you feed, or name it with --with",
        )  # fmt: skip
    return [parts_of([name], garden, tell)[0] for name in names]


def _one(
    garden: Garden, bed: WormBed, parts: tuple[Part, ...], question: WormQuestion, tell: Callable[[str], None]
) -> tuple[Feeding, tuple[str, ...]]:
    from loamery.season.worm_feeding import feeding_limit

    names = tuple(one.composition.material for one in parts)
    tell(f"{bed.name}: {' + '.join(names)}")
    if not 1 <= question.weeks <= 104:
        raise InputError(
            f"{question.weeks} weeks", where=Where(column="--weeks"), expected="1 to 104", remedy="for example 26"
        )
    air = _air(garden, question)
    feeding = feeding_limit(
        bed.name, parts, bed.area_m2, bed.worms_kg, air, days=question.every, seed=garden.info.seed, progress=tell
    )
    return feeding, names


def _air(garden: Garden, question: WormQuestion) -> list[Weather]:
    """Return the air over the bed in each draw: that asked for, or that of the place."""
    from loamery.season.worm_bed import bed_air, weekly_air
    from loamery.season.worm_feeding import DRAWS

    if question.air is not None:
        if question.weather is not None:
            raise InputError(
                "--air and --weather", where=Where(column="--weather"), expected="one of the two",
                remedy="leave --air out for a bed outdoors, --weather for a bed indoors",
            )  # fmt: skip
        return [weekly_air([air_c(question.air)] * question.weeks)]
    normals = normals_of(garden, None, question.weather)
    return bed_air(normals, garden.info.season_start, question.weeks, DRAWS, garden.info.seed)


def _gaps(garden: Garden, question: WormQuestion) -> list[Finding]:
    if question.air is not None:
        return []
    normals = normals_of(garden, None, question.weather)
    return check_weather(normals, garden.info.season_start, 7 * question.weeks, question.weather, fallback=True)


def _cautions(parts: Sequence[tuple[Part, ...]]) -> list[Finding]:
    from loamery.evidence.cautions import cautions_for

    kinds = {part.composition.kind: None for one in parts for part in one}
    found = [one for kind in kinds for one in cautions_for(kind, ["worm_bed"])]
    return list({one.code: replace(one, about="") for one in found}.values())


def print_feeding(found: Feeding, names: Sequence[str], system: str) -> None:
    """Print what a bed can be given of a feed and what comes of it."""
    out = console()
    worms = f"{_mass(found.worms_kg, system)} of worms{' (usual stocking assumed)' if found.stocked else ''}"
    out.print(
        f"[bold]{literal(found.name)}[/]: {literal(' + '.join(names))}; {worms}, air at {_temp(found.bed_temp_c, system)}"
    )
    out.print(
        f"At most [bold]{_mass(found.per_feeding.median, system)}[/] every {found.days:g} days ({_range(found.per_feeding, system)})\n"
    )
    rows = [(one.name, _mass(one.kg.median, system), _range(one.kg, system), one.because) for one in found.limits]
    print_table(
        "What limits a feeding, tightest first",
        ("limit", "at most", "90 % band", "because"),
        rows,
        ("at most", "90 % band"),
    )
    print_table(
        f"What one feeding does to the bed within two weeks, in air of {_temp(found.single.bed_c, system)}, 90 % band",
        ("layer given", "warmest spot", "mean of the bed"),
        _single(found, system),
        ("warmest spot", "mean of the bed"),
    )
    weeks = [week for week in SHOWN_WEEKS if week <= found.forecast.weeks]
    last = len(found.weekly_kg) - 1
    inside = [_week(found, week, system) for week in dict.fromkeys(min(one, last) for one in weeks)]
    print_table(
        "Fed what keeps it in the range of the worms in most runs (median; warmest, wettest, saltiest of the week)",
        ("week", "feed", "limit", "water", "bed, warmest", "moisture", "ammonia, mg/g", "salt, dS/m", "in range"),
        inside,
    )
    course = [
        (str(week), *(_band(found.forecast.at(key, week), system) for key in ("worms_kg", "eaten_kg", "castings_kg")))
        for week in weeks
    ]
    print_table("Fed so, 90 % band", ("week", "live worms", "eaten so far", "castings so far, dry"), course)


def _single(found: Feeding, system: str) -> list[tuple[str, str, str]]:
    from loamery.season.worm_single import DEPTHS_M

    spot, mean = found.single.band("warmest_c"), found.single.band("mean_c")
    depths = [f"{number(*show(depth, 'depth', system)[:1], 2)} {show(depth, 'depth', system)[1]}" for depth in DEPTHS_M]  # type: ignore[arg-type]
    return [(depth, _warm(spot[:, i], system), _warm(mean[:, i], system)) for i, depth in enumerate(depths)]


def _warm(band: Iterable[float], system: str) -> str:
    low, middle, high = (_temp(float(one), system) for one in band)
    return f"{middle} ({low} to {high})"


def _week(found: Feeding, week: int, system: str) -> tuple[str, ...]:
    course = found.course
    return (
        str(week), _mass(found.weekly_kg[week], system), course.limit[week], _mass(float(course.water_kg[week]), system),
        _two_temps(float(course.bed_temp_c[1, week]), float(course.warmest_c[1, week]), system),
        f"{course.moisture[1, week]:.0%}", number(float(course.ammonia_mg_g[1, week]), 2),
        number(float(course.salt_ds_m[1, week]), 2), f"{course.inside[week]:.0%}",
    )  # fmt: skip


def _two_temps(bed_c: float, spot_c: float, system: str) -> str:
    # an unbroken line in a narrow column: the unit once
    return f"{_temp(bed_c, system).split()[0]}, {_temp(spot_c, system)}".replace(" ", "\N{NO-BREAK SPACE}")


def _mass(kg: float, system: str) -> str:
    if kg == float("inf"):
        return "no limit"
    value, unit = show(kg, "mass", system)  # type: ignore[arg-type]
    return f"{number(value, 2)} {unit}"


def _band(one: Band, system: str) -> str:
    return f"{_mass(one.median, system)} ({_range(one, system)})"


def _range(one: Band, system: str) -> str:
    return f"{_mass(one.low, system)} to {_mass(one.high, system)}" if one.low != one.high else "–"


def _temp(temp_c: float, system: str) -> str:
    return f"{temp_c * 1.8 + 32.0:.0f} °F" if system == "us" else f"{temp_c:.0f} °C"
