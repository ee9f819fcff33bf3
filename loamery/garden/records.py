"""What was done in a garden, day by day: loads taken in, heaps built and tended, beds and worms fed, crops picked.

The plan says what should happen; these records say what did. Each is a row of a CSV file of the garden folder.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from loamery.garden.fields import Day, Id, Name, NotNegative, Positive, Record, Share

TEMP_LOW_C, TEMP_HIGH_C = -40.0, 110.0
DEPTH_MOST_M = 3.0
Feel = Literal["dry", "moist", "wet"]
Smell = Literal["earthy", "sour", "ammonia", "rotten"]
By = Annotated[str, Field(description="who did it, as people call them")]
Photo = Annotated[str, Field(description="path of a picture inside the garden folder, such as photos/load-3.jpg")]


class Load(Record):
    """One delivery of a material, weighed and dated."""

    id: Id
    donor: Id = Field(description="id of donors.csv")
    material: Id = Field(description="id of materials.csv")
    on: Day = Field(description="day it came")
    kg: Positive = Field(description="weighed as received")
    price_per_kg: NotNegative = Field(default=0.0, description="what was paid; 0 for what is free")
    photo: Photo = ""
    by: By = ""
    note: str = ""


class Batch(Record):
    """A heap really built: where, when, and what came out of it."""

    id: Id
    heap: Id = Field(description="id of heaps.csv")
    built: Day = Field(description="day it was built")
    volume_m3: Positive | None = Field(default=None, description="volume on that day, if it was measured")
    water_kg: NotNegative = Field(default=0.0, description="water added while building")
    emptied: Day | None = Field(default=None, description="day it was taken out; empty while it stands")
    compost_kg: NotNegative | None = Field(default=None, description="weight taken out, as it was")
    photo: Photo = ""
    by: By = ""
    note: str = ""


class BatchPart(Record):
    """How much of one material went into a heap that was built."""

    batch: Id = Field(description="id of batches.csv")
    material: Id = Field(description="id of materials.csv")
    kg: Positive = Field(description="as received")


class Application(Record):
    """Something spread on a bed or worked into it: a material, compost made here, or castings."""

    bed: Id = Field(description="id of beds.csv")
    on: Day = Field(description="day it was spread")
    material: Id | None = Field(default=None, description="id of materials.csv; this, batch or worm_bed")
    batch: Id | None = Field(default=None, description="id of batches.csv, for compost made here")
    worm_bed: Id | None = Field(default=None, description="id of worm_beds.csv, for its castings")
    kg: Positive = Field(description="as it was spread")
    use: Literal["mulch", "dig_in"] = Field(description="left on top, or worked in")
    depth_m: Positive | None = Field(default=None, description="thickness of the layer as it was laid")
    photo: Photo = ""
    by: By = ""
    note: str = ""


class Turning(Record):
    """A heap mixed."""

    batch: Id = Field(description="id of batches.csv")
    on: Day = Field(description="day it was turned")
    by: By = ""
    note: str = ""


class Watering(Record):
    """Water given to a heap, a bed or a worm bed."""

    on: Day = Field(description="day of watering")
    batch: Id | None = Field(default=None, description="id of batches.csv; this, bed or worm_bed")
    bed: Id | None = Field(default=None, description="id of beds.csv")
    worm_bed: Id | None = Field(default=None, description="id of worm_beds.csv")
    kg: Positive = Field(description="water; one litre weighs one kilogram")
    by: By = ""
    note: str = ""


class Reading(Record):
    """What thermometer, hand and nose said at a heap."""

    batch: Id = Field(description="id of batches.csv")
    on: Day = Field(description="day of the reading")
    depth_m: Annotated[float, Field(ge=0, le=DEPTH_MOST_M)] | None = Field(
        default=None, description="below the surface; the middle when left out"
    )
    temp_c: Annotated[float, Field(ge=TEMP_LOW_C, le=TEMP_HIGH_C)] | None = Field(
        default=None, description="thermometer"
    )
    feel: Feel | None = Field(default=None, description="a handful squeezed: dry crumbles, moist holds, wet drips")
    moisture_frac: Share | None = Field(default=None, description="water of the wet mass, if a sample was dried")
    smell: Smell | None = Field(default=None, description="what it smells of")
    photo: Photo = ""
    by: By = ""
    note: str = ""


class Feeding(Record):
    """Food given to a worm bed."""

    worm_bed: Id = Field(description="id of worm_beds.csv")
    material: Id = Field(description="id of materials.csv")
    on: Day = Field(description="day of feeding")
    kg: Positive = Field(description="as received")
    by: By = ""
    note: str = ""


class Harvest(Record):
    """What was picked from a bed."""

    bed: Id = Field(description="id of beds.csv")
    crop: Name = Field(description="slug of crops.csv")
    on: Day = Field(description="day of picking")
    kg: Positive = Field(description="fresh, as picked")
    by: By = ""
    note: str = ""


class Price(Record):
    """What something cost or would have cost on a day."""

    item: Name = Field(description="slug of crops.csv or id of materials.csv")
    on: Day = Field(description="day it was seen")
    price_per_kg: NotNegative = Field(description="in the garden's currency")
    seen_at: str = Field(default="", description="shop, market or list")
    note: str = ""


DONE: dict[str, tuple[str, type[Record]]] = {
    "loads": ("loads.csv", Load),
    "batches": ("batches.csv", Batch),
    "batch_parts": ("batch_parts.csv", BatchPart),
    "applications": ("applications.csv", Application),
    "turnings": ("turnings.csv", Turning),
    "waterings": ("waterings.csv", Watering),
    "readings": ("readings.csv", Reading),
    "feedings": ("feedings.csv", Feeding),
    "harvests": ("harvests.csv", Harvest),
    "prices": ("prices.csv", Price),
}
"""Part of the garden, the file that holds it, and the record each row is."""
