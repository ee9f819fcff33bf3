"""The commands of a trial, from the lots to the conclusion, and on bad input."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from loamery.garden import write_starter

LAY_OUT = ("--treatment", "none=No addition", "--treatment", "compost=3 cm of compost", "--control", "none", "--blocks", "3", "--format", "html")  # fmt: skip


@pytest.fixture
def garden(tmp_path: Path) -> Path:
    return write_starter(tmp_path / "garden")


def fill(garden: Path, gain: float, day: str = "2027-07-10") -> Path:
    """Write readings with a difference into a file beside the garden."""
    table = garden / "trials" / "mulch.csv"
    rows = list(csv.DictReader(line for line in table.read_text().splitlines() if not line.startswith("#")))
    out = garden.parent / "in.csv"
    with out.open("w", newline="") as stream:
        writer = csv.DictWriter(stream, ("plot", "measured_on", "value"))
        writer.writeheader()
        for at, row in enumerate(rows):
            value = 2.0 + gain * (row["treatment"] == "compost") + 0.03 * (at % 4)
            writer.writerow({"plot": row["plot"], "measured_on": day, "value": f"{value:.2f}"})
    return out


def test_a_trial_from_the_lots_to_the_conclusion(loamery: Callable[..., object], garden: Path):
    laid = loamery("trial", "lay-out", garden, "mulch", *LAY_OUT, "--json")
    assert laid.code == 0 and len(laid.json()["trial"]["plots"]) == 6
    sheet = (garden / "report" / "trial-mulch-lay-out.html").read_text()
    assert "101" in sheet and "3 cm of compost" in sheet
    entered = loamery("trial", "enter", garden, "mulch", fill(garden, 2.0))
    assert "6 readings added" in entered.out and "Every plot has a reading" in entered.out
    found = loamery("trial", "analyse", garden, "mulch", "--format", "html")
    assert "“3 cm of compost” gave" in found.out and "does not say" in found.out
    document = loamery("trial", "analyse", garden, "mulch", "--format", "html", "--json").json()
    assert document["conclusion"]["verdict"] == "difference"
    again = loamery("trial", "lay-out", garden, "mulch", *LAY_OUT)
    assert again.code == 1 and "a trial of that name" in again.err


def test_before_anything_is_read_no_claim_is_made(loamery: Callable[..., object], garden: Path):
    loamery("trial", "lay-out", garden, "mulch", *LAY_OUT)
    found = loamery("trial", "analyse", garden, "mulch", "--format", "html")
    assert found.code == 0 and "No conclusion can be drawn" in found.out and "No reading of plots" in found.out


def test_readings_of_another_year_change_nothing(loamery: Callable[..., object], garden: Path):
    loamery("trial", "lay-out", garden, "mulch", *LAY_OUT)
    before = (garden / "trials" / "mulch.csv").read_text()
    told = loamery("trial", "enter", garden, "mulch", fill(garden, 2.0, "2025-07-10"), "--json")
    assert told.code == 1 and len(told.json()["faults"]) == 6 and "another year" in told.err
    assert (garden / "trials" / "mulch.csv").read_text() == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("lay-out", "GARDEN", "Mulch!", *LAY_OUT), "name"),
        (("lay-out", "GARDEN", "mulch", "--treatment", "a"), "two treatments or more"),
        (("lay-out", "GARDEN", "mulch", *LAY_OUT, "--bed", "nowhere"), "bed “nowhere”"),
        (("lay-out", "GARDEN", "mulch", *LAY_OUT, "--size", "bed-1=long"), "LENGTHxWIDTH"),
        (("lay-out", "GARDEN", "mulch", *LAY_OUT, "--starts", "spring"), "starts"),
        (("lay-out", "GARDEN", "mulch", *LAY_OUT, "--format", "doc"), "html, pdf"),
        (("analyse", "GARDEN", "mulch"), "no such trial"),
        (("power", "--treatments", "1"), "2 to 20 treatments"),
        (("power", "--difference", "0"), "difference above 0"),
        (("power", "--spread", "-3"), "spread above 0"),
        (("seedlings", "nothing.csv"), "no such file"),
    ],
)
def test_what_cannot_be_done_is_told_in_words(
    loamery: Callable[..., object], garden: Path, words: tuple[str, ...], said: str
):
    done = loamery("trial", *(garden if one == "GARDEN" else one for one in words))
    assert done.code == 1 and said in done.err


def test_home_tests_say_how_they_are_done(loamery: Callable[..., object]):
    assert "gloves" in loamery("trial", "seedlings").out
    assert len(loamery("trial", "self-heating", "--json").json()["steps"]) == 6
