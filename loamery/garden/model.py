"""The garden: everything that belongs to one place, as plain records that a person can read and edit."""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import Field

from loamery.garden.fields import Day, Id, Name, NotNegative, Positive, Record, Share
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
from loamery.units import to_compound

Percent = Annotated[float, Field(ge=0, le=100)]
AirTemp = Annotated[float, Field(ge=-60, le=60)]
Use = Literal["mulch", "dig_in", "heap", "worm_bed"]
USES: tuple[Use, ...] = ("mulch", "dig_in", "heap", "worm_bed")


class Climate(Record):
    """Monthly normals of the place, January first."""

    mean_temp_c: tuple[float, ...] = Field(min_length=12, max_length=12, description="mean air temperature, °C")
    rain_mm: tuple[NotNegative, ...] = Field(min_length=12, max_length=12, description="precipitation, mm per month")
    source: str = Field(default="", description="where the normals come from")
    latitude_deg: Annotated[float, Field(ge=-90, le=90)] | None = Field(
        default=None, description="of the place, degrees, north positive; 45 is taken when left out"
    )


class Info(Record):
    """What the garden folder says of itself (garden.toml, table [garden])."""

    name: Name = Field(description="the garden's name, as it stands on every sheet")
    place: str = Field(default="", description="city or district, for the sheets")
    invented: bool = Field(default=False, description="true for a made-up garden; shown on every sheet")
    jurisdiction: str = Field(description="key of jurisdictions.csv, whose limits apply")
    units: Literal["metric", "us"] = Field(
        default="metric", description="what people are shown; files say their own units"
    )
    currency: str = Field(default="CAD", description="in which prices are written")
    season_start: Day = Field(description="first day of week 1, best a Monday")
    season_weeks: Annotated[int, Field(ge=1, le=60)] = Field(default=26, description="how many weeks are planned")
    seed: Annotated[int, Field(ge=0)] = Field(default=1, description="the same seed gives the same bands")
    draws: Annotated[int, Field(ge=100, le=100_000)] = Field(
        default=1000, description="how many draws the bands rest on"
    )
    bucket_l: Positive = Field(default=20.0, description="size of the bucket amounts are counted in, litres")
    hours_per_week: NotNegative | None = Field(default=None, description="hands available, hours per week")
    hour_worth: Positive | None = Field(
        default=None, description="money that an hour of work weighs as much as; a published coefficient if empty"
    )
    whole_buckets: tuple[Use, ...] = Field(
        default=(), description="uses whose amounts are planned in whole buckets, such as mulch; dig_in"
    )


class Donor(Record):
    """Who gives a material."""

    id: Id
    name: Name = Field(description="what people call the donor")
    kind: str = Field(default="", description="café, brewery, tree crew …; in your own words")
    distance_km: NotNegative = Field(default=0.0, description="one way; counts as hauling time")
    note: str = ""


class Material(Record):
    """A kind of stuff this garden uses."""

    id: Id
    name: Name = Field(description="what people call it")
    kind: str = Field(description="slug of materials.csv it is an example of")
    uses: tuple[Use, ...] = Field(default=USES, description="uses the grower allows")
    storage_weeks: NotNegative | None = Field(default=None, description="keeps this long; published value if empty")
    note: str = ""


class Supply(Record):
    """What a donor can give of a material, week by week, and what a bought-in material costs."""

    donor: Id = Field(description="id of donors.csv")
    material: Id = Field(description="id of materials.csv")
    kg_per_week: NotNegative = Field(description="as received")
    first: Day = Field(description="first day it can be had")
    last: Day = Field(description="last day it can be had")
    price_per_kg: NotNegative = Field(
        default=0.0, description="0 for what is free; only free material counts as diverted"
    )
    note: str = ""


class Good(Record):
    """Something that can be bought by the sack; the plan decides how many, if any."""

    material: Id = Field(description="id of materials.csv")
    sack_kg: Positive = Field(description="what a sack weighs")
    price: NotNegative = Field(description="of a sack, in the garden's currency")
    most: Annotated[int, Field(ge=0, le=1000)] = Field(default=20, description="most sacks in a season")
    note: str = ""


class Fertiliser(Record):
    """A fertiliser the grower could buy, as its label says; what plant food would cost in the shop."""

    id: Id
    name: str = Field(description="what it is sold as")
    n_percent: Percent = Field(default=0.0, description="N on the label, %")
    p2o5_percent: Percent = Field(default=0.0, description="P2O5 on the label, %")
    k2o_percent: Percent = Field(default=0.0, description="K2O on the label, %")
    price_per_kg: NotNegative = Field(description="in the garden's currency")
    note: str = ""

    @property
    def shares(self) -> tuple[float, float, float]:
        """Return N, P and K as elements, kg per kg."""
        p, k = to_compound("P", "P2O5"), to_compound("K", "K2O")
        return self.n_percent / 100.0, self.p2o5_percent / 100.0 / p, self.k2o_percent / 100.0 / k


class LabPrice(Record):
    """What this garden's laboratory asks for a test, in place of the published price."""

    test: Id = Field(description="key of lab_tests.csv of the reference data")
    price: NotNegative = Field(description="of one sample, in the garden's currency")
    note: str = ""


class Store(Record):
    """What lies in store on the first day of the season, such as last year's compost or leaves."""

    material: Id = Field(description="id of materials.csv")
    kg: NotNegative = Field(description="as it lies there")
    note: str = ""


Texture = Literal["sand", "loamy sand", "sandy loam", "loam", "silt loam", "clay loam", "clay"]
TEXTURES: tuple[Texture, ...] = get_args(Texture)


