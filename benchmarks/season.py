"""A season plan beside HiGHS alone on the same matrices: ``python -m benchmarks``.

The demo garden (invented) is planned as it is, and with its beds and plantings copied two and four times.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from benchmarks.peer import highs_alone
from loamery.garden import read_garden, write_demo
from loamery.garden.model import Garden
from loamery.season.make import plan_prepared
from loamery.season.prepare import prepare


def copied(garden: Garden, times: int) -> Garden:
    """Return a garden with every bed and planting several times over, without the soil reports of the copies."""
    beds = [
        one.model_copy(update={"id": f"{one.id}-{k}" if k else one.id}) for k in range(times) for one in garden.beds
    ]
    plantings = [
        one.model_copy(update={"bed": f"{one.bed}-{k}" if k else one.bed})
        for k in range(times)
        for one in garden.plantings
    ]
    supplies = [one.model_copy(update={"kg_per_week": one.kg_per_week * times}) for one in garden.supplies]
    return garden.model_copy(update={"beds": tuple(beds), "plantings": tuple(plantings), "supplies": tuple(supplies)})


def main() -> None:
    """Print seconds, the share of HiGHS, and the ratio of the two."""
    with tempfile.TemporaryDirectory() as folder:
        garden = read_garden(write_demo(Path(folder) / "garden"))
        print(f"{'beds':>6}{'plan s':>9}{'HiGHS s':>9}{'calls':>7}{'plan / HiGHS':>14}")
        plan_prepared(prepare(garden))  # loads the libraries
        for times in (1, 2, 4):
            prepared = prepare(copied(garden, times))
            with highs_alone() as clock:
                started = time.perf_counter()
                plan = plan_prepared(prepared)
                seconds = time.perf_counter() - started
            figures = f"{len(plan.beds):>6}{seconds:>9.2f}{clock.seconds:>9.2f}{clock.calls:>7}"
            print(f"{figures}{seconds / clock.seconds:>14.2f}")


if __name__ == "__main__":
    main()
