"""Write three seasons of records of the demo garden, all invented: what came, what was built, spread, read, picked and tested again.

    python examples/make_demo_seasons.py [FOLDER]

The same seed gives the same bytes. The files go beside the demo garden, into loamery/demo/seasons, and fit its ids.
Temperatures of heaps follow a made-up curve of warming and cooling; they are no measurement and prove nothing.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

from loamery.garden.fields import Record
from loamery.garden.folder import FILES, read_garden
from loamery.garden.model import Garden, SoilValue, Supply, WeatherDay
from loamery.garden.records import (
    Application,
    Batch,
    BatchPart,
    Feeding,
    Harvest,
    Load,
    Price,
    Reading,
    Turning,
    Watering,
)
from loamery.garden.writing import rows_text

HERE = Path(__file__).resolve().parent
GARDEN = HERE.parent / "loamery" / "demo" / "garden"
SEASONS = HERE.parent / "loamery" / "demo" / "seasons"
SEED = 20270405
UNTIL = date(2027, 7, 14)
PEOPLE = ("Ines", "Tomek", "Amaru", "Wren")
DAY = timedelta(1)
# heap, month and day built, days it stands
BUILT = (
    ("bin-east", 4, 14, 75),
    ("bin-west", 5, 12, 80),
    ("pile-back", 6, 9, 90),
    ("bin-east", 7, 7, 80),
    ("bin-west", 8, 11, 70),
)
PARTS = {"grounds": 38.0, "leaves": 125.0, "grass": 70.0, "grain": 28.0, "manure": 60.0, "trimmings": 42.0}
FROM_JULY = {"manure": 0.0, "leaves": 90.0}
"""What changes in heaps built after the stable's horses went to pasture."""

RETESTED = date(2027, 7, 12)
SOILS: dict[str, tuple[float, float, float, float]] = {
    "north-border": (6.5, 0.6, 30.0, 88.0),
    "kitchen-bed": (6.8, 0.4, 41.0, 124.0),
    "long-bed": (6.4, 0.2, 29.0, 79.0),
    "pine-end": (5.3, 0.4, 16.0, 69.0),
    "greenhouse-side": (6.9, 1.0, 61.0, 205.0),
    "street-edge": (7.2, 1.3, 24.0, 140.0),
}
"""pH, conductivity of the saturated paste in dS/m, Mehlich-3 phosphorus and potassium in mg/kg, nine months after the autumn's
laboratory file. Made up by hand: more potassium where much was spread, little else changed, salt washed by a winter's rain.
As bands of nine in ten promise, all but one of them lie in the forecast from the autumn's test: being made up, they judge nothing."""
FIGURES = (
    ("pH", "pH", "1:1, water"),
    ("EC", "dS/m", "saturated paste"),
    ("P", "mg/kg", "mehlich3"),
    ("K", "mg/kg", "mehlich3"),
)

Rows = dict[str, list[Record]]


def main(into: Path) -> None:
    """Write every file."""
    garden = read_garden(GARDEN)
    rows = seasons(garden, random.Random(SEED))
    into.mkdir(parents=True, exist_ok=True)
    for part, records in rows.items():
        file, model = FILES[part]
        text = f"# invented records of the demo garden, written by examples/{Path(__file__).name}\n" + rows_text(
            records, model
        )
        (into / file).write_text(text, encoding="utf-8")


def seasons(garden: Garden, dice: random.Random) -> Rows:
    """Return all records until the last day, in the order of time."""
    rows: Rows = {part: [] for part in ("loads", "batches", "batch_parts", "applications", "turnings", "waterings", "readings",
                                        "feedings", "harvests", "prices", "weather", "soil_values")}  # fmt: skip
    rows["weather"] += weather(garden, dice)
    rows["soil_values"] += [*garden.soil_values, *soils_again()]
    warmth = {one.day: one.mean_temp_c for one in rows["weather"]}
    for year in (2025, 2026, 2027):
        rows["loads"] += loads(garden, year, len(rows["loads"]), dice)
        for number, (heap, month, day, stands) in enumerate(BUILT, start=1):
            one_heap(rows, f"heap-{year}-{number}", heap, date(year, month, day), stands, warmth, dice)
        rows["feedings"] += feedings(year, dice)
        rows["applications"] += mulches(garden, year, dice)
        rows["harvests"] += harvests(garden, year, dice)
        rows["prices"] += prices(year, dice)
    order = {"batches": "built", "weather": "day"}
    return {
        part: [one for _, one in sorted(enumerate(found), key=lambda item: (getattr(item[1], order.get(part, "on"), 0), item[0]))]
        if part not in ("batch_parts", "soil_values") else found
        for part, found in rows.items()
    }  # fmt: skip


