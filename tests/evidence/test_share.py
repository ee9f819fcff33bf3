"""The share pack: every chart in every form, with its words and sources, at the sizes promised."""

from __future__ import annotations

import csv
import io
import struct
from datetime import date
from pathlib import Path

import pytest

from loamery.evidence.card import Card, card_pdf
from loamery.evidence.chart import Chart
from loamery.evidence.charts_compare import compare_chart
from loamery.evidence.charts_material import composition_chart
from loamery.evidence.share import Pack, words_of, write_pack
from loamery.evidence.text import Units
from loamery.lab.combine import compose
from loamery.reference import source
from loamery.say import say

ON = date(2026, 11, 25)


@pytest.fixture(scope="module")
def charts() -> list[Chart]:
    grounds, leaves = compose("coffee-spent", ()), compose("leaves-mixed", ())
    others = {"leaves": ("Leaves of last autumn", leaves)}
    return [composition_chart(grounds, "Grounds", Units("metric")), compare_chart(grounds, "Grounds", others, None)]


@pytest.fixture(scope="module")
def packed(charts: list[Chart], tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("share")
    write_pack(Pack("Fernmoor (invented)", charts, True, ON), folder)
    return folder


def png_size(path: Path) -> tuple[int, int]:
    head = path.read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", head[16:24])
    return width, height


def test_every_chart_in_every_form(charts: list[Chart], packed: Path) -> None:
    endings = (".svg", "-16x9.png", "-square.png", ".csv", ".txt")
    expected = {f"{one.key}{ending}" for one in charts for ending in endings} | {"index.html", "charts.csv"}
    assert {path.name for path in packed.iterdir()} == expected


def test_pictures_have_the_sizes_of_a_slide_and_a_square(charts: list[Chart], packed: Path) -> None:
    for one in charts:
        assert png_size(packed / f"{one.key}-16x9.png") == (1600, 900)
        assert png_size(packed / f"{one.key}-square.png") == (1200, 1200)


def test_words_hold_alternative_text_caption_and_sources_with_their_mark(charts: list[Chart]) -> None:
    pack = Pack("Fernmoor (invented)", charts, True, ON)
    for one in charts:
        text = words_of(one, pack)
        assert one.alt in text and one.caption in text and "Invented" in text
        for key in one.sources:
            assert source(key).citation in text
            assert (f"{source(key).citation} (recalled, not re-read)" in text) == (source(key).read != "found")


def test_the_list_and_the_page_name_every_chart(charts: list[Chart], packed: Path) -> None:
    listed = list(csv.DictReader(io.StringIO((packed / "charts.csv").read_text(encoding="utf-8"))))
    assert [one["key"] for one in listed] == [one.key for one in charts]
    page = (packed / "index.html").read_text(encoding="utf-8")
    assert all(f'src="{one.key}-16x9.png"' in page for one in charts) and "<script" not in page and "Invented" in page


def test_figures_are_those_of_the_chart(charts: list[Chart], packed: Path) -> None:
    for one in charts:
        rows = list(csv.DictReader(io.StringIO((packed / f"{one.key}.csv").read_text(encoding="utf-8"))))
        assert len(rows) == len(one.data)


def test_a_slide_is_one_tagged_page(charts: list[Chart]) -> None:
    from pypdf import PdfReader

    card = Card(
        "A long title that does not fit on one line of a slide at all",
        charts,
        "foot",
        ON.isoformat(),
        points=["one", "two"],
    )
    reader = PdfReader(io.BytesIO(card_pdf(card)))
    assert len(reader.pages) == 1 and "/StructTreeRoot" in reader.trailer["/Root"]
    box = reader.pages[0].mediabox
    assert float(box.width) / float(box.height) == pytest.approx(16 / 9)


def test_letters_alone_tell_plant_foods_apart(charts: list[Chart]) -> None:
    """The three kinds are written as N, P, K, so that colour is never needed."""
    svg = charts[1].svg()
    assert all(f">{letter}<" in svg for letter in "NPK")


def test_a_pack_in_french_has_french_words_around_its_charts(charts: list[Chart], tmp_path: Path) -> None:
    told = [one.in_language("fr") for one in charts[:1]]
    pack = Pack("Fernmoor (invented)", told, True, ON, "fr")
    write_pack(pack, tmp_path)
    page, words = (tmp_path / "index.html").read_text(encoding="utf-8"), words_of(told[0], pack)
    assert (
        '<html lang="fr">' in page and "Graphiques de Fernmoor (invented)" in page and "25\u00a0novembre 2026" in page
    )
    assert words.startswith(told[0].title) and "Texte de remplacement : " in words and "Fait avec Loamery" in words
    assert "Sources :" in pack.foot(told[0]) and "recalled" not in pack.foot(told[0])


def test_a_card_is_told_with_its_points_and_charts(charts: list[Chart]) -> None:
    card = Card(
        say("Charts of {garden}", garden="G"), charts[:1], "foot", "2026-11-25", points=[say("words")]
    ).in_language("fr")
    assert (card.title, card.points, card.language) == ("Graphiques de G", ["mots"], "fr")
    assert card.charts[0].title == charts[0].in_language("fr").title != charts[0].title
    assert card_pdf(card).startswith(b"%PDF")
