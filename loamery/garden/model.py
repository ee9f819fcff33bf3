"""The garden: everything that belongs to one place, as plain records that a person can read and edit."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Id = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]*$", max_length=60, description="short lower-case name")]
Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Share = Annotated[float, Field(ge=0, le=1)]
Use = Literal["mulch", "dig_in", "heap", "worm_bed"]
USES: tuple[Use, ...] = ("mulch", "dig_in", "heap", "worm_bed")


class Record(BaseModel):
    """A row of the garden folder: immutable, nothing unknown in it."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)


class Climate(Record):
    """Monthly normals of the place, January first."""

    mean_temp_c: tuple[float, ...] = Field(min_length=12, max_length=12, description="mean air temperature, °C")
    rain_mm: tuple[NotNegative, ...] = Field(min_length=12, max_length=12, description="precipitation, mm per month")
    source: str = Field(default="", description="where the normals come from")


class Info(Record):
    """What the garden folder says of itself (garden.toml, table [garden])."""

    name: str
    place: str = ""
    invented: bool = Field(default=False, description="true for a made-up garden; shown on every sheet")
    jurisdiction: str = Field(description="key of jurisdictions.csv, whose limits apply")
    units: Literal["metric", "us"] = "metric"
    currency: str = "CAD"
    season_start: date
    season_weeks: Annotated[int, Field(ge=1, le=60)] = 26
    seed: Annotated[int, Field(ge=0)] = 1
    draws: Annotated[int, Field(ge=100, le=100_000)] = 1000
    bucket_l: Positive = Field(default=20.0, description="size of the bucket amounts are counted in, litres")
    hours_per_week: NotNegative | None = Field(default=None, description="hands available, hours per week")


class Donor(Record):
    """Who gives a material."""

    id: Id
    name: str
    kind: str = ""
    distance_km: NotNegative = 0.0
    note: str = ""


class Material(Record):
    """A kind of stuff this garden uses."""

    id: Id
    name: str
    kind: str = Field(description="slug of materials.csv it is an example of")
    uses: tuple[Use, ...] = Field(default=USES, description="uses the grower allows")
    storage_weeks: NotNegative | None = Field(default=None, description="keeps this long; published value if empty")
    note: str = ""


class Supply(Record):
    """What a donor can give of a material, week by week, and what a bought-in material costs."""

    donor: Id
    material: Id
    kg_per_week: NotNegative = Field(description="as received")
    first: date
    last: date
    price_per_kg: NotNegative = 0.0
    note: str = ""


class Bed(Record):
    """A piece of soil."""

    id: Id
    name: str
    area_m2: Positive
    depth_m: Positive = Field(default=0.15, description="depth that is worked and sampled")
    texture: Literal["sand", "loamy sand", "sandy loam", "loam", "silt loam", "clay loam", "clay"] = "loam"
    bulk_density_kg_m3: Positive = 1200.0
    note: str = ""


class Planting(Record):
    """A crop on a share of a bed, from planting to last harvest."""

    bed: Id
    crop: str = Field(description="slug of crops.csv")
    planted: date
    harvested: date
    share: Annotated[float, Field(gt=0, le=1)] = 1.0
    yield_kg_m2: Positive | None = Field(default=None, description="expected; published typical yield if empty")


class SoilValue(Record):
    """One typed-in line of a soil test."""

    bed: Id
    quantity: str
    value: float
    unit: str
    extractant: str = ""
    sampled_on: date | None = None
    lab: str = ""


class Heap(Record):
    """A place where compost is made."""

    id: Id
    name: str
    capacity_m3: Positive
    kind: Literal["bin", "pile", "tumbler"] = "bin"
    note: str = ""


class WormBed(Record):
    """A vermicompost box."""

    id: Id
    name: str
    area_m2: Positive
    worms_kg: NotNegative = 0.0
    note: str = ""


class ReportEntry(Record):
    """A laboratory file in the garden folder, what it is about, and the answers to what its reading asked."""

    file: str
    material: Id | None = None
    bed: Id | None = None
    sample: str = Field(default="", description="which sample of the file; empty when it holds one")
    answers: dict[str, str] = Field(default_factory=dict, description="answers to the questions of the reading")


class Garden(Record):
    """A whole garden."""

    info: Info
    climate: Climate
    donors: tuple[Donor, ...] = ()
    materials: tuple[Material, ...] = ()
    supplies: tuple[Supply, ...] = ()
    beds: tuple[Bed, ...] = ()
    plantings: tuple[Planting, ...] = ()
    soil_values: tuple[SoilValue, ...] = ()
    heaps: tuple[Heap, ...] = ()
    worm_beds: tuple[WormBed, ...] = ()
    reports: tuple[ReportEntry, ...] = ()
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
