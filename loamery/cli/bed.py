"""``loamery bed``: what a material does to a bed's soil."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loamery.cli.garden import open_garden
from loamery.cli.parts import air_c, parts_of
from loamery.cli.show import amount, console, literal, print_findings, print_json, print_table, working
from loamery.errors import InputError, UnknownName, Where
from loamery.say import joined, say

if TYPE_CHECKING:
    from loamery.bed.answer import BedQuestion
    from loamery.bed.ceilings import Ceiling
    from loamery.bed.parameters import Parameters
    from loamery.bed.simulate import Portion
    from loamery.bed.soil import SoilTest
    from loamery.cli.options import UnitSystem
    from loamery.finding import Finding
    from loamery.garden.model import Bed, Garden, Planting
    from loamery.heap.matter import Part

USES = ("dig_in", "mulch", "composted", "worm_worked")
WEEKS, FIRST_DAY, FIRST_MONTH = 26, 1, 5
DEFAULT_AREA_M2 = 10.0
ORDINARY = say("an ordinary bed")


@dataclass(frozen=True)
class GiftQuestion:
    """What a person asked on the command line, as typed."""

    garden: Path | None
    bed: str | None
    materials: tuple[str, ...]
    use: str
    day: str | None
    area: str | None
    texture: str | None
    crop: str | None
    air: str | None
    draws: int
    weeks: int
    into: Path | None
    language: str


def run(asked: GiftQuestion, units: UnitSystem | None, json: bool) -> None:
    """Work out what a gift does to a bed, and print it."""
    from loamery.bed.advice import bed_advice, trace_advice
    from loamery.bed.answer import answer_bed
    from loamery.evidence.bed_sheet import as_dict, write_bed
    from loamery.evidence.bed_words import answer_tables, in_short
    from loamery.evidence.text import Units

    _check(asked)
    garden = open_garden(asked.garden, units) if asked.garden else None
    shown = Units(units.value if units else (garden.info.units if garden else "metric"))
    with working(json) as tell:
        tell("reading what is known of the materials")
        parts, _ = parts_of(_amounts(asked), garden, tell)
        bed, test = _bed(asked, garden)
        question = _question(asked, garden, bed, test, parts)
        tell("running the bed with it and without it")
        answer = answer_bed(question, _ceilings(garden, bed, test, question, asked))
    kinds = [one.composition.kind for one in parts]
    findings = [
        *(trace_advice(answer, test, garden.info.jurisdiction, bed.name) if garden else ()),
        *bed_advice(answer, kinds, bed.name, shown.system),
        *_known(garden, bed, test),
        *_cautions(kinds, asked.use),
    ]
    if asked.into is not None:
        write_bed(
            answer,
            _title(parts, asked.use),
            bed.name,
            findings,
            shown,
            asked.into,
            invented=bool(garden and garden.info.invented),
            language=asked.language,
        )
    if json:
        print_json(
            {
                "format": "loamery bed 1",
                **as_dict(answer, _title(parts, asked.use), bed),
                "findings": [one.as_dict() for one in findings],
            }
        )
        return
    out = console()
    out.print(
        f"[bold]{literal(_title(parts, asked.use))}[/] on {literal(bed.name)}, {literal(shown.amount(bed.area_m2, 'area'))} of {bed.texture}\n"
    )
    for line in in_short(answer, shown):
        out.print(literal(line))
    out.print()
    for title, head, rows in answer_tables(answer, shown):
        print_table(title, head, rows, head[1:])
    print_findings(findings, 10)
    if asked.into is not None:
        out.print(f"The sheet with its charts: {literal(asked.into / 'bed.html')}")  # fmt: skip


def _check(asked: GiftQuestion) -> None:
    from loamery.bed.place import textures

    faults: list[tuple[bool, str, str, str, str]] = [
        (asked.use not in USES, f"“{asked.use}”", "--use", "one of " + ", ".join(USES), "for example --use mulch"),
        (not 1 <= asked.draws <= 1000, str(asked.draws), "--draws", "1 to 1000", "for example --draws 200"),
        (not 4 <= asked.weeks <= 104, str(asked.weeks), "--weeks", "4 to 104", "for example --weeks 26"),
        (not asked.materials, "no materials", "--with", "at least one material with its amount", '--with "coffee-spent=20 L"'),
        (asked.texture is not None and asked.texture not in textures(), f"“{asked.texture}”", "--texture", ", ".join(textures()), "feel the soil: gritty is sand, sticky is clay"),
        (asked.garden is None and asked.bed is not None, f"“{asked.bed}”", "--bed", "a garden with beds", "name the garden folder, or leave --bed out"),
        (asked.garden is not None and (asked.area or asked.texture or asked.crop or asked.air) is not None, "--area, --texture, --crop or --air", "--bed", "the garden's own bed and climate", "leave these out, or leave the garden out"),
    ]  # fmt: skip
    for wrong, read, where, expected, remedy in faults:
        if wrong:
            raise InputError(read, where=Where(column=where), expected=expected, remedy=remedy)


def _amounts(asked: GiftQuestion) -> Sequence[str]:
    for one in asked.materials:
        if "=" not in one:
            raise InputError(
                f"“{one}” without an amount", where=Where(column="--with"), expected="a material with its amount",
                remedy=f'for example --with "{one}=20 L", for the whole bed',
            )  # fmt: skip
    return asked.materials


def _bed(asked: GiftQuestion, garden: Garden | None) -> tuple[Bed, SoilTest]:
    from loamery.bed.soil import SoilTest
    from loamery.garden.model import Bed
    from loamery.season.prepare import prepare

    if garden is None:
        area = amount(asked.area, "--area", "area")[0] if asked.area else DEFAULT_AREA_M2
        bed = Bed.model_validate({"id": "any", "name": ORDINARY, "area_m2": area, "texture": asked.texture or "loam"})
        return bed, SoilTest("any", {})
    beds = {one.id: one for one in garden.beds}
    if asked.bed is None and len(beds) != 1:
        raise InputError("no bed named", where=Where(column="--bed"), expected=", ".join(beds), remedy="say which bed")
    wanted = asked.bed or next(iter(beds))
    if wanted not in beds:
        raise UnknownName(
            f"“{wanted}”", where=Where(column="--bed"), expected=", ".join(beds), remedy="use an id of beds.csv"
        )
    return beds[wanted], prepare(garden).soils[wanted]


def _question(
    asked: GiftQuestion, garden: Garden | None, bed: Bed, test: SoilTest, parts: Sequence[Part]
) -> BedQuestion:
    from loamery.bed.answer import BedQuestion
    from loamery.bed.crop import crops
    from loamery.bed.parameters import bed_parameters
    from loamery.bed.place import place_of
    from loamery.bed.weather import normal_weather

    seed = garden.info.seed if garden else 1
    numbers = bed_parameters(asked.draws, seed)
    plantings = _plantings(asked, garden, bed)
    start, day = _days(asked, garden, plantings)
    crop = crops([plantings], start, 7 * asked.weeks)
    temps, rain = _normals(asked, garden)
    measured = garden.weather if garden else ()
    latitude = garden.climate.latitude_deg if garden else None
    weather = normal_weather(temps, rain, start, 7 * asked.weeks, asked.draws, seed, latitude, measured)
    return BedQuestion(
        portions=tuple(_portion(one, asked.use, numbers) for one in parts),
        kg_m2=tuple(_given_kg(one, asked.use) / bed.area_m2 for one in parts),
        place=place_of(bed, test, float(crop.root_depth_m[0])),
        weather=weather,
        crop=crop,
        crop_slugs=tuple(one.crop for one in plantings),
        start=start,
        day=day,
        numbers=numbers,
    )


def _plantings(asked: GiftQuestion, garden: Garden | None, bed: Bed) -> list[Planting]:
    from loamery.garden.model import Planting
    from loamery.reference.lookup import figure

    if garden is not None:
        return [one for one in garden.plantings if one.bed == bed.id]
    if asked.crop is None:
        return []
    day = _day(asked.day) or _first_of_may()
    found = figure("crop_values", asked.crop, "season_days")
    stands = int(found.value) if found else 90
    planted = day + timedelta(weeks=2)
    return [Planting(bed=bed.id, crop=asked.crop, planted=planted, harvested=planted + timedelta(days=stands))]


def _first_of_may() -> date:
    return date(date.today().year, FIRST_MONTH, FIRST_DAY)


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(
            f"“{text}”",
            where=Where(column="--day"),
            expected="a day such as 2027-05-01",
            remedy="write year, month and day",
        ) from None


def _days(asked: GiftQuestion, garden: Garden | None, plantings: Sequence[Planting]) -> tuple[date, date]:
    """Return the first day of the run and the day of giving; a garden's run begins with its season."""
    day = _day(asked.day)
    if garden is None:
        return (day or _first_of_may(),) * 2
    first = garden.info.season_start
    if day is None:
        planted = min((one.planted for one in plantings), default=first)
        day = max(first, planted - timedelta(weeks=2))
    return (first, day) if first <= day < first + timedelta(weeks=asked.weeks) else (day, day)


