"""Rules of the trade that must come out of the bed model; none is coded in.

6. Fresh grounds dug in draw nitrogen down first and release it later; the same grounds composted do not.
7. A thin surface layer changes the pH of the root zone by less than 0.1 in a buffered loam.

Each is shown on both sides, and again with the responsible physics switched off: the rule must then disappear. Run
``python validation/check_bed_rules.py`` for the table.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cache

import numpy as np
import pytest

from loamery.bed.day import Switches
from loamery.bed.matter import Matter, matter_of, matter_of_stuff
from loamery.bed.parameters import Parameters, bed_parameters
from loamery.bed.place import place_of
from loamery.bed.record import BedRun
from loamery.bed.simulate import Portion, simulate_bed
from loamery.bed.soil import soil_test
from loamery.bed.weather import normal_weather
from loamery.garden.model import Bed, Material, SoilValue
from loamery.lab.combine import compose
from loamery.season.stuff import compost_stuff, raw_stuff

pytestmark = pytest.mark.usefixtures("table")

DRAWS, GIVEN = 200, 5
TEMPS = (-4.0, -3.0, 2.0, 8.0, 14.0, 18.0, 21.0, 20.0, 16.0, 10.0, 4.0, -1.0)
NO_DEMAND, NO_BUFFER = Switches(demand=False), Switches(buffer=False)


@cache
def numbers() -> Parameters:
    return bed_parameters(DRAWS)


@cache
def matter(what: str) -> Matter:
    grounds = compose("coffee-spent", ())
    if what == "grounds":
        return matter_of(grounds, numbers())
    stuff = raw_stuff(Material(id="grounds", name="grounds", kind="coffee-spent"), grounds)
    return matter_of_stuff(compost_stuff("c", "composted grounds", [(stuff, 1.0)])[0], numbers())


@cache
def run(what: str, kg: float, surface: bool, texture: str, matter_pct: float, physics: Switches) -> BedRun:
    """Return a season of a bed that gets something in its sixth week."""
    bed = Bed.model_validate({"id": "b", "name": "b", "area_m2": 1.0, "texture": texture})
    typed = [SoilValue(bed="b", quantity="organic_matter", value=matter_pct, unit="%")]
    doses = np.zeros((1, 32))
    doses[0, GIVEN] = kg
    weather = normal_weather(TEMPS, (60.0,) * 12, date(2027, 4, 1), 32 * 7, DRAWS)
    place = place_of(bed, soil_test("b", typed, []))
    return simulate_bed([Portion(matter(what), surface)], doses, place, weather, None, numbers(), physics=physics)


ON = Switches()


def course(one: BedRun) -> np.ndarray:
    """Return nitrogen given since the dose, median, g per m2."""
    return np.asarray(np.median(np.cumsum(one.net_n[:, 0, 0], axis=0), axis=-1) * 1000.0)


def lowest(one: BedRun) -> float:
    """Return the deepest drawdown, g N per m2."""
    return float(course(one).min())


def later(one: BedRun) -> float:
    """Return what comes back after the lowest point, g N per m2."""
    whole = course(one)
    return float(whole[-1] - whole.min())


def share_drawing(one: BedRun) -> float:
    """Return the share of draws that draw more than 0.2 g N per m2 down."""
    return float(np.mean(np.cumsum(one.net_n[:, 0, 0], axis=0).min(axis=0) < -0.2e-3))


def _changes(one: BedRun) -> np.ndarray:
    return np.asarray(np.abs(one.stock["ph"][:, 0] - _ALONE[id(one)][:, 0]).max(axis=0))


def moved(one: BedRun) -> float:
    """Return the largest change of pH, 95th percentile of the draws, against the same soil with nothing given."""
    return float(np.quantile(_changes(one), 0.95))


def small(one: BedRun) -> float:
    """Return the share of draws in which pH never moves by 0.1."""
    return float(np.mean(_changes(one) < 0.1))


_ALONE: dict[int, np.ndarray] = {}


def ph_case(kg: float, surface: bool, texture: str, matter_pct: float, physics: Switches) -> BedRun:
    """Return a run whose bare twin is kept beside it."""
    one = run("grounds", kg, surface, texture, matter_pct, physics)
    _ALONE[id(one)] = run("grounds", 0.0, surface, texture, matter_pct, physics).stock["ph"]
    return one


@dataclass(frozen=True)
class Case:
    """One side of one rule."""

    rule: str
    case: str
    make: Callable[[], BedRun]
    figure: Callable[[BedRun], float]
    unit: str
    low: float
    high: float


THIN, MOST, MUCH = 4.5, 6.0, 60.0
"""Grounds as received, kg per m2: 1 cm; 1.3 cm, the most anybody should lay; and ten times that, dug in."""
CASES = (
    Case("6 fresh, dug in", "4 kg/m2 grounds", lambda: run("grounds", 4.0, False, "loam", 3.5, ON), lowest, "g N/m2 lowest", -10, -0.5),
    Case("6 fresh, dug in", "4 kg/m2 grounds", lambda: run("grounds", 4.0, False, "loam", 3.5, ON), share_drawing, "share of draws drawing down", 0.8, 1.0),
    Case("6 released later", "4 kg/m2 grounds", lambda: run("grounds", 4.0, False, "loam", 3.5, ON), later, "g N/m2 come back", 0.5, 20),
    Case("6 composted", "4 kg/m2 composted", lambda: run("compost", 4.0, False, "loam", 3.5, ON), lowest, "g N/m2 lowest", -0.05, 0.0),
    Case("6 without demand", "4 kg/m2 grounds, no demand", lambda: run("grounds", 4.0, False, "loam", 3.5, NO_DEMAND), lowest, "g N/m2 lowest", 0.0, 0.0),
    Case("7 thin layer, loam", "1 cm on top, loam", lambda: ph_case(THIN, True, "loam", 3.5, ON), moved, "pH moved (95 % of draws)", 0.0, 0.1),
    Case("7 thin layer, loam", "1.3 cm on top, loam", lambda: ph_case(MOST, True, "loam", 3.5, ON), small, "share of draws below 0.1", 0.8, 1.0),
    Case("7 much, sand", "60 kg/m2 dug in, sand", lambda: ph_case(MUCH, False, "sand", 0.8, ON), moved, "pH moved (95 % of draws)", 0.1, 5.0),
    Case("7 much, sand", "60 kg/m2 dug in, sand", lambda: ph_case(MUCH, False, "sand", 0.8, ON), small, "share of draws below 0.1", 0.0, 0.5),
    Case("7 without buffer", "1 cm on top, no buffer", lambda: ph_case(THIN, True, "loam", 3.5, NO_BUFFER), small, "share of draws below 0.1", 0.0, 0.3),
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda one: f"{one.rule}: {one.case}: {one.unit}")
def test_rule(case: Case) -> None:
    assert case.low <= case.figure(case.make()) <= case.high


def main() -> None:
    """Print the rules with our figures."""
    print(f"{'rule':22s}{'case':30s}{'ours':>8s}  {'band':>15s}")
    for one in CASES:
        ours = one.figure(one.make())
        mark = "ok" if one.low <= ours <= one.high else "MISSED"
        print(f"{one.rule:22s}{one.case:30s}{ours:8.2f}  {one.low:6.2f} - {one.high:6.2f}  {one.unit:28s} {mark}")


if __name__ == "__main__":
    main()
