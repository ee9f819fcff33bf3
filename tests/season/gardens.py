"""Small gardens made in memory, for tests of the season."""

from __future__ import annotations

from datetime import date, timedelta

from loamery.garden import Garden
from loamery.garden.model import Bed, Climate, Donor, Heap, Info, Material, Planting, SoilValue, Supply, Use

START = date(2027, 5, 3)
WARM = (5, 6, 8, 11, 15, 18, 21, 21, 18, 13, 8, 5)


def day(week: float) -> date:
    """Return the first day of a week of the small season."""
    return START + timedelta(days=round(7 * week))


def material(key: str, kind: str, *uses: Use, weeks: float | None = None) -> Material:
    return Material(
        id=key, name=f"{key.title()} (invented)", kind=kind, uses=uses or ("mulch", "dig_in"), storage_weeks=weeks
    )


def supply(key: str, kg: float, first: float = 0, last: float = 8, price: float = 0.0, donor: str = "near") -> Supply:
    return Supply(
        donor=donor,
        material=key,
        kg_per_week=kg,
        first=day(first),
        last=day(last) - timedelta(days=1),
        price_per_kg=price,
    )


def planting(bed: str, crop: str, first: float = 0, last: float = 8, share: float = 1.0) -> Planting:
    return Planting(bed=bed, crop=crop, planted=day(first), harvested=day(last) - timedelta(days=1), share=share)


def garden(
    materials: tuple[Material, ...],
    supplies: tuple[Supply, ...],
    plantings: tuple[Planting, ...],
    *,
    beds: tuple[Bed, ...] = (Bed(id="bed", name="Bed", area_m2=6),),
    heaps: tuple[Heap, ...] = (),
    soil: tuple[SoilValue, ...] = (),
    weeks: int = 8,
    hours: float | None = None,
    draws: int = 200,
    jurisdiction: str = "ca-a",
) -> Garden:
    info = Info(name="Small garden (invented)", invented=True, jurisdiction=jurisdiction, season_start=START, season_weeks=weeks,
                draws=draws, hours_per_week=hours)  # fmt: skip
    donors = (
        Donor(id="near", name="Near (invented)", distance_km=1.0),
        Donor(id="far", name="Far (invented)", distance_km=30.0),
    )
    return Garden(info=info, climate=Climate(mean_temp_c=WARM, rain_mm=(50,) * 12), donors=donors, materials=materials, supplies=supplies,
                  beds=beds, plantings=plantings, heaps=heaps, soil_values=soil)  # fmt: skip
