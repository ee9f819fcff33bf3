"""``loamery lab``: the kept contract of its JSON, and files that are none."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Said

Loamery = Callable[..., Said]
REPORTS = Path(__file__).resolve().parents[2] / "loamery" / "demo" / "garden" / "reports"
ONE_SAMPLE = [
    "grounds-brackwater.csv",
    "grounds-hollin-bay.pdf",
    "grain-wyke.csv",
    "manure-dunmarrow.xlsx",
    "leaves-penhallow.xlsx",
]
LABEL = """Laboratory (invented)
analyte,result,unit,basis
Moisture,60.5,%,as received
Total nitrogen,2.05,%,dry
Total phosphorus,1300,mg/kg,dry
Total potassium,6200,mg/kg,dry
"""


@pytest.mark.parametrize("name", ONE_SAMPLE)
def test_the_contract_of_the_document(loamery: Loamery, name: str) -> None:
    said = loamery("lab", REPORTS / name, "--json")
    assert said.code == 0
    document = said.json()
    assert document["format"] == "loamery lab 1"
    assert document["invented"] is True
    for when in ("long_run", "today"):
        sides = document["label_grade"][when]
        assert set(sides) <= {"dry", "as_received"}
        for grade in sides.values():
            assert set(grade) == {"N", "P2O5", "K2O"}
            assert all(one is None or (math.isfinite(one) and 0 <= one <= 100) for one in grade.values())
    for finding in document["findings"]:
        assert {"code", "severity", "text", "because", "sources"} <= set(finding)
        assert finding["severity"] in ("note", "warning", "stop")
        assert isinstance(finding["sources"], list)


def test_the_label_of_the_issue_to_four_places(loamery: Loamery, tmp_path: Path) -> None:
    """2.05 % N, 1300 mg/kg P and 6200 mg/kg K, dry, are 2.05 - 0.2979 - 0.7469 (P x 2.2914, K x 1.2046)."""
    (tmp_path / "label.csv").write_text(LABEL, encoding="utf-8")
    document = loamery("lab", tmp_path / "label.csv", "--json").json()
    dry, wet = (document["label_grade"]["long_run"][side] for side in ("dry", "as_received"))
    assert [round(dry[term], 4) for term in ("N", "P2O5", "K2O")] == [2.05, 0.2979, 0.7469]
    assert wet["N"] == pytest.approx(2.05 * 0.395, rel=1e-9)


def test_what_a_person_sees_holds_the_same_figures(loamery: Loamery, tmp_path: Path) -> None:
    (tmp_path / "label.csv").write_text(LABEL, encoding="utf-8")
    said = loamery("lab", tmp_path / "label.csv")
    assert said.code == 0
    assert all(figure in said.out for figure in ("2.050", "0.2979", "0.7469"))


def test_limits_and_material_are_looked_at_when_asked(loamery: Loamery) -> None:
    document = loamery(
        "lab", REPORTS / "town-compost-ostrey.pdf", "--limits", "ca-a", "--material", "compost-finished", "--json"
    ).json()
    (cadmium,) = [one for one in document["limits"] if one["parameter"] == "Cd"]
    assert cadmium["answer"] == "unknown", "a reporting limit above the legal limit never passes"


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (("--material", "coffee"), "coffee-spent"),
        (("--limits", "mars"), "ca-a"),
        (("--answer", "basis"), "NAME=VALUE"),
        (("--sample", "no such sample"), "sample"),
    ],
)
def test_options_that_say_nothing_end_with_1(loamery: Loamery, arguments: tuple[str, ...], word: str) -> None:
    said = loamery("lab", REPORTS / "grounds-brackwater.csv", *arguments)
    assert said.code == 1
    assert said.out == ""
    assert word in said.err
    assert "what to do:" in said.err


CONTENTS: dict[str, bytes] = {
    "empty.csv": b"",
    "blank.csv": b"\n\n  \n,,,\n",
    "words.csv": b"Dear Sir, the lawn is green.\n",
    "numbers.csv": b"1,2,3\n4,5,6\n",
    "zeros.xlsx": b"\0" * 512,
    "text.xlsx": b"not a workbook",
    "text.pdf": b"not a page",
    "cut.pdf": b"%PDF-1.7\n1 0 obj\n<< /Type /Catalog",
    "picture.png": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
    "program.exe": b"MZ\x90\0",
    "no-suffix": b"analyte,value\nN,2\n",
    "utf16.csv": "analyte,result\nN,2\n".encode("utf-16"),
}


@pytest.mark.parametrize("name", CONTENTS)
def test_a_file_that_is_no_report_is_told(loamery: Loamery, tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(CONTENTS[name])
    said = loamery("lab", path, "--json")
    assert said.code in (0, 1)
    document = said.json()
    if said.code == 1:
        assert {"error", "read"} <= set(document)
        assert document.get("remedy") or document.get("remedies")
    elif name != "utf16.csv":
        assert document["determinations"] == [] or name == "no-suffix"


@pytest.mark.parametrize("name", ["nowhere.csv", ".", "\u200b.csv", "a" * 300 + ".csv"])
def test_a_place_without_a_file_is_told(loamery: Loamery, name: str) -> None:
    said = loamery("lab", name)
    assert said.code == 1
    assert said.out == ""
    assert "what to do:" in said.err


def test_several_samples_are_asked_for_by_name(loamery: Loamery) -> None:
    said = loamery("lab", REPORTS / "soil-autumn.xlsx")
    assert said.code == 1
    assert "--sample" in said.err
    every = loamery("lab", REPORTS / "soil-autumn.xlsx", "--sample", "all", "--json").json()
    assert len(every["samples"]) >= 9
    one = loamery("lab", REPORTS / "soil-autumn.xlsx", "--sample", "Kitchen bed", "--json").json()
    assert one["sample"] == "Kitchen bed"
