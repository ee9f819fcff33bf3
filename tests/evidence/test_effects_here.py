"""What a material may do in a garden: limits from this garden's beds, worded by their bands."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader

from loamery.bed.ceilings import Ceiling
from loamery.evidence import write_fact_sheet
from loamery.evidence.effects_here import Effect, Here, effects_here, how_to_use, look_around
from loamery.evidence.factsheet import fact_page
from loamery.evidence.text import Units
from loamery.garden.model import Bed, Climate, Fertiliser, Garden, Info, Material
from loamery.say import is_told, told
from loamery.season.prepare import Prepared, prepare

ON = date(2027, 5, 3)
KINDS = {"grounds": "coffee-spent", "card": "cardboard", "ash": "wood-ash", "blood": "blood-meal"}
BOUGHT = Fertiliser(id="all", name="Granular", n_percent=8, p2o5_percent=4, k2o_percent=8, price_per_kg=3)


@pytest.fixture(scope="module")
def prepared() -> Prepared:
    info = Info(name="Test (invented)", jurisdiction="ca-a", season_start=ON, draws=300, invented=True)
    materials = tuple(
        Material(id=key, name=key.title(), kind=kind, uses=("dig_in", "heap")) for key, kind in KINDS.items()
    )
    beds = (Bed(id="a", name="Sandy bed", area_m2=8), Bed(id="b", name="Deep bed", area_m2=8, depth_m=0.3))
    return prepare(
        Garden(
            info=info, climate=Climate(mean_temp_c=(12.0,) * 12, rain_mm=(70.0,) * 12), materials=materials, beds=beds
        )
    )


def effects(prepared: Prepared, key: str) -> dict[str, Effect]:
    here = look_around(prepared, key, BOUGHT)
    return {one.what: one for one in effects_here(here, prepared.compositions[key], Units("metric"))}


def test_cardboard_ties_up_nitrogen_and_blood_meal_gives_it(prepared: Prepared) -> None:
    assert "ties up" in effects(prepared, "card")["Nitrogen"].says
    assert "not worked in" in effects(prepared, "card")["Nitrogen"].limit
    blood = effects(prepared, "blood")["Nitrogen"]
    assert "gives" in blood.says and blood.limit == ""


def test_ash_raises_the_ph(prepared: Prepared) -> None:
    assert effects(prepared, "ash")["pH"].limit == "only where a soil test asks for lime"


def test_the_tightest_bed_sets_the_limit(prepared: Prepared) -> None:
    """By hand: most kg/m2 = ceiling over the 90th percentile of what a kilogram holds, least over beds."""
    import numpy as np

    here: Here = look_around(prepared, "ash", None)
    most = min(need.ceilings["K"].limit_kg_m2 for need in here.needs.values()) / float(np.quantile(here.stuff.k, 0.9))
    shown = effects(prepared, "ash").get("Potassium")
    assert shown is not None and float(shown.limit.split()[2].split("\u00a0")[0]) == pytest.approx(most, rel=0.06)
    assert all(isinstance(one, Ceiling) for need in here.needs.values() for one in need.ceilings.values())


def test_us_units_are_pounds_on_square_feet(prepared: Prepared) -> None:
    here = look_around(prepared, "grounds", None)
    told = effects_here(here, prepared.compositions["grounds"], Units("us"))
    assert "lb/ft²" in told[0].limit and "kg/m²" not in " ".join(one.says + one.limit for one in told)


def test_every_use_the_grower_allows_is_told(prepared: Prepared) -> None:
    here = look_around(prepared, "blood", None)
    lines = " ".join(
        how_to_use(here, effects_here(here, prepared.compositions["blood"], Units("metric")), Units("metric"))
    )
    assert "Worked in: at most" in lines and "Heap: C:N" in lines and "Mulch" not in lines


def test_the_sheet_is_one_page_and_one_slide(prepared: Prepared, tmp_path: Path) -> None:
    here = look_around(prepared, "grounds", BOUGHT)
    paths = write_fact_sheet(
        prepared.compositions["grounds"],
        (),
        prepared.garden,
        tmp_path,
        formats=("html", "pdf", "slide"),
        on=ON,
        here=here,
    )
    pdfs = {path.name: PdfReader(path) for path in paths if path.suffix == ".pdf"}
    assert {name: len(one.pages) for name, one in pdfs.items()} == {
        "material-grounds.pdf": 1,
        "material-grounds-slide.pdf": 1,
    }
    text = pdfs["material-grounds.pdf"].pages[0].extract_text()
    assert "Limit here" in text and "Granular (bought)" in paths[0].read_text(encoding="utf-8")


@pytest.mark.parametrize("key", list(KINDS))
def test_effects_uses_and_the_comparison_are_told_in_french(prepared: Prepared, key: str) -> None:
    here = look_around(prepared, key, BOUGHT)
    found = effects_here(here, prepared.compositions[key], Units("metric"))
    said = [part for one in found for part in (one.what, one.says, one.limit) if len(part) > len("pH")]
    said += how_to_use(here, found, Units("metric"))
    for one in said:
        assert is_told(one, "fr"), one
        assert not re.search(r"\b(the|in|of|on|with|it|week)\b|\d\.\d", told(one, "fr").replace("Sandy bed", "")), one
    page = fact_page(prepared.compositions[key], (), here.garden, brief=True, on=ON, here=here).in_language("fr")
    chart = page.charts[f"beside-{key}"]
    assert chart.title.endswith("à côté d’autres")
    shown = json.dumps(chart.spec, ensure_ascii=False)
    assert "Granular (acheté)" in shown and "publié de\u00a0ce\u00a0genre" in shown and "% tel que reçu" in shown
    assert "as received" not in shown and "of\u00a0its\u00a0kind" not in shown
