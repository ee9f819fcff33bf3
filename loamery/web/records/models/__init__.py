"""The tables of a garden: one for each file of the garden folder, column for column, and the history of changes."""

from loamery.web.records.models.base import Entry, Garden
from loamery.web.records.models.done import (
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
from loamery.web.records.models.kept import Attachment, Change
from loamery.web.records.models.things import (
    Bed,
    Donor,
    Good,
    Heap,
    LabPrice,
    Material,
    Planting,
    Report,
    SoilValue,
    Store,
    Supply,
    WeatherDay,
    WormBed,
)

KINDS: dict[str, type[Entry]] = {
    "donors": Donor,
    "materials": Material,
    "supplies": Supply,
    "goods": Good,
    "stores": Store,
    "test_prices": LabPrice,
    "beds": Bed,
    "plantings": Planting,
    "soil_values": SoilValue,
    "heaps": Heap,
    "worm_beds": WormBed,
    "weather": WeatherDay,
    "reports": Report,
    "loads": Load,
    "batches": Batch,
    "batch_parts": BatchPart,
    "applications": Application,
    "turnings": Turning,
    "waterings": Watering,
    "readings": Reading,
    "feedings": Feeding,
    "harvests": Harvest,
    "prices": Price,
}
"""Part of the garden, as in `loamery.garden.Garden`, to its table; what is pointed at stands before what points at it."""

__all__ = ["KINDS", "Attachment", "Change", "Entry", "Garden"]
