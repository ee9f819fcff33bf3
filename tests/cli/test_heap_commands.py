"""``loamery heap``, ``mulch`` and ``worms`` as a person runs them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from loamery.garden import write_starter
from tests.cli.conftest import Said

Loamery = Callable[..., Said]
MIX = ("--with", "manure-horse-straw=200 kg", "--with", "leaves-mixed=60 kg", "--with", "grass-clippings=80 kg")
QUICK = ("--days", "30", "--draws", "5", "--start", "2027-05-01")


@pytest.fixture(scope="module")
def garden(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_starter(tmp_path_factory.mktemp("heap") / "garden")


def test_the_document_of_a_heap(loamery: Loamery) -> None:
    said = loamery("heap", *MIX, "--size", "1 m3", "--shape", "bin", "--turn", "7,14", *QUICK, "--json")
    assert (said.code, said.err) == (0, "")
    told = said.json()
    assert told["format"] == "loamery heap 1"
    assert told["built"]["turn_days"] == [7.0, 14.0]
    assert told["built"]["volume_m3"] == pytest.approx(1.0)
    assert told["course"][0]["day"] == 0
    assert told["peak"]["low"] <= told["peak"]["median"] <= told["peak"]["high"]
    assert {one["rule"]["key"] for one in told["hygiene"]} >= {
        "us-503-hygiene",
        "ca-ccme-2005-hygiene",
        "eu-2019-1009-cmc3",
    }
    assert all(one["state"] in ("met", "in part", "not met") for one in told["hygiene"])


def test_units_in_and_out(loamery: Loamery) -> None:
    said = loamery("heap", *MIX, "--size", "1 yd3", "--units", "us", "--air", "59F", *QUICK)
    assert said.code == 0, said.err
    assert "°F" in said.out and "°C (" not in said.out
    assert "1.00 yd3" in said.out


def test_a_garden_with_readings_and_pictures(loamery: Loamery, garden: Path, tmp_path: Path) -> None:
    rows = "".join(f"2027-05-{day:02d},30,{temp}\n" for day, temp in ((3, 25), (5, 45), (9, 58), (14, 50)))
    (tmp_path / "r.csv").write_text("date,depth_cm,temp_c\n" + rows, encoding="utf-8")
    into = tmp_path / "out"
    said = loamery("heap", garden, "--readings", tmp_path / "r.csv", *QUICK, "--into", into, "--json")
    assert said.code == 0, said.err
    told = said.json()
    assert told["calibration"]["readings"] == 4
    names = {Path(one).name for one in told["files"]}
    assert names >= {"heap.html", "heap-heat.svg", "heap-oxygen.svg", "heap-warmest.svg", "heap-heat.csv"}
    svg = (into / "charts" / "heap-heat.svg").read_text(encoding="utf-8")
    assert "<title>Temperature by depth and day</title>" in svg and "aria-label" in svg
    page = (into / "heap.html").read_text(encoding="utf-8")
    assert "<script" not in page and "http" not in page.replace("http://www.w3.org", "")


def test_days_are_searched(loamery: Loamery) -> None:
    said = loamery("heap", *MIX, "--turn", "search", "--goal", "hygiene", *QUICK, "--json")
    told = said.json()
    assert told["schedule"]["after"] >= told["schedule"]["before"]
    assert told["built"]["turn_days"] == told["schedule"]["turn_days"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "no materials"),
        (("--with", "moon-dust"), "moon-dust"),
        ((*MIX, "--size", "0 m3"), "--size"),
        ((*MIX, "--size", "big"), "--size"),
        ((*MIX, "--shape", "cone"), "shape"),
        ((*MIX, "--walls", "gold"), "walls"),
        ((*MIX, "--start", "1 May"), "--start"),
        ((*MIX, "--turn", "soon"), "--turn"),
        ((*MIX, "--watering", "40 kg"), "--watering"),
        ((*MIX, "--water", "wet"), "--water"),
        ((*MIX, "--compost", "2"), "--compost"),
        ((*MIX, "--days", "2"), "days"),
        ((*MIX, "--draws", "1"), "draws"),
        ((*MIX, "--air", "900C"), "--air"),
        ((*MIX, "--goal", "glory", "--turn", "search"), "goal"),
        ((*MIX, "--reading", "yesterday"), "--reading"),
        ((*MIX, "--readings", "none.csv"), "none.csv"),
        ((*MIX, "--heap", "heap-9"), "--heap"),
        (("--with", "leaves-mixed=5 kg", "--with", "coffee-spent"), "without an amount"),
        (("--with", "leaves-mixed=5 kg", "--with", "leaves-mixed=5 kg"), "twice"),
    ],
)
def test_what_a_heap_refuses(loamery: Loamery, words: tuple[str, ...], told: str) -> None:
    said = loamery("heap", *words)
    assert said.code == 1
    assert told in said.err and "what to do" in said.err


WEATHER = "day,min_temp_c,max_temp_c,rain_mm\n2027-05-01,4,14,0\n2027-05-04,5,12,3\n"


def test_measured_weather_and_its_gaps(loamery: Loamery, garden: Path, tmp_path: Path) -> None:
    path = tmp_path / "w.csv"
    path.write_text(WEATHER, encoding="utf-8")
    told = loamery("heap", garden, "--weather", path, *QUICK, "--json").json()
    assert told["weather"] == {
        "days": 30,
        "measured": 2,
        "gaps": [{"first": "2027-05-02", "last": "2027-05-03"}],
        "after": 26,
    }
    assert "weather_gap" in {one["code"] for one in told["findings"]}


@pytest.mark.parametrize(
    ("text", "words", "told"),
    [
        (WEATHER, MIX, "or give --air"),
        (WEATHER.replace("2027-05", "2026-05"), (*MIX, "--air", "12C"), "which are foreseen"),
        (WEATHER.replace("14,0", "1,0"), (*MIX, "--air", "12C"), "row 2"),
        ("", (*MIX, "--air", "12C"), "w.csv"),
    ],
)
def test_weather_that_a_heap_refuses(
    loamery: Loamery, tmp_path: Path, text: str, words: tuple[str, ...], told: str
) -> None:
    (tmp_path / "w.csv").write_text(text, encoding="utf-8")
    said = loamery("heap", *words, *QUICK, "--weather", tmp_path / "w.csv")
    assert said.code == 1
    assert told in said.err and "what to do" in said.err


def test_the_document_of_a_mulch(loamery: Loamery) -> None:
    said = loamery("mulch", "coffee-spent", "--draws", "6", "--json")
    assert (said.code, said.err) == (0, "")
    told = said.json()
    assert told["format"] == "loamery mulch 1"
    assert told["limit"]["median"] < 0.1
    assert len(told["table"]) == 4
    assert sum(told["first"].values()) == pytest.approx(1.0)


def test_the_sheet_of_a_mulch(loamery: Loamery, tmp_path: Path) -> None:
    told = loamery("mulch", "coffee-spent", "--draws", "4", "--into", tmp_path / "out", "--json").json()
    names = {Path(one).name for one in told["files"]}
    assert names == {"mulch.html", "mulch-depth.svg", "mulch-depth.csv", "mulch-faults.svg", "mulch-faults.csv"}
    page = (tmp_path / "out" / "mulch.html").read_text(encoding="utf-8")
    assert "At most" in page and "<script" not in page


def test_a_mulch_on_the_screen(loamery: Loamery) -> None:
    said = loamery("mulch", "coffee-spent=10 L", "chips-arborist=30 L", "--draws", "4", "--units", "us", "--no-table")
    assert said.code == 0, said.err
    assert " in " in said.out and "share of fines" not in said.out


@pytest.mark.parametrize(
    "words",
    [("moon-dust",), ("coffee-spent", "--rain", "0"), ("coffee-spent", "--air", "x"), ("coffee-spent", "--draws", "0")],
)
def test_what_a_mulch_refuses(loamery: Loamery, words: tuple[str, ...]) -> None:
    said = loamery("mulch", *words)
    assert said.code == 1
    assert "what to do" in said.err


def test_the_document_of_a_worm_bed(loamery: Loamery, garden: Path) -> None:
    said = loamery("worms", garden, "--weeks", "6", "--air", "20C", "--json")
    assert (said.code, said.err) == (0, "")
    told = said.json()
    assert told["format"] == "loamery worms 1"
    assert told["beds"]
    for one in told["beds"]:
        assert {limit["name"] for limit in one["limits"]} == {
            "appetite",
            "moisture",
            "ammonia",
            "salt",
            "pH",
            "heat",
            "depth",
        }
        assert one["weeks"][-1]["week"] == 6


def test_the_sheet_of_a_worm_bed(loamery: Loamery, garden: Path, tmp_path: Path) -> None:
    said = loamery(
        "worms", garden, "--weeks", "3", "--air", "20C", "--with", "coffee-spent", "--into", tmp_path / "out", "--json"
    )
    told = said.json()
    assert len(told["beds"][0]["course"]) == 3
    assert {Path(one).suffix for one in told["files"]} == {".html", ".svg", ".csv"} and len(told["files"]) == 11
    page = (tmp_path / "out" / "worms.html").read_text(encoding="utf-8")
    assert "What Worm box takes a week" in page and "invented" not in page


def test_a_worm_bed_on_the_screen(loamery: Loamery, garden: Path) -> None:
    said = loamery("worms", garden, "--with", "coffee-spent=1 kg", "--with", "manure-horse-straw=3 kg", "--units", "us")
    known = loamery("worms", garden, "--weeks", "4", "--units", "us")
    assert known.code == 0, known.err
    assert " lb" in known.out
    assert said.code == 0, said.err
    assert said.out.count("At most") == 1
    assert known.out.count("At most") > 1


@pytest.mark.parametrize("words", [("--bed", "none"), ("--weeks", "0"), ("--every", "0"), ("--with", "moon-dust")])
def test_what_a_worm_bed_refuses(loamery: Loamery, garden: Path, words: tuple[str, ...]) -> None:
    said = loamery("worms", garden, *words)
    assert said.code == 1
    assert "what to do" in said.err
