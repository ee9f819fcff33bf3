"""What crops need: removal, harvest index, the curve of uptake, the soil's own share."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from loamery.bed.demand import crop_demand, crop_name, soil_nitrogen, uptake_share
from loamery.errors import UnknownName
from loamery.garden.model import Planting
from loamery.reference import coefficient, table

CROPS = [row["slug"] for row in table("crops")]


def planting(crop: str, **more: object) -> Planting:
    return Planting(bed="b", crop=crop, planted=date(2027, 5, 1), harvested=date(2027, 9, 1), **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(("x", "u"), [(0.25, 0.044), (0.50, 0.379), (0.55, 0.504), (0.75, 0.890)])
def test_uptake_at_the_check_points_of_the_handbook_curve(x: float, u: float) -> None:
    # soil.md (collected figures): logistic with slope 10 and midpoint 0.55, normalised to 0 and 1
    assert float(uptake_share(x)) == pytest.approx(u, abs=1e-3)


def test_uptake_starts_at_nothing_ends_at_all_and_never_falls() -> None:
    share = uptake_share(np.linspace(-0.5, 1.5, 401))
    assert share[0] == pytest.approx(0.0, abs=1e-12)
    assert share[-1] == pytest.approx(1.0, abs=1e-12)
    assert np.all(np.diff(share) >= 0)
    assert float(uptake_share(-3.0)) == pytest.approx(0.0, abs=1e-12)
    assert float(uptake_share(9.0)) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("crop", CROPS)
def test_every_crop_has_a_sane_demand(crop: str) -> None:
    need = crop_demand(planting(crop))
    # garden crops take up 2 to 60 g N per m2 (common practice, no source), P a tenth of it, K about as much
    assert 0.2 < need.n_kg_m2 * 1e3 < 80
    assert 0.02 < need.p_kg_m2 * 1e3 < 12
    assert 0.1 < need.k_kg_m2 * 1e3 < 80
    assert need.yield_kg_m2 > 0
    assert set(need.figures) == {"yield", "removal_N", "removal_P", "removal_K", "n_harvest_index"}


def test_demand_by_hand_for_a_tomato() -> None:
    need = crop_demand(planting("tomato", yield_kg_m2=6.0))
    grams_per_kg = {key: need.figures[f"removal_{key}"].value for key in "NPK"}
    assert {need.figures[f"removal_{key}"].unit for key in "NPK"} == {"g/kg"}
    # USDA SR28, raw tomato: protein 0.88 % / 6.25 = 1.41 g N/kg, P 24 mg and K 237 mg in 100 g
    assert grams_per_kg["N"] == pytest.approx(1.41, rel=0.25)
    assert grams_per_kg["P"] == pytest.approx(0.24, rel=0.25)
    assert grams_per_kg["K"] == pytest.approx(2.37, rel=0.25)
    assert need.p_kg_m2 == pytest.approx(6.0 * grams_per_kg["P"] / 1000, rel=1e-12)
    assert need.k_kg_m2 == pytest.approx(6.0 * grams_per_kg["K"] / 1000, rel=1e-12)
    index = need.figures["n_harvest_index"].value
    assert 0 < index <= 1
    assert need.n_kg_m2 == pytest.approx(6.0 * grams_per_kg["N"] / 1000 / index, rel=1e-12)


def test_demand_grows_with_yield() -> None:
    one, two = (crop_demand(planting("kale", yield_kg_m2=amount)) for amount in (1.0, 2.0))
    assert (two.n_kg_m2, two.p_kg_m2, two.k_kg_m2) == pytest.approx((2 * one.n_kg_m2, 2 * one.p_kg_m2, 2 * one.k_kg_m2))


def test_a_legume_asks_only_for_what_it_does_not_fix() -> None:
    need = crop_demand(planting("pea-green", yield_kg_m2=1.0))
    assert need.legume
    asked = 1.0 - coefficient("legume_n_fixed_share").value
    taken = need.figures["removal_N"].value / 1000 / need.figures["n_harvest_index"].value
    assert need.n_kg_m2 == pytest.approx(taken * asked, rel=1e-12)
    assert not crop_demand(planting("kale")).legume


def test_legumes_of_the_table_are_those_of_botany() -> None:
    legumes = {row["latin"].split()[0] for row in table("crops") if row["legume"] == "1"}
    assert legumes <= {"Phaseolus", "Pisum", "Vicia", "Glycine", "Vigna", "Cicer", "Lens"}
    assert {"Phaseolus", "Pisum"} <= legumes


def test_names_in_words() -> None:
    assert crop_name("pepper-sweet") == "Sweet pepper"


def test_an_unknown_crop_is_told() -> None:
    with pytest.raises(UnknownName):
        crop_demand(planting("dandelion-unknown"))


def test_soil_nitrogen_follows_organic_matter() -> None:
    # 10 lb N per acre for each per cent organic matter: 1.12 g/m2 (0.45359237 kg / 4046.8564224 m2)
    assert soil_nitrogen(0.04) * 1e3 == pytest.approx(4 * 10 * 453.59237 / 4046.8564224, rel=0.01)
    assert soil_nitrogen(0.0) == 0.0