def _normals(asked: GiftQuestion, garden: Garden | None) -> tuple[Sequence[float], Sequence[float]]:
    """Return monthly temperature and rain of the garden, or of an ordinary cool temperate place."""
    import math

    from loamery.reference import coefficient

    if garden is not None:
        return garden.climate.mean_temp_c, garden.climate.rain_mm
    mean = coefficient("bed_usual_mean_temp").value if asked.air is None else air_c(asked.air)
    swing = coefficient("bed_usual_swing").value
    return [mean - swing * math.cos(2 * math.pi * (month - 0.5) / 12) for month in range(12)], [
        coefficient("bed_usual_rain").value
    ] * 12


def _portion(part: Part, use: str, numbers: Parameters) -> Portion:
    from loamery.bed.matter import matter_of
    from loamery.bed.simulate import Portion

    if use in ("dig_in", "mulch"):
        return Portion(matter_of(part.composition, numbers), use == "mulch")
    return Portion(_worked(part, use, numbers), False, False)


def _worked(part: Part, use: str, numbers: Parameters) -> Any:
    """Return the compost or the castings of a material, with the elements that stay."""
    from loamery.bed.matter import NUTRIENTS, matter_of_stuff

    stuff, yielded = _product(part, use)
    composition = part.composition
    dry = 1.0 - composition.draws("moisture")
    kept = {
        key: composition.draws(key) * dry / yielded
        for key in NUTRIENTS
        if key in composition and key not in ("P", "K") and key not in stuff.trace
    }
    return matter_of_stuff(stuff, numbers, kept)


