"""A season plan beside HiGHS alone on the same matrices: ``python -m benchmarks``.

The garden is the invented demo, with beds and materials added until there are twelve of each; then with its beds copied. HiGHS alone
is the time spent inside HiGHS in the same call, so the ratio says what everything else costs: blending recipes, building the matrix, reading the
answer and its bands. Reports are read before the clock starts.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from benchmarks.peer import highs_alone
from loamery.garden import read_garden, write_demo
from loamery.garden.model import Garden, Material, Supply
from loamery.season.calendar import calendar_of
from loamery.season.make import solve_prepared
from loamery.season.prepare import prepare
from loamery.season.recipes import make_recipes
from loamery.season.stuff import raw_stuff

BEDS, MATERIALS, SCENARIOS = 12, 12, 50
GROWTH = (12, 48, 192)
GROWTH_SCENARIOS = 8


def sized(garden: Garden, beds: int) -> Garden:
    """Return the demo garden with so many beds and at least twelve materials; supplies grow with the beds."""
    straw = Material(id="straw", name="Wheat straw (invented)", kind="straw-wheat", uses=("mulch", "heap"))
    first = garden.supplies[0]
    bale = Supply(donor=first.donor, material="straw", kg_per_week=20, first=first.first, last=first.last)
    more = len(garden.materials) < MATERIALS
    named = [(f"{garden.beds[k % len(garden.beds)].id}-{k}", garden.beds[k % len(garden.beds)]) for k in range(beds)]
    plantings = [
        one.model_copy(update={"bed": name}) for name, bed in named for one in garden.plantings if one.bed == bed.id
    ]
    soil = [
        one.model_copy(update={"bed": name}) for name, bed in named for one in garden.soil_values if one.bed == bed.id
    ]
    scale = beds / len(garden.beds)
    supplies = [*garden.supplies, *([bale] if more else [])]
    return garden.model_copy(
        update={
            "beds": tuple(bed.model_copy(update={"id": name}) for name, bed in named),
            "plantings": tuple(plantings),
            "soil_values": tuple(soil),
            "reports": tuple(one for one in garden.reports if one.bed is None),
            "materials": (*garden.materials, *([straw] if more else [])),
            "supplies": tuple(s.model_copy(update={"kg_per_week": s.kg_per_week * scale}) for s in supplies),
            "info": garden.info.model_copy(update={"hours_per_week": None}),
        }
    )


def measure(garden: Garden, scenarios: int, time_limit_s: float, *, blend: bool) -> str:
    """Return a line of the table: seconds, those inside HiGHS, their ratio, and how well the plan is proven."""
    prepared = prepare(garden)
    recipes = None
    if not blend:
        raw = [raw_stuff(one, prepared.compositions[one.id]) for one in garden.materials]
        recipes, _ = make_recipes(garden, calendar_of(garden), raw, prepared.compositions)
    with highs_alone() as clock:
        started = time.perf_counter()
        found = solve_prepared(prepared, recipes=recipes, scenarios=scenarios, time_limit_s=time_limit_s)
        seconds = time.perf_counter() - started
    counts = f"{len(garden.beds):>6}{len(garden.materials):>11}{garden.info.season_weeks:>7}{scenarios:>11}"
    gap = found.solution.gap / max(found.solution.objective, 1e-9)
    return (
        f"{counts}{seconds:>9.1f}{clock.seconds:>9.1f}{seconds / clock.seconds:>8.2f}{gap:>9.2%}  {found.plan.status}"
    )


def main(sizes: tuple[int, ...] = GROWTH) -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        garden = read_garden(write_demo(Path(folder) / "garden"))
        solve_prepared(prepare(garden), scenarios=1)  # loads the libraries
        print(
            f"{'beds':>6}{'materials':>11}{'weeks':>7}{'scenarios':>11}{'plan s':>9}{'HiGHS s':>9}{'ratio':>8}{'gap':>9}"
        )
        print(measure(sized(garden, BEDS), SCENARIOS, 600.0, blend=True), "(recipes blended too)", flush=True)
        print(measure(sized(garden, BEDS), SCENARIOS, 600.0, blend=False), flush=True)
        for beds in sizes:
            print(measure(sized(garden, beds), GROWTH_SCENARIOS, 300.0, blend=False), flush=True)


if __name__ == "__main__":
    main(tuple(int(one) for one in sys.argv[1:]) or GROWTH)