class Bed(Record):
    """A piece of soil."""

    id: Id
    name: Name = Field(description="what people call the bed")
    area_m2: Positive = Field(description="the soil itself, paths left out")
    depth_m: Positive = Field(default=0.15, description="depth that is worked and sampled")
    texture: Texture = Field(default="loam", description="by hand or from the soil test")
    bulk_density_kg_m3: Positive = Field(default=1200.0, description="of the dry soil")
    note: str = ""


class Planting(Record):
    """A crop on a share of a bed, from planting to last harvest."""

    bed: Id = Field(description="id of beds.csv")
    crop: str = Field(description="slug of crops.csv")
    planted: Day = Field(description="sown or set out")
    harvested: Day = Field(description="last harvest")
    share: Annotated[float, Field(gt=0, le=1)] = Field(default=1.0, description="part of the bed, 1 for the whole")
    yield_kg_m2: Positive | None = Field(default=None, description="expected; published typical yield if empty")


class SoilValue(Record):
    """One typed-in line of a soil test."""

    bed: Id = Field(description="id of beds.csv")
    quantity: str = Field(description="a key of the glossary (units.md), such as pH, organic_matter, P, K, EC, Pb")
    value: float = Field(description="as the laboratory printed it")
    unit: str = Field(description="a unit of units.md, such as %, mg/kg, pH, dS/m")
    extractant: str = Field(
        default="", description="what the laboratory extracted with, such as mehlich3, olsen; for EC saturated paste"
    )
    sampled_on: Day | None = Field(default=None, description="day of sampling")
    lab: str = Field(default="", description="which laboratory")


class Heap(Record):
    """A place where compost is made."""

    id: Id
    name: Name = Field(description="what people call it")
    capacity_m3: Positive = Field(description="most it holds when it is built")
    kind: Literal["bin", "pile", "tumbler"] = Field(
        default="bin", description="recorded; the plan treats all kinds alike so far"
    )
    note: str = ""


class WormBed(Record):
    """A vermicompost box."""

    id: Id
    name: Name = Field(description="what people call it")
    area_m2: Positive = Field(description="open surface")
    worms_kg: NotNegative = Field(
        default=0.0, description="0 when they were never weighed: the usual stocking is assumed"
    )
    note: str = ""


class WeatherDay(Record):
    """What was measured on one day, in the garden or at the nearest station."""

    day: Day = Field(description="the day measured")
    min_temp_c: AirTemp = Field(description="lowest air temperature of the day, °C")
    max_temp_c: AirTemp = Field(description="highest air temperature of the day, °C")
    rain_mm: Annotated[float, Field(ge=0, le=1000)] = Field(description="rain and melted snow, mm")
    wind_m_s: Annotated[float, Field(ge=0, le=60)] | None = Field(
        default=None, description="mean wind 2 m above ground, metres per second"
    )
    humidity_frac: Share | None = Field(default=None, description="mean relative humidity, 0 to 1")
    sun_mj_m2: Annotated[float, Field(ge=0, le=45)] | None = Field(
        default=None, description="sun on level ground, MJ per m² and day"
    )

    @property
    def mean_temp_c(self) -> float:
        """Return the middle of the lowest and the highest temperature, °C."""
        return 0.5 * (self.min_temp_c + self.max_temp_c)


class ReportEntry(Record):
    """A laboratory file in the garden folder, what it is about, and the answers to what its reading asked."""

    file: str = Field(description="path inside the garden folder, such as reports/grounds.csv")
    material: Id | None = Field(default=None, description="id of materials.csv; this or bed")
    bed: Id | None = Field(default=None, description="id of beds.csv; this or material")
    sample: str = Field(default="", description="which sample of the file; empty when it holds one")
    answers: dict[str, str] = Field(default_factory=dict, description="answers to the questions of the reading")
    accepted: bool = Field(default=True, description="false: uploaded but not looked through yet, so it does not count")


class Garden(Record):
    """A whole garden."""

    info: Info
    climate: Climate
    donors: tuple[Donor, ...] = ()
    materials: tuple[Material, ...] = ()
    supplies: tuple[Supply, ...] = ()
    goods: tuple[Good, ...] = ()
    fertilisers: tuple[Fertiliser, ...] = ()
    stores: tuple[Store, ...] = ()
    test_prices: tuple[LabPrice, ...] = ()
    beds: tuple[Bed, ...] = ()
    plantings: tuple[Planting, ...] = ()
    soil_values: tuple[SoilValue, ...] = ()
    heaps: tuple[Heap, ...] = ()
    worm_beds: tuple[WormBed, ...] = ()
    weather: tuple[WeatherDay, ...] = Field(default=(), description="days measured, in the order of time, each once")
    reports: tuple[ReportEntry, ...] = ()
    loads: tuple[Load, ...] = ()
    batches: tuple[Batch, ...] = ()
    batch_parts: tuple[BatchPart, ...] = ()
    applications: tuple[Application, ...] = ()
    turnings: tuple[Turning, ...] = ()
    waterings: tuple[Watering, ...] = ()
    readings: tuple[Reading, ...] = ()
    feedings: tuple[Feeding, ...] = ()
    harvests: tuple[Harvest, ...] = ()
    prices: tuple[Price, ...] = ()
    folder: str = Field(default="", description="where it was read from; report files are looked up below it")

    def material(self, key: str) -> Material:
        """Return a material by id."""
        return next(one for one in self.materials if one.id == key)

    def bed(self, key: str) -> Bed:
        """Return a bed by id."""
        return next(one for one in self.beds if one.id == key)

    def donor(self, key: str) -> Donor:
        """Return a donor by id."""
        return next(one for one in self.donors if one.id == key)

    def batch(self, key: str) -> Batch:
        """Return a heap that was built, by id."""
        return next(one for one in self.batches if one.id == key)
