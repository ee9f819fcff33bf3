import csv
import io
import re
from collections.abc import Callable

import pytest

from loamery.evidence.chart import Chart, to_csv
from loamery.evidence.charts_bed import _letters, ceiling_chart, need_charts, nitrogen_chart
from loamery.evidence.charts_material import composition_chart, uses_chart
from loamery.evidence.picture import hours_chart, season_picture, stuff_swatches
from loamery.evidence.text import Units
from loamery.reference import sources
from loamery.season.plan import SeasonPlan

METRIC = Units("metric")


@pytest.fixture(scope="module")
def charts(plan: SeasonPlan) -> list[Chart]:
    looks, bed = stuff_swatches(plan), plan.beds[0]
    return [
        season_picture(plan, looks),
        season_picture(plan, looks, paper=True),
        hours_chart(plan),
        need_charts(plan, bed, looks, METRIC),
        nitrogen_chart(plan, bed, METRIC),
        ceiling_chart(bed, METRIC),
        composition_chart(plan.compositions["grounds"], "Spent coffee grounds", METRIC),
        uses_chart(plan, METRIC),
    ]


def test_every_chart_has_words_data_and_known_sources(charts: list[Chart]) -> None:
    for chart in charts:
        assert len(chart.alt) > 40, chart.key
        assert chart.title
        assert chart.caption.endswith(".")
        assert chart.data, chart.key
        assert set(chart.sources) <= set(sources())
    assert len({one.key for one in charts}) == len(charts)


def test_pictures_carry_their_words_and_fetch_nothing(charts: list[Chart]) -> None:
    for chart in charts:
        svg = chart.svg()
        assert 'role="img"' in svg
        assert f"<title>{chart.title.replace(chr(39), '&#x27;')}</title>" in svg
        assert (
            re.findall(
                r"https?://[^\"' ]+",
                svg.replace("http://www.w3.org/2000/svg", "").replace("http://www.w3.org/1999/xlink", ""),
            )
            == []
        )
        assert "NaN" not in svg
    ids = [one for chart in charts for one in re.findall(r'id="([^"]+)"', chart.svg())]
    assert len(ids) == len(set(ids))


def test_png_is_a_picture_of_the_same_chart(charts: list[Chart]) -> None:
    assert charts[2].png().startswith(b"\x89PNG")


def test_data_is_csv_that_a_spreadsheet_does_not_run(charts: list[Chart]) -> None:
    for chart in charts:
        assert len(list(csv.DictReader(io.StringIO(chart.csv())))) == len(chart.data)
    assert to_csv([{"a": "=1+1", "b": 0.1234567}]) == "a,b\n'=1+1,0.123457\n"


def test_season_picture_shows_every_application(plan: SeasonPlan, charts: list[Chart]) -> None:
    placed = [one for one in plan.actions if one.task in ("mulch", "dig_in", "feed")]
    rows = [one for one in charts[0].data if one["how"] != "built into a heap"]
    assert len(rows) == len(placed)
    assert sum(float(str(one["kg"])) for one in rows) == pytest.approx(
        sum(one.kg for one in placed), abs=0.01 * len(rows)
    )


def test_needs_chart_adds_up_to_what_the_bed_gets(plan: SeasonPlan, charts: list[Chart]) -> None:
    bed = plan.beds[0]
    amounts = [float(str(one["amount"])) for one in charts[3].data if one["nutrient"] == "P" and one["low"] == ""]
    assert sum(amounts) == pytest.approx(sum(one.p.median for one in bed.given), rel=1e-9)


def test_needs_chart_says_which_letters_are_what() -> None:
    pieces = (
        {"letters": "GR", "name": "Grounds"},
        {"letters": "GR", "name": "Grounds"},
        {"letters": "", "name": "soil"},
    )
    assert _letters(pieces) == " (GR Grounds)" and _letters(()) == ""


def test_charts_follow_the_units(plan: SeasonPlan, in_us_units: Callable[[SeasonPlan], SeasonPlan]) -> None:
    us = in_us_units(plan)
    metric_rows = nitrogen_chart(plan, plan.beds[0], METRIC).data
    us_rows = nitrogen_chart(us, us.beds[0], Units("us")).data
    # 1 g/m2 is 0.2048161 lb per 1000 ft2 (from the definitions of pound and foot).
    assert float(str(us_rows[-1]["needed"])) == pytest.approx(
        0.2048161 * float(str(metric_rows[-1]["needed"])), rel=1e-6
    )


def test_drawing_refuses_to_fetch(charts: list[Chart]) -> None:
    spec = {**charts[2].spec, "layer": [{"data": {"url": "http://localhost:9/x.csv"}, "mark": "bar", "encoding": {}}]}
    chart = Chart("fetching", "t", "a" * 41, "c.", (), spec, ({"a": 1},))
    with pytest.raises(ValueError, match=r"denied|not allowed|allowed_base_urls|External"):
        chart.svg()