def soils_again() -> Iterator[SoilValue]:
    """Yield made-up soil tests of a later day, against which the season can be looked back on."""
    for bed, found in SOILS.items():
        for (quantity, unit, how), value in zip(FIGURES, found, strict=True):
            yield SoilValue(
                bed=bed, quantity=quantity, value=value, unit=unit, extractant=how, sampled_on=RETESTED, lab="typed by hand (invented)"
            )  # fmt: skip


def days(first: date, last: date, step: int = 1) -> Iterator[date]:
    """Yield days up to the last one there are records of."""
    while first <= min(last, UNTIL):
        yield first
        first += step * DAY


def weather(garden: Garden, dice: random.Random) -> Iterator[WeatherDay]:
    """Yield a made-up day of weather for each day, about the garden's normals."""
    drift = 0.0
    for day in days(date(2025, 1, 1), UNTIL):
        month = day.month - 1
        after, part = (month + 1) % 12, (day.day - 1) / 30
        mean = garden.climate.mean_temp_c[month] * (1 - part) + garden.climate.mean_temp_c[after] * part
        drift = 0.75 * drift + dice.gauss(0.0, 2.2)
        rainy = dice.random() < 0.32
        rain = dice.expovariate(1.0) * garden.climate.rain_mm[month] / (0.32 * 30) if rainy else 0.0
        swing = dice.uniform(3.0, 5.0) if rainy else dice.uniform(5.0, 8.5)
        yield WeatherDay(
            day=day, min_temp_c=round(mean + drift - swing, 1), max_temp_c=round(mean + drift + swing, 1), rain_mm=round(rain, 1)
        )  # fmt: skip


def loads(garden: Garden, year: int, before: int, dice: random.Random) -> list[Load]:
    """Return what came: most weeks of each supply, about the amount promised."""
    found = []
    for supply in garden.supplies:
        for day in days(_in_year(supply.first, year), _in_year(supply.last, year), 7):
            if dice.random() < 0.9 and (one := _load(supply, day, dice)).on <= UNTIL:
                found.append(one)
    found.sort(key=lambda one: one.on)
    return [one.model_copy(update={"id": f"load-{before + number}"}) for number, one in enumerate(found, start=1)]


def _load(supply: Supply, day: date, dice: random.Random) -> Load:
    kg = round(supply.kg_per_week * dice.lognormvariate(0.0, 0.18), 1)
    return Load(
        id="x", donor=supply.donor, material=supply.material, on=day + dice.randrange(6) * DAY, kg=kg,
        price_per_kg=supply.price_per_kg, by=dice.choice(PEOPLE),
    )  # fmt: skip


def _in_year(day: date, year: int) -> date:
    return day.replace(year=year)


def one_heap(
    rows: Rows, key: str, heap: str, built: date, stands: int, warmth: dict[date, float], dice: random.Random
) -> None:
    """Add a heap with what was done to it, as far as the records go."""
    if built > UNTIL:
        return
    emptied = built + stands * DAY
    done = emptied <= UNTIL
    parts = {name: kg for name, kg in (PARTS | (FROM_JULY if built.month >= 7 else {})).items() if kg}
    parts = {name: round(kg * dice.uniform(0.85, 1.15), 1) for name, kg in parts.items()}
    mass = sum(parts.values())
    compost = round(0.42 * mass * dice.uniform(0.9, 1.1), 1)
    rows["batches"].append(
        Batch(
            id=key, heap=heap, built=built, volume_m3=round(mass / 390.0, 2), water_kg=round(0.09 * mass),
            emptied=emptied if done else None, compost_kg=compost if done else None, by=dice.choice(PEOPLE),
        )
    )  # fmt: skip
    rows["batch_parts"] += [BatchPart(batch=key, material=name, kg=kg) for name, kg in parts.items()]
    turned = [built + one * DAY for one in (6, 13, 24, 40) if built + one * DAY <= UNTIL]
    rows["turnings"] += [Turning(batch=key, on=day, by=dice.choice(PEOPLE)) for day in turned]
    rows["waterings"] += [
        Watering(on=day, batch=key, kg=float(dice.randrange(10, 31, 5)), by=dice.choice(PEOPLE)) for day in turned[1:3]
    ]
    rows["readings"] += readings(key, built, min(emptied, built + 70 * DAY), turned, warmth, dice)
    if done:
        rows["applications"] += spread(key, emptied, compost, dice)


