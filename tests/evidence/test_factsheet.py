from datetime import date
from html import unescape
from pathlib import Path

import pytest
from pypdf import PdfReader

from loamery.errors import InputError
from loamery.evidence import write_fact_sheet
from loamery.lab.combine import compose
from loamery.season.plan import SeasonPlan

ON = date(2026, 11, 25)


def test_one_page_for_every_material(plan: SeasonPlan, tmp_path: Path) -> None:
    for material in plan.garden.materials:
        composition = plan.compositions[material.id]
        html, pdf, *charts = write_fact_sheet(composition, plan.reports[material.id], plan.garden, tmp_path, on=ON)
        assert [one.name for one in (html, pdf)] == [f"material-{material.id}.html", f"material-{material.id}.pdf"]
        pages = PdfReader(pdf).pages
        assert len(pages) == 1, material.id
        text = pages[0].extract_text()
        assert material.name in text
        assert "Invented" in text
        assert {one.suffix for one in charts} == {".svg", ".csv"}
        assert f"{material.name}: composition" in unescape(html.read_text(encoding="utf-8"))


def test_web_sheet_leads_to_where_numbers_come_from(plan: SeasonPlan, tmp_path: Path) -> None:
    paths = write_fact_sheet(
        plan.compositions["grounds"], plan.reports["grounds"], plan.garden, tmp_path, formats=("html",)
    )
    text = paths[0].read_text(encoding="utf-8")
    assert 'href="#why-1"' in text
    assert 'id="why-1"' in text
    assert "grounds-brackwater.csv" in text


def test_material_of_the_reference_data_alone(tmp_path: Path) -> None:
    html, pdf, *_ = write_fact_sheet(compose("bone-meal-steamed", ()), (), None, tmp_path, on=ON)
    text = html.read_text(encoding="utf-8")
    assert "No laboratory report yet" in text
    assert "Invented" not in text
    assert len(PdfReader(pdf).pages) == 1


def test_cautions_stand_on_the_sheet(plan: SeasonPlan, tmp_path: Path) -> None:
    html, *_ = write_fact_sheet(plan.compositions["ash"], (), plan.garden, tmp_path, formats=("html",))
    assert "caustic" in html.read_text(encoding="utf-8")


def test_bad_format(plan: SeasonPlan, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="html, pdf"):
        write_fact_sheet(plan.compositions["ash"], (), plan.garden, tmp_path, formats=("png",))
