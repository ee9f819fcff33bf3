"""Landfill methane and the cheapest mix of fertilisers against independent sums.

* IPCC 2006, volume 5, chapter 3: the spreadsheet's way, one year after the other (equations 3.2 and 3.4 to 3.6), worked here by itself,
  for one deposit and for deposits of ten years; and the differential equation behind it, integrated numerically.
* Yearly methane of 1 t of wet food waste at 0.185 a year: 8.445, 7.018, 5.833, 4.848, 4.029 kg, computed when the figures were collected.
* Decay rates: IPCC 2006 Table 3.3, read in a public copy of the table; 40 CFR 98 Table HH-1 (read) prints the ends 0.06 and 0.185 for food.
* Composting: IPCC Table 4.1 prints 0.3 g N2O per kg wet beside 0.6 per kg dry at 60 % moisture; 0.6 x 0.4 = 0.24 is used.
* Least cost: every corner of the feasible region tried one by one.
"""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest

from loamery.benefit.fertiliser import cheapest
from loamery.benefit.landfill import Waste, climate_zone, emitted, methane_by_year
from loamery.garden.model import Fertiliser
from loamery.reference import coefficient

FOOD = Waste(1000.0, 0.15, 0.5, 0.185)
YEARLY = (8.445, 7.018, 5.833, 4.848, 4.029)


def spreadsheet(deposits: list[float], doc: float, doc_f: float, mcf: float, f: float, k: float) -> list[float]:
    """Return the methane of each year as the IPCC's waste model does: what is laid down in a year starts to decay in the next."""
    heaped, out = 0.0, []
    for mass in deposits:
        decomposed = heaped * (1.0 - math.exp(-k))  # equation 3.5
        heaped = mass * doc * doc_f * mcf + heaped * math.exp(-k)  # equations 3.2 and 3.4
        out.append(decomposed * f * 16.0 / 12.0)  # equation 3.6
    return out


def test_yearly_methane_of_food_waste() -> None:
    assert methane_by_year(FOOD, 5) == pytest.approx(YEARLY, abs=0.0005)


def test_one_deposit_is_the_spreadsheets() -> None:
    theirs = spreadsheet([1000.0] + [0.0] * 30, 0.15, 0.5, 1.0, 0.5, 0.185)[1:]
    assert methane_by_year(FOOD, 30) == pytest.approx(theirs, rel=1e-12)


def test_ten_years_of_deposits_are_the_sum_of_ours() -> None:
    theirs = spreadsheet([1000.0] * 10 + [0.0] * 10, 0.15, 0.5, 1.0, 0.5, 0.185)
    one = np.concatenate([[0.0], methane_by_year(FOOD, 19)])
    ours = [sum(one[year - laid] for laid in range(10) if year >= laid) for year in range(20)]
    assert ours == pytest.approx(theirs, rel=1e-12)


def test_it_is_the_solution_of_first_order_decay() -> None:
    from scipy.integrate import solve_ivp

    k, start = 0.1, 1000.0 * 0.2 * 0.5
    done = solve_ivp(lambda _, left: -k * left, (0.0, 40.0), [start], t_eval=np.arange(41.0), rtol=1e-10, atol=1e-12)
    theirs = -np.diff(done.y[0]) * 0.5 * 16.0 / 12.0
    assert methane_by_year(Waste(1000.0, 0.2, 0.5, k), 40) == pytest.approx(theirs, rel=1e-6)


@pytest.mark.parametrize(
    ("doc", "doc_f", "k", "potential"), [(0.15, 0.5, 0.185, 50.0), (0.20, 0.5, 0.1, 66.7), (0.43, 0.1, 0.4, 28.7)]
)
def test_methane_potential(doc: float, doc_f: float, k: float, potential: float) -> None:
    """L0 = DOC DOCf MCF F 16/12: 50.0 kg a tonne of food and 66.7 of garden waste (computed when collected)."""
    assert methane_by_year(Waste(1000.0, doc, doc_f, k), 500).sum() == pytest.approx(potential, abs=0.05)


def test_capture_and_oxidation() -> None:
    assert emitted(np.array([50.0]), 0.5, 0.1) == pytest.approx([22.5])  # the collected table's half captured