def readings(
    key: str, built: date, last: date, turned: list[date], warmth: dict[date, float], dice: random.Random
) -> Iterator[Reading]:
    """Yield readings every two or three days, shallow and in the middle."""
    day = built + DAY
    while day <= min(last, UNTIL):
        feel = dice.choices(("moist", "dry", "wet"), (8, 2, 1))[0]
        smell = dice.choices((None, "earthy", "ammonia", "sour"), (10, 4, 1, 1))[0]
        by = dice.choice(PEOPLE)
        for depth in (0.2, None):
            yield Reading(batch=key, on=day, depth_m=depth, temp_c=warm(day, built, depth, turned, warmth, dice), by=by,
                          feel=feel if depth is None else None, smell=smell if depth is None else None)  # fmt: skip
        day += dice.choice((2, 2, 3)) * DAY


def warm(
    day: date, built: date, depth: float | None, turned: list[date], warmth: dict[date, float], dice: random.Random
) -> float:
    """Return a made-up temperature: quick warming, slow cooling, a smaller rise after each turning."""
    rises = [(built, 42.0), *((when, 30.0 * 0.72**number) for number, when in enumerate(turned))]
    heat = 0.0
    for when, height in rises:
        age = (day - when).days
        if age >= 0:
            heat = max(heat, height * (1 - math.exp(-age / 1.3)) * math.exp(-age / 19.0))
    share = 1.0 if depth is None else 0.62
    return round(warmth[day] + share * heat + dice.gauss(0.0, 1.4), 1)


def spread(key: str, emptied: date, compost: float, dice: random.Random) -> Iterator[Application]:
    """Yield where the compost of a heap went."""
    beds = dice.sample(
        ("north-border", "schoolyard-strip", "kitchen-bed", "long-bed", "pine-end", "greenhouse-side", "street-edge"), 3
    )
    for number, bed in enumerate(beds):
        yield Application(bed=bed, on=min(emptied + number * DAY, UNTIL), batch=key, kg=round(compost * 0.3, 1), use="dig_in" if number else "mulch",
                          depth_m=None if number else 0.02, by=dice.choice(PEOPLE))  # fmt: skip


def mulches(garden: Garden, year: int, dice: random.Random) -> Iterator[Application]:
    """Yield layers of chips, leaves, grass and thin layers of grounds."""
    layers = (("chips", 0.06, 9.0), ("leaves", 0.08, 5.0), ("grass", 0.02, 3.5), ("grounds", 0.01, 1.6))
    for number, bed in enumerate(garden.beds):
        material, depth, kg_m2 = layers[(number + year) % len(layers)]
        on = date(year, 5, 20) + dice.randrange(25) * DAY
        if on <= UNTIL:
            yield Application(
                bed=bed.id,
                on=on,
                material=material,
                kg=round(bed.area_m2 * kg_m2, 1),
                use="mulch",
                depth_m=depth,
                by=dice.choice(PEOPLE),
            )


def feedings(year: int, dice: random.Random) -> Iterator[Feeding]:
    """Yield what the worms got, every week or so."""
    for day in days(date(year, 4, 6), date(year, 10, 2), 7):
        material = dice.choice(("grounds", "trimmings", "trimmings", "tea", "cardboard"))
        yield Feeding(
            worm_bed="shed-box", material=material, on=day, kg=round(dice.uniform(0.6, 2.2), 1), by=dice.choice(PEOPLE)
        )


def harvests(garden: Garden, year: int, dice: random.Random) -> Iterator[Harvest]:
    """Yield pickings in the last weeks of each planting."""
    areas = {bed.id: bed.area_m2 for bed in garden.beds}
    for one in garden.plantings:
        last = _in_year(one.harvested, year)
        times = 1 if one.crop in ("potato", "carrot", "winter-squash") else 5
        for number in range(times):
            on = last - number * timedelta(6)
            if on <= UNTIL:
                kg = areas[one.bed] * one.share * dice.uniform(1.2, 2.6) / times
                yield Harvest(bed=one.bed, crop=one.crop, on=on, kg=round(kg, 2), by=dice.choice(PEOPLE))


def prices(year: int, dice: random.Random) -> Iterator[Price]:
    """Yield a few prices of the corner shop."""
    for item, about in (
        ("lettuce-leaf", 9.0),
        ("tomato", 6.5),
        ("kale", 8.0),
        ("carrot", 3.2),
        ("potato", 2.4),
        ("spinach", 11.0),
    ):
        on = date(year, 7, 3)
        yield Price(
            item=item, on=on, price_per_kg=round(about * dice.uniform(0.9, 1.15), 2), seen_at="corner shop (invented)"
        )


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else SEASONS)
