"""The climate account: adds up, is honest about what avoids nothing, and its bands move with what is assumed."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.benefit.account import Setting, Used, gases, sources_used, together
from loamery.reference import coefficient

SETTING = Setting("boreal_temperate_wet", draws=2000)


def used(kind: str, use: str = "heap", kg: float = 100.0, n_kg: float = 0.8) -> Used:
    return Used("who", "what", kind, use, kg, np.full(2000, n_kg))  # type: ignore[arg-type]


def test_manure_avoids_nothing_and_composting_still_costs():
    gas = gases(used("manure-horse"), SETTING)
    assert (gas.methane_kg == 0).all() and (gas.made_kg > 0).all() and (gas.net_kg < 0).all()


def test_food_in_a_heap_by_hand_at_the_middle_of_every_range():
    """100 kg: landfill 100 x 0.15 x 0.7 x 0.5 x 16/12 = 7 kg CH4, less capture and oxidation; compost 0.4 kg CH4 and 24 g N2O."""
    gas = gases(used("food-scraps"), Setting("boreal_temperate_wet", captured=0.0, draws=2000))
    whole = 100 * 0.15 * 0.7 * 0.5 * 16 / 12
    assert 0.6 * whole < np.median(gas.methane_kg) < whole
    assert np.median(gas.made_kg) == pytest.approx(0.4 * 27 + 0.024 * 273, rel=0.15)


def test_what_would_not_have_gone_to_landfill_avoids_less():
    half = gases(used("food-scraps"), Setting("boreal_temperate_wet", landfilled=0.5, draws=2000))
    assert half.avoided_kg == pytest.approx(0.5 * gases(used("food-scraps"), SETTING).avoided_kg)
    assert half.made_kg == pytest.approx(gases(used("food-scraps"), SETTING).made_kg)


def test_caught_gas_avoids_less():
    caught = gases(used("food-scraps"), Setting("boreal_temperate_wet", captured=0.75, draws=2000))
    free = gases(used("food-scraps"), Setting("boreal_temperate_wet", captured=0.0, draws=2000))
    assert caught.methane_kg == pytest.approx(0.25 * free.methane_kg)


def test_mulch_gives_off_by_its_nitrogen_only():
    none = gases(used("leaves-mixed", "mulch", n_kg=0.0), SETTING)
    some = gases(used("leaves-mixed", "mulch", n_kg=1.0), SETTING)
    assert (none.made_kg == 0).all() and np.median(some.made_kg) == pytest.approx(0.0115 * 44 / 28 * 273, rel=0.35)


def test_lots_add_up_draw_by_draw():
    lots = [used("food-scraps"), used("chips-arborist", "mulch"), used("manure-horse")]
    assert together(lots, SETTING).net_kg == pytest.approx(sum(gases(one, SETTING).net_kg for one in lots))


@pytest.mark.parametrize("key", ["compost_ch4", "landfill_capture", "landfill_docf_food", "landfill_oxidation"])
def test_draws_keep_the_ends_and_lean_to_the_value(key: str):
    one, draws = coefficient(key), SETTING.draw(key)
    assert one.low <= draws.min() and draws.max() <= one.high
    assert draws.mean() == pytest.approx((one.low + one.value + one.high) / 3, rel=0.05)
    assert (draws == Setting("tropical_wet", draws=2000).draw(key)).all()


def truth_of(lots: list[Used], draw: np.random.Generator, zone: str) -> float:
    """Return what a garden saves when every coefficient is known, summed year by year as the IPCC's spreadsheet does."""
    known: dict[str, float] = {}

    def real(key: str) -> float:
        one = coefficient(key)
        fixed = one.low == one.high
        return known.setdefault(key, one.value if fixed else float(draw.triangular(one.low, one.value, one.high)))

    saved = 0.0
    for lot in lots:
        group = {"food-scraps": "food", "leaves-mixed": "garden", "chips-arborist": "wood", "cardboard": "paper"}[
            lot.kind
        ]
        left = (
            lot.kg
            * real({"food": "doc_food", "garden": "doc_garden", "wood": "doc_wood_straw", "paper": "doc_paper"}[group])
            * real(f"landfill_docf_{group}")
        )
        methane, keep = 0.0, np.exp(-real(f"landfill_k_{group}_{zone}"))
        for _ in range(100):
            methane += left * (1 - keep) * real("methane_fraction") * 16 / 12
            left *= keep
        saved += 27 * methane * (1 - real("landfill_capture")) * (1 - real("landfill_oxidation"))
        if lot.use == "heap":
            saved -= lot.kg / 1000 * (27 * real("compost_ch4") + 273 * real("compost_n2o"))
        else:
            saved -= 273 * 44 / 28 * float(lot.n_kg[0]) * real("soil_n2o_share")
    return saved


def test_bands_hold_the_truth_of_500_gardens_in_nine_of_ten():
    """Gardens of random lots, each with coefficients of its own; the truth is summed independently: 85 to 95 %."""
    draw, held = np.random.default_rng(11), 0
    kinds, uses = ("food-scraps", "leaves-mixed", "chips-arborist", "cardboard"), ("heap", "mulch")
    for garden in range(500):
        zone = str(draw.choice(["boreal_temperate_wet", "boreal_temperate_dry", "tropical_wet"]))
        setting = Setting(zone, seed=garden, draws=200)  # type: ignore[arg-type]
        lots = []
        for _ in range(int(draw.integers(1, 4))):
            kg = float(draw.uniform(10, 500))
            lots.append(
                Used("who", "what", str(draw.choice(kinds)), str(draw.choice(uses)), kg, np.full(200, 0.006 * kg))
            )  # type: ignore[arg-type]
        low, high = np.quantile(together(lots, setting).net_kg, (0.05, 0.95))
        held += bool(low <= truth_of(lots, draw, zone) <= high)
    assert 0.85 <= held / 500 <= 0.95


def test_every_source_of_an_account_is_named():
    keys = sources_used([used("food-scraps")], SETTING)
    assert {"HH1", "IPCC06K", "IPCC19", "IPCC06T41"} <= set(keys)