TABLE_3_3 = {
    "boreal_temperate_dry": (0.06, 0.05, 0.04, 0.02), "boreal_temperate_wet": (0.185, 0.10, 0.06, 0.03),
    "tropical_dry": (0.085, 0.065, 0.045, 0.025), "tropical_wet": (0.40, 0.17, 0.07, 0.035),
}  # fmt: skip


@pytest.mark.parametrize("zone", TABLE_3_3)
def test_decay_rates_of_the_zone(zone: str) -> None:
    found = tuple(coefficient(f"landfill_k_{waste}_{zone}").value for waste in ("food", "garden", "paper", "wood"))
    assert found == TABLE_3_3[zone]


def test_composting_factor_follows_from_the_dry_one() -> None:
    assert coefficient("compost_n2o").value == pytest.approx(0.6 * (1.0 - 0.6))


@pytest.mark.parametrize(
    ("temp", "rain", "zone"),
    [
        (6.6, 75, "boreal_temperate_wet"), (12.0, 20, "boreal_temperate_dry"), (26.0, 40, "tropical_dry"), (26.0, 160, "tropical_wet"),
    ],
)  # fmt: skip
def test_climate_zones(temp: float, rain: float, zone: str) -> None:
    assert climate_zone([temp] * 12, [rain] * 12) == zone


SHOP = [
    Fertiliser(id="blood", name="Blood", n_percent=12, price_per_kg=5.4),
    Fertiliser(id="bone", name="Bone", n_percent=2, p2o5_percent=14, price_per_kg=4.2),
    Fertiliser(id="potash", name="Potash", k2o_percent=50, price_per_kg=3.9),
    Fertiliser(id="all", name="All", n_percent=8, p2o5_percent=4, k2o_percent=8, price_per_kg=3.1),
    Fertiliser(id="alfalfa", name="Alfalfa", n_percent=2.5, p2o5_percent=0.5, k2o_percent=2.5, price_per_kg=1.7),
]


def corners(need: np.ndarray) -> float:
    """Return the least cost over every corner: three of the eight bounds hold with equality at each."""
    table = np.vstack([np.array([one.shares for one in SHOP]).T, np.eye(len(SHOP))])
    right = np.concatenate([need, np.zeros(len(SHOP))])
    price, best = np.array([one.price_per_kg for one in SHOP]), np.inf
    for rows in combinations(range(len(right)), len(SHOP)):
        square = table[list(rows)]
        if abs(np.linalg.det(square)) < 1e-12:
            continue
        x = np.linalg.solve(square, right[list(rows)])
        if (table @ x >= right - 1e-9).all():
            best = min(best, float(price @ x))
    return best


@pytest.mark.parametrize("need", [(2.0, 0.4, 1.5), (0.1, 1.0, 0.1), (0.0, 0.0, 3.0), (5.0, 0.0, 0.0)])
def test_least_cost(need: tuple[float, float, float]) -> None:
    found = cheapest(dict(zip("NPK", need, strict=True)), SHOP)
    assert found.cost == pytest.approx(corners(np.array(need)), rel=1e-9)
    assert sum(found.worth[key] * much for key, much in zip("NPK", need, strict=True)) == pytest.approx(
        found.cost, rel=1e-9
    )  # duality


def main() -> None:
    """Print our figures beside the published ones."""
    print(f"{'kg CH4 of 1 t wet food waste':<34}{'collected':>12}{'ours':>12}{'spreadsheet':>14}")
    sheet = spreadsheet([1000.0] + [0.0] * 5, 0.15, 0.5, 1.0, 0.5, 0.185)[1:]
    for year, (theirs, ours, other) in enumerate(zip(YEARLY, methane_by_year(FOOD, 5), sheet, strict=True), start=1):
        print(f"{f'year {year}':<34}{theirs:>12.3f}{ours:>12.3f}{other:>14.3f}")
    ours = cheapest({"N": 2.0, "P": 0.4, "K": 1.5}, SHOP).cost
    print(f"{'least cost, all corners tried':<34}{corners(np.array([2.0, 0.4, 1.5])):>12.3f}{ours:>12.3f}")


if __name__ == "__main__":
    main()
