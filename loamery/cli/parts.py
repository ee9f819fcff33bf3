"""Materials as a person names them for a heap, a mulch or a worm bed, and the weather of the place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.show import amount
from loamery.errors import InputError, Where

if TYPE_CHECKING:
    from loamery.finding import Finding
    from loamery.garden.model import Garden
    from loamery.heap.climate import Normals
    from loamery.heap.matter import Part
    from loamery.lab.composition import Composition

DEFAULT_AIR_C, RECIPE_KG = 15.0, 100.0
GAPS_TOLD = 4
Progress = Callable[[str], None]


def parts_of(
    materials: Sequence[str], garden: Garden | None, tell: Progress, *, option: str = "--with", blended: bool = True
) -> tuple[tuple[Part, ...], float]:
    """Return the materials with their masses and the water to add, kg.

    Parameters
    ----------
    materials : ``NAME`` or ``NAME=AMOUNT`` (mass or volume); none means the garden's own heap materials.
    blended : solve a blend where no amounts are given; else equal masses.

    Raises
    ------
    InputError : an unknown material, amounts for some only, or nothing to build of.
    """
    from loamery.cli.blend import _compositions
    from loamery.heap.matter import Part, litre_weight

    named = [one.partition("=") for one in materials] or [(key, "", "") for key in _heap_materials(garden)]
    names = [name.strip() for name, _, _ in named]
    doubled = sorted({one for one in names if names.count(one) > 1})
    if doubled:
        raise InputError(
            f"“{doubled[0]}” twice", where=Where(column=option), expected="each material once", remedy="add the amounts"
        )
    found = _compositions(names, garden)
    given = [much.strip() for _, _, much in named]
    if any(given) and not all(given):
        lacking = names[given.index("")]
        raise InputError(
            f"“{lacking}” without an amount", where=Where(column=option), expected="an amount for every material or for none",
            remedy=f'for example {option} "{lacking}=40 kg"',
        )  # fmt: skip
    if any(given):
        return tuple(
            Part(found[name], _kg(found[name], much, option, litre_weight))
            for name, much in zip(names, given, strict=True)
        ), 0.0
    if len(names) == 1 or not blended:
        return tuple(Part(found[name], 1.0) for name in names), 0.0
    tell("blending")
    return _blended(names, found)


def _kg(composition: Composition, much: str, option: str, weigh: Callable[[Composition], float]) -> float:
    value, dimension = amount(much, option, "mass", "volume")
    return value if dimension == "mass" else value * weigh(composition)


def _heap_materials(garden: Garden | None) -> list[str]:
    """Return the garden's materials that a heap may be built of."""
    names = [] if garden is None else [one.id for one in garden.materials if "heap" in one.uses and _heats(one.kind)]
    if not names:
        raise InputError(
            "no materials", where=Where(column="--with"), expected="a garden with heap materials, or --with NAME=AMOUNT",
            remedy='for example --with "coffee-spent=40 kg" --with "leaves-mixed=40 kg"',
        )  # fmt: skip
    return names


def _heats(kind: str) -> bool:
    from loamery.season.stuff import group_of

    return group_of(kind) in ("green", "brown", "manure")


def _blended(names: Sequence[str], found: dict[str, Composition]) -> tuple[tuple[Part, ...], float]:
    from loamery.blend.bounds import Bounds
    from loamery.blend.ingredient import Ingredient
    from loamery.blend.solve import solve_blend
    from loamery.heap.matter import Part

    ingredients = [Ingredient.from_composition(found[name], name=name) for name in names]
    blend = solve_blend(ingredients, Bounds.reasonable(), total_kg=RECIPE_KG)
    return tuple(Part(found[name], kg) for name, kg in blend.kg.items() if kg > 0.0), blend.water_kg


def normals_of(garden: Garden | None, air: str | None, weather: Path | None = None) -> Normals:
    """Return the weather of the garden, or one air temperature the year round, with the days of a file before it.

    Raises
    ------
    LoameryError : the file cannot be used.
    """
    from loamery.garden.weather_lines import read_weather
    from loamery.heap.climate import Normals

    given = read_weather(weather) if weather else ()
    if air is not None or garden is None:
        return Normals.constant(DEFAULT_AIR_C if air is None else air_c(air), measured=given)
    known = {one.day: one for one in (*garden.weather, *given)}
    return Normals(garden.climate.mean_temp_c, garden.climate.rain_mm, tuple(known.values()))


def check_weather(normals: Normals, start: date, days: int, weather: Path | None, *, fallback: bool) -> list[Finding]:
    """Return what has to be said of measured weather over a run.

    Parameters
    ----------
    fallback : whether a garden's normals or a temperature of one's own stands in for days that were not measured.

    Raises
    ------
    InputError : a file was given, days are missing, and nothing is there to fill them from.
    """
    from loamery.finding import Finding
    from loamery.say import joined, say

    span = normals.span(start, days)
    end = start + timedelta(days=days - 1)
    file = str(weather) if weather else "weather.csv"
    if weather and not fallback and span.measured < days:
        raise InputError(
            f"weather of {span.measured} of the {days} days from {start.isoformat()} to {end.isoformat()}",
            where=Where(file=file), expected="a row for each of these days, or something to fill them from",
            remedy="name a garden folder, whose normals fill them, or give --air",
        )  # fmt: skip
    if weather and not span.measured:
        known = sorted(one.day for one in normals.measured)
        raise InputError(
            f"days from {known[0].isoformat()} to {known[-1].isoformat()}", where=Where(file=file),
            expected=f"some of the days from {start.isoformat()} to {end.isoformat()}, which are foreseen",
            remedy="correct the days, or --start",
        )  # fmt: skip
    if not span.gaps:
        return []
    told = joined(", ", (
        say("{first} to {last}", first=first.isoformat(), last=last.isoformat()) if last > first else first.isoformat()
        for first, last in span.gaps[:GAPS_TOLD]
    ))  # fmt: skip
    many = (
        say("1 day lacks measured weather; normals fill in.")
        if span.gap_days == 1
        else say("{days} days lack measured weather; normals fill in.", days=span.gap_days)
    )
    more = len(span.gaps) - GAPS_TOLD
    return [Finding(
        "weather_gap", "note", many, say("{days} and {more} more", days=told, more=more) if more > 0 else told,
        ("JUDGE",), about=file, proposal=say("Add the days to the file if you have them."),
    )]  # fmt: skip


def air_c(text: str) -> float:
    """Return a temperature such as ``15 C`` or ``59 F`` in °C.

    Raises
    ------
    InputError : it is not one, or no air has it.
    """
    cell = text.strip().replace("°", "").lower()
    unit = cell[-1:] if cell[-1:] in ("c", "f") else "c"
    try:
        value = float(cell.removesuffix(unit).replace(",", "."))
    except ValueError:
        value = float("nan")
    value = (value - 32.0) / 1.8 if unit == "f" else value
    if not -40.0 <= value <= 50.0:
        raise InputError(
            f"“{text}”", where=Where(column="--air"), expected="a temperature from -40 to 50 °C, such as 15C or 59F",
            remedy="give the mean air temperature of the weeks ahead",
        )  # fmt: skip
    return value
