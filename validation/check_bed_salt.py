"""Salt washed out of a soil against published leaching rules and columns, and what its minerals keep in solution.

Rules of the reclamation of saline soils give the share of salt left after a depth of water has drained through a depth of soil: Reeve,
Pillsbury and Wilcox 1955 (half, a fifth and a tenth left after a half, one and two depths) and Hoffman 1980 (k over the ratio of depths; k 0.1
for sandy loam, 0.3 for clay under ponded water, 0.1 for any soil under water that comes in doses); both recalled. Columns of three saline
soils are from an abstract (read; 2.5 pore volumes bring a sandy clay loam from 33.9 to 5.9 dS/m); the leaching efficiency of Nile clay from an encyclopaedia (read). Run
``python -m validation.check_bed_salt`` for the table.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loamery.bed.kernels import usual_place
from loamery.bed.parameters import Parameters, bed_parameters
from loamery.bed.salt import calcite_calcium, own_conductivity, salt_day
from loamery.bed.simulate import WEEK, simulate_bed
from loamery.bed.weather import BedWeather
from loamery.reference import coefficient
from validation.printed import Row, print_rows

pytestmark = pytest.mark.usefixtures("table")

SOIL_MM, FIELD_CAPACITY = 1000.0, 0.3
POROSITY = 0.45
PONDED_DAYS, DOSED_DAYS = 10, 120
"""Days in which a depth of water equal to that of the soil goes through it: under a pond, and in weekly doses."""


def left(ratio: float, *, dosed: bool, numbers: Parameters | None = None) -> float:
    """Return the share of salt left when water of `ratio` times the soil's depth has drained through a metre of it."""
    numbers = numbers or bed_parameters(1)
    days = max(round(ratio * (DOSED_DAYS if dosed else PONDED_DAYS)), 1)
    wet = [day for day in range(days) if not dosed or day % WEEK == 0]
    salts, still = np.ones(1), 1.0 - numbers["bed_salt_mobile"]
    for day in range(days):
        drained = ratio * SOIL_MM / len(wet) if day in wet else 0.0
        one = salt_day(salts, still, drained, FIELD_CAPACITY * SOIL_MM, 0.0, numbers)
        salts, still = one.salts, one.still
    return float(salts[0])


def ends(ratio: float) -> tuple[float, float]:
    """Return the least and the most that is left over the 90 % ranges of the two coefficients."""
    mobile, exchange = coefficient("bed_salt_mobile"), coefficient("bed_salt_exchange")
    all_of = [
        left(ratio, dosed=False, numbers=bed_parameters(1).with_values(bed_salt_mobile=[a], bed_salt_exchange=[b]))
        for a in (mobile.low, mobile.high)
        for b in (exchange.low, exchange.high)
    ]
    return min(all_of), max(all_of)


def rows() -> tuple[Row, ...]:
    removed = 100.0 * (1.0 - left(2.5 * POROSITY, dosed=False))
    calm, stirred = bed_parameters(1).with_values(bed_salt_base=[0.0]), bed_parameters(1)
    return (
        *(Row(f"Salt left after {ratio:g} depths of ponded water (Reeve)", f"{rule:g}", left(ratio, dosed=False), 0.5 * rule, 2.0 * rule, "recalled") for ratio, rule in ((0.5, 0.5), (1.0, 0.2), (2.0, 0.1))),
        *(Row(f"  the same, Hoffman's k from sandy loam to clay, {ratio:g} depths", f"{0.1 / ratio:g} to {0.3 / ratio:g}", left(ratio, dosed=False), 0.1 / ratio, 0.3 / ratio + 0.02, "recalled") for ratio in (0.5, 1.0, 2.0)),
        *(Row(f"Salt left after {ratio:g} depths in weekly doses (Hoffman, k 0.1)", f"{0.1 / ratio:g}", left(ratio, dosed=True), 0.05 / ratio, 0.15 / ratio, "recalled") for ratio in (0.25, 0.5, 1.0)),
        Row("Columns, 2.5 pore volumes: salt removed, %, clay loams", "83 and 94", removed, 65, 97, "read; porosity taken as 0.45"),
        Row("Columns, 2.0 pore volumes: salt removed, %, loamy sand", "67", 100.0 * (1.0 - left(2.0 * POROSITY, dosed=False)), 55, 90, "read; porosity taken as 0.45"),
        Row("Leaching efficiency of a clay soil fitted in the field", "0.7 to 0.8", efficiency(), 0.5, 0.9, "read"),
        Row("Calcium over calcite in open air (10^-3.5 CO2), mmol/L", "0.4 to 0.5", 1000.0 * float(calcite_calcium(10.0**-3.5)), 0.4, 0.55, "recalled"),
        Row("  at 1 % carbon dioxide, mmol/L", "1.4 to 1.7", 1000.0 * float(calcite_calcium(0.01)), 1.3, 1.75, "recalled"),
        Row("Paste of a washed calcareous soil, dS/m", "0.2 to 0.6", 10.0 * float(own_conductivity(8.0, stirred)[0]), 0.2, 0.6, "common practice, no source"),
        Row("  its bicarbonate alone", "-", 10.0 * float(own_conductivity(8.0, calm)[0]), 0.1, 0.35, "computed"),
        Row("Paste of a washed soil of pH 6, dS/m", "0.1 to 0.4", 10.0 * float(own_conductivity(6.0, stirred)[0]), 0.1, 0.4, "common practice, no source"),
    )  # fmt: skip


def efficiency() -> float:
    """Return the leaching efficiency, -ln(left) times water held over water drained, of one depth of water in doses."""
    return -float(np.log(left(1.0, dosed=True))) * FIELD_CAPACITY


@pytest.mark.parametrize("index", range(len(rows())), ids=lambda i: rows()[i].what.strip())
def test_a_published_figure(index: int) -> None:
    row = rows()[index]
    assert row.low <= row.ours <= row.high, f"{row.what}: {row.ours:.3g}, printed {row.printed}"


def test_the_rules_lie_within_the_range_of_the_coefficients() -> None:
    for ratio, rule in ((0.5, 0.5), (1.0, 0.2), (2.0, 0.1)):
        low, high = ends(ratio)
        assert low <= rule <= high


def test_doses_carry_off_more_than_a_pond() -> None:
    """Nielsen and Biggar, Hoffman: water that rests between doses is the more thrifty one."""
    assert left(1.0, dosed=True) < 0.5 * left(1.0, dosed=False)


def test_a_rainy_year_washes_a_bed_down_to_its_own_salt_and_no_further() -> None:
    """2 m of rain on a loam of 4 dS/m; salts that were there, dissolved and left are accounted for."""
    days = 52 * WEEK
    rain, still = np.zeros((days, 1)), np.zeros((days, 1))
    rain[::3] = 16.0
    salty = replace(usual_place(), ec_si=np.array([[0.4]]))
    run = simulate_bed((), (), salty, BedWeather(still + 15.0, rain, still), None, bed_parameters(1), watered=False)
    own = float(own_conductivity(salty.ph, bed_parameters(1))[0, 0])
    assert float(run.stock["ec_si"][-1, 0, 0]) == pytest.approx(own, rel=0.02)
    assert float(run.flow["salts_dissolved"].sum()) > 0.0
    assert np.abs(run.salt_gap()).max() < 1e-12


def main() -> None:
    """Print the published figures beside ours."""
    print_rows("Salt", rows())


if __name__ == "__main__":
    main()
