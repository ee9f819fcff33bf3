"""Make the data folder of the browser tests: the demo garden with its plan, and a small garden to do the whole job in.

Run as a program of its own, so that the pages are served from a database that no other test touches.
"""

from __future__ import annotations

import sys
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

START = date(2027, 4, 5)
PATCH: dict[str, Any] = {
    "info": {"name": "Patch (invented)", "invented": True, "jurisdiction": "ca-a", "season_start": "2027-04-05",
             "season_weeks": 10, "draws": 200},
    "climate": {"mean_temp_c": [2.0, 3.0, 6.0, 10.0, 14.0, 17.0, 20.0, 20.0, 16.0, 11.0, 6.0, 3.0], "rain_mm": [50.0] * 12},
    "donors": [{"id": "cafe", "name": "Café (invented)"}, {"id": "crew", "name": "Tree crew (invented)"}],
    "materials": [
        {"id": "grounds", "name": "Spent grounds", "kind": "coffee-spent"},
        {"id": "chips", "name": "Chips", "kind": "chips-arborist"},
    ],
    "supplies": [
        {"donor": "cafe", "material": "grounds", "kg_per_week": 12, "first": "2027-04-05", "last": "2027-06-13"},
        {"donor": "crew", "material": "chips", "kg_per_week": 30, "first": "2027-04-05", "last": "2027-06-13"},
    ],
    "beds": [{"id": "north", "name": "North bed", "area_m2": 8}],
    "plantings": [{"bed": "north", "crop": "lettuce-leaf", "planted": "2027-04-05", "harvested": "2027-06-10"}],
    "heaps": [{"id": "bin", "name": "Bin", "capacity_m3": 0.6}],
    "worm_beds": [{"id": "box", "name": "Box", "area_m2": 0.5}],
    "batches": [{"id": "spring", "heap": "bin", "built": "2027-04-05"}],
}  # fmt: skip


def main(data: Path) -> None:
    """Fill the data folder."""
    from loamery.web.serving import Served, prepare

    prepare(Served(data))
    from loamery.garden import Garden as Snapshot
    from loamery.garden import write_garden
    from loamery.web.pages import foresee, work
    from loamery.web.people.alone import own_person
    from loamery.web.records.exchange import take_in
    from loamery.web.records.models import Garden

    with tempfile.TemporaryDirectory() as place:
        folder = write_garden(Snapshot.model_validate(PATCH), Path(place) / "garden")
        patch = take_in(folder, own_person(), slug="patch")
    patch.today_is = date(2027, 4, 14)
    patch.save(update_fields=["today_is"])
    foresee.DRAWS, foresee.MOST_READINGS = 3, 4  # bands are not looked at here
    demo = Garden.objects.get(slug="fernmoor")
    work.run(demo)
    told = work.state(demo)
    assert told is not None and told.get("done"), told


if __name__ == "__main__":
    main(Path(sys.argv[1]))
