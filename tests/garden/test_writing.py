"""A garden written out reads back equal, whatever it holds."""

from __future__ import annotations

import csv
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from loamery.errors import InputError
from loamery.garden import Garden, read_garden, write_demo, write_garden
from loamery.garden.records import Load
from loamery.garden.rows import bare, guarded
from loamery.garden.writing import rows_text
from tests.garden.written import gardens


def same(one: Garden, other: Garden) -> bool:
    return one.model_dump(exclude={"folder"}) == other.model_dump(exclude={"folder"})


@settings(
    max_examples=20,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.large_base_example],
)
@given(gardens())
def test_any_garden_reads_back_equal(garden: Garden) -> None:
    with tempfile.TemporaryDirectory() as folder:
        assert same(read_garden(write_garden(garden, Path(folder) / "garden")), garden)


def test_the_demo_with_its_reports_reads_back_equal(tmp_path: Path) -> None:
    demo = read_garden(write_demo(tmp_path / "demo"))
    again = read_garden(write_garden(demo, tmp_path / "again"))
    assert same(again, demo)
    for entry in demo.reports:
        assert (tmp_path / "again" / entry.file).read_bytes() == (tmp_path / "demo" / entry.file).read_bytes()


@given(st.text())
def test_no_written_text_is_a_formula_and_none_is_lost(text: str) -> None:
    assert guarded(text)[:1] not in set("=+-@\t\r")
    assert bare(guarded(text)) == text


def test_a_formula_in_a_note_is_only_text_in_the_file() -> None:
    load = Load(id="a", donor="b", material="c", on="2027-05-03", kg=2, note='=HYPERLINK("evil")')
    (_, cells) = csv.reader(rows_text([load], Load).splitlines())
    assert cells[-1] == '\'=HYPERLINK("evil")'
    assert "2" in cells, "numbers are written as numbers"


def test_a_report_that_is_gone_is_told_and_nothing_is_written(tmp_path: Path) -> None:
    demo = read_garden(write_demo(tmp_path / "demo"))
    (tmp_path / "demo" / demo.reports[0].file).unlink()
    with pytest.raises(InputError, match=r"file “reports/"):
        write_garden(demo, tmp_path / "again")
    assert [path.name for path in tmp_path.iterdir()] == ["demo"]
