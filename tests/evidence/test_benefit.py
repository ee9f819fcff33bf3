"""Benefit from records: masses shared rightly, no claim without its assumption, sheets that say it."""

from __future__ import annotations

import re
from datetime import date
from html import unescape
from pathlib import Path

import numpy as np
import pytest

from loamery.bed.soil import SoilTest
from loamery.benefit.account import Setting
from loamery.evidence.benefit_account import gather, moved_by_records
from loamery.evidence.benefit_claims import Account, Claim, claims_of
from loamery.evidence.benefit_sheet import benefit_page, thanks_page, write_benefit
from loamery.finding import Band
from loamery.garden.model import Bed, Climate, Donor, Fertiliser, Garden, Info, Material
from loamery.garden.records import Application, Batch, BatchPart, Feeding, Load
from loamery.lab.combine import compose

DAY = date(2027, 5, 3)
SHOP = (
    Fertiliser(id="blood", name="Blood meal", n_percent=12, price_per_kg=5.4),
    Fertiliser(id="bone", name="Bone meal", n_percent=2, p2o5_percent=14, price_per_kg=4.2),
    Fertiliser(id="potash", name="Potash", k2o_percent=50, price_per_kg=3.9),
)


def load(number: int, donor: str, material: str, kg: float, price: float = 0.0) -> Load:
    return Load(id=f"load-{number}", donor=donor, material=material, on=DAY, kg=kg, price_per_kg=price)


def garden(**more: object) -> Garden:
    info = Info(name="Test (invented)", jurisdiction="ca-a", season_start=DAY, draws=300, invented=True)
    kinds = {
        "grounds": "coffee-spent",
        "leaves": "leaves-mixed",
        "manure": "manure-horse",
        "compost": "compost-finished",
    }
    parts: dict[str, object] = {
        "loads": (load(1, "cafe", "grounds", 60), load(2, "grocer", "grounds", 20), load(3, "depot", "leaves", 100), load(4, "stable", "manure", 50), load(5, "depot", "compost", 40, 0.1)),
        "batches": (Batch(id="b", heap="h", built=DAY),),
        "batch_parts": (BatchPart(batch="b", material="leaves", kg=100), BatchPart(batch="b", material="manure", kg=50)),
        "applications": (Application(bed="bed", on=DAY, material="grounds", kg=40, use="mulch"), Application(bed="bed", on=DAY, material="compost", kg=40, use="dig_in")),
        "feedings": (Feeding(worm_bed="w", material="grounds", on=DAY, kg=8),),
    }  # fmt: skip
    return Garden(
        info=info, climate=Climate(mean_temp_c=(8.0,) * 12, rain_mm=(80.0,) * 12), beds=(Bed(id="bed", name="Bed", area_m2=10),),
        donors=tuple(Donor(id=one, name=one.title(), distance_km=2) for one in ("cafe", "grocer", "depot", "stable")),
        materials=tuple(Material(id=key, name=key.title(), kind=kind) for key, kind in kinds.items()), **(parts | more),
    )  # fmt: skip


def account(shop: tuple[Fertiliser, ...] = SHOP, **more: object) -> Account:
    made = garden(**more)
    moved = moved_by_records(made)
    assert moved is not None
    compositions = {one.id: compose(one.kind, (), material=one.id, n=300, seed=1) for one in made.materials}
    return Account(
        made,
        gather(made, compositions, {"bed": SoilTest("bed", {})}, moved),
        Setting("boreal_temperate_wet", draws=300),
        shop,
    )


def test_uses_are_shared_by_what_each_gave():
    found = {(one.donor, one.use): one.kg for one in account().gathered.lots if one.material == "grounds"}
    assert found == pytest.approx(
        {("cafe", "mulch"): 30, ("cafe", "worm_bed"): 6, ("grocer", "mulch"): 10, ("grocer", "worm_bed"): 2}
    )


def test_what_was_bought_is_not_free():
    made = account()
    assert made.gathered.collected_kg() == 230 and all(one.material != "compost" for one in made.gathered.lots)
    assert "4\u00a0CAD was paid" in next(one for one in claims_of(made) if one.key == "money").rests_on


def test_more_used_than_taken_counts_what_was_taken():
    made = account(applications=(Application(bed="bed", on=DAY, material="grounds", kg=400, use="mulch"),))
    assert sum(one.kg for one in made.gathered.lots if one.material == "grounds") == pytest.approx(80)
    assert [one.code for one in made.gathered.findings] == ["benefit_more_used"]


def test_donors_add_up_to_the_whole():
    made = account()
    assert sum(made.gathered.collected_kg(one) for one in made.donors) == pytest.approx(made.gathered.collected_kg())
    assert sum(made.gases(one).net_kg for one in made.donors) == pytest.approx(made.gases().net_kg)
    whole = made.gathered.total_food()
    for key in "NPK":
        assert sum(made.gathered.total_food(one)[key] for one in made.donors) == pytest.approx(whole[key])


def test_worth_of_donors_adds_up_to_the_cheapest_mix_at_the_medians():
    made = account()
    mix = made.mix()
    parts = sum(float(np.median(made.gathered.total_food()[key])) * mix.worth[key] for key in "NPK")
    assert parts == pytest.approx(mix.cost, rel=1e-6)


def test_no_claim_without_its_assumption():
    with pytest.raises(ValueError, match="no assumption"):
        Claim("x", "X", Band(1, 1, 1), "1", " ")
    made = account()
    for who in ("", *made.donors):
        assert all(one.rests_on and one.sources for one in claims_of(made, who))


def test_without_prices_no_money_is_named():
    assert "money" not in {one.key for one in claims_of(account(shop=()))}


def test_a_stable_avoids_no_landfill_gas():
    keys = {one.key for one in claims_of(account(), "stable")}
    assert "gases_made" in keys and not keys & {"methane", "net_co2e"}


def test_no_records_are_no_records():
    assert moved_by_records(garden(loads=())) is None


def test_sheets_say_every_assumption_and_that_it_is_invented(tmp_path: Path):
    made = account()
    files = write_benefit(made, tmp_path, formats=["html"], on=DAY)
    assert {path.name for path in files if path.suffix == ".html"} == {
        "benefit.html",
        *(f"thanks-{one}.html" for one in made.donors),
    }
    text = re.sub(r"\s+", " ", unescape((tmp_path / "benefit.html").read_text(encoding="utf-8")))
    for one in claims_of(made):
        assert one.rests_on.split(" (")[0].replace("“", "“")[:60] in text
    assert "Invented" in text and "Thank you" in (tmp_path / "thanks-cafe.html").read_text(encoding="utf-8")


def test_a_thank_you_sheet_is_one_page():
    from loamery.evidence.pdf import _page_count, pdf_one_page

    assert _page_count(pdf_one_page(thanks_page(account(), "cafe", DAY))) == 1
    assert len(benefit_page(account(), DAY).charts) == 2