def _product(part: Part, use: str) -> tuple[Any, float]:
    """Return what a material turns into, and the kilograms of it from one kilogram of the material."""
    import numpy as np

    from loamery.garden.model import Material
    from loamery.season.stuff import castings_stuff, castings_yield_dry, compost_stuff, raw_stuff

    name = part.composition.material
    raw = raw_stuff(Material(id="given", name=name, kind=part.composition.kind), part.composition)
    if use == "composted":
        return compost_stuff("compost", f"composted {name}", [(raw, 1.0)])
    stuff = replace(castings_stuff([(raw, 1.0)]), name=f"castings of {name}")
    return stuff, castings_yield_dry() * float(np.median(raw.dry))


def _given_kg(part: Part, use: str) -> float:
    """Return the kilograms that reach the bed: amounts are of the raw material, compost and castings weigh less."""
    return part.kg if use in ("dig_in", "mulch") else part.kg * _product(part, use)[1]


def _ceilings(
    garden: Garden | None, bed: Bed, test: SoilTest, question: BedQuestion, asked: GiftQuestion
) -> dict[str, Ceiling]:
    from loamery.bed.ceilings import nutrient_ceiling, salt_ceiling, trace_ceilings
    from loamery.reference import table

    plantings = tuple(_plantings(asked, garden, bed))
    key = garden.info.jurisdiction if garden else table("jurisdictions")[0]["key"]
    row = next(row for row in table("jurisdictions") if row["key"] == key)
    removed = {"P": float(question.crop.p_kg_m2[0, -1]), "K": float(question.crop.k_kg_m2[0, -1])}
    found = {one: nutrient_ceiling(one, test, removed[one]) for one in "PK"}
    return {**found, "salt": salt_ceiling(bed, test, plantings), **trace_ceilings(row["cumulative_limits"])}


def _title(parts: Sequence[Part], use: str) -> str:
    what = joined(" + ", (one.composition.material for one in parts))
    return {
        "dig_in": say("{what}, worked in", what=what),
        "mulch": say("{what}, laid on top", what=what),
        "composted": say("{what}, composted, then worked in", what=what),
        "worm_worked": say("{what}, through worms, then worked in", what=what),
    }[use]


def _known(garden: Garden | None, bed: Bed, test: SoilTest) -> list[Finding]:
    from loamery.bed.soil import soil_findings

    return list(soil_findings(test, bed.name)) if garden is not None else []


def _cautions(kinds: Sequence[str], use: str) -> list[Finding]:
    from loamery.evidence.cautions import cautions_for

    found = [
        one
        for kind in kinds
        for one in cautions_for(kind, ["mulch" if use == "mulch" else "dig_in" if use == "dig_in" else "heap"])
    ]
    return list({one.code: replace(one, about="") for one in found}.values())
