"""The tables of a garden: one for each file of the garden folder, column for column, and the history of changes."""

from loamery.garden.model import Garden as Snapshot
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
    Fertiliser,
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
from loamery.web.records.models.trial import Trial, TrialReading

KINDS: dict[str, type[Entry]] = {
    "donors": Donor,
    "materials": Material,
    "supplies": Supply,
    "goods": Good,
    "fertilisers": Fertiliser,
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
    "trials": Trial,
    "trial_readings": TrialReading,
}
"""Kind of record to its table; what is pointed at stands before what points at it."""
PARTS = tuple(kind for kind in KINDS if kind in Snapshot.model_fields)
"""Kinds that are parts of `loamery.garden.Garden`; trials stand beside it, in files of their own."""

__all__ = ["KINDS", "PARTS", "Attachment", "Change", "Entry", "Garden"]
