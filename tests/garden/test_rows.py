"""CSV rows: units in column names, remarks, lists, encodings, and cells that cannot be told apart."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loamery.errors import InputError, LoameryError, UnreadableFile
from loamery.garden.model import Bed, Material, Planting, Record, Supply, WormBed
from loamery.garden.rows import MAX_BYTES, read_rows, read_text


def read(tmp_path: Path, text: str | bytes, model: type[Record] = Bed) -> tuple[list[Record], list[InputError]]:
    path = tmp_path / "rows.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    faults: list[InputError] = []
    return [record for _, record in read_rows(path, model, faults)], faults


def good(tmp_path: Path, text: str | bytes, model: type[Record] = Bed) -> list[Record]:
    records, faults = read(tmp_path, text, model)
    assert [str(one) for one in faults] == []
    return records


def only(tmp_path: Path, text: str | bytes, model: type[Record] = Bed) -> InputError:
    _, faults = read(tmp_path, text, model)
    assert len(faults) == 1, [str(one) for one in faults]
    return faults[0]


def test_columns_in_any_order(tmp_path: Path) -> None:
    (bed,) = good(tmp_path, "name,area_m2,id\nFirst,8,bed-1\n")
    assert bed == Bed(id="bed-1", name="First", area_m2=8)


@pytest.mark.parametrize(
    ("column", "model", "field", "given", "expected"),
    [
        # exact: 1 ft = 0.3048 m, 1 lb = 0.45359237 kg, 1 mi = 1609.344 m
        ("area_ft2", Bed, "area_m2", "100", 9.290304),
        ("area_ha", Bed, "area_m2", "0.001", 10.0),
        ("depth_in", Bed, "depth_m", "6", 0.1524),
        ("depth_cm", Bed, "depth_m", "15", 0.15),
        ("lb_per_week", Supply, "kg_per_week", "100", 45.359237),
        ("worms_lb", WormBed, "worms_kg", "2", 0.90718474),
    ],
)
def test_units_in_column_names_are_converted(
    tmp_path: Path, column: str, model: type[Record], field: str, given: str, expected: float
) -> None:
    rest = {
        Bed: {"id": "a", "name": "A", "area_m2": "1"},
        Supply: {"donor": "d", "material": "m", "kg_per_week": "1", "first": "2027-04-05", "last": "2027-05-05"},
        WormBed: {"id": "a", "name": "A", "area_m2": "1"},
    }[model]
    cells = {key: value for key, value in rest.items() if key != field} | {column: given}
    (record,) = good(tmp_path, ",".join(cells) + "\n" + ",".join(cells.values()) + "\n", model)
    assert getattr(record, field) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("column", ["area_kg", "area_furlong", "surface_m2", "depth", "area m2"])
def test_a_column_in_no_unit_of_it_is_told(tmp_path: Path, column: str) -> None:
    _, faults = read(tmp_path, f"id,name,area_m2,{column}\na,A,1,2\n")
    assert [one.read for one in faults] == [f"column “{column}”"]
    assert faults[0].where.row == 1


def test_an_unknown_column_names_its_neighbour(tmp_path: Path) -> None:
    assert only(tmp_path, "id,name,area_m2,textur\na,A,1,loam\n").remedy == "did you mean “texture”?"


def test_a_missing_column_is_told_once_and_again_where_the_cell_is_missing(tmp_path: Path) -> None:
    _, faults = read(tmp_path, "id,name\na,A\n")
    assert faults[0].read == "no column “area_m2”"
    assert faults[0].where.row == 1


@pytest.mark.parametrize("header", ["id,name,area_m2,area_m2", "id,name,area_m2,area_ft2", "id,id,name,area_m2"])
def test_a_column_given_twice_is_told(tmp_path: Path, header: str) -> None:
    _, faults = read(tmp_path, f"{header}\n")
    assert len(faults) == 1
    assert "delete one of them" in faults[0].remedy


def test_lists_are_separated_by_semicolons(tmp_path: Path) -> None:
    (one,) = good(tmp_path, "id,name,kind,uses\na,A,coffee-spent, mulch ; heap;\n", Material)
    assert one.uses == ("mulch", "heap")  # type: ignore[attr-defined]


def test_an_empty_list_is_the_default_and_not_no_use(tmp_path: Path) -> None:
    (one,) = good(tmp_path, "id,name,kind,uses\na,A,coffee-spent,\n", Material)
    assert set(one.uses) == {"mulch", "dig_in", "heap", "worm_bed"}  # type: ignore[attr-defined]


def test_remarks_and_empty_lines_are_skipped_and_rows_keep_their_number(tmp_path: Path) -> None:
    text = "# beds\n\nid,name,area_m2\n  # a remark, with a comma\n,,\nbed-1,One,8\n   \nbed-2,Two,-1\n"
    fault = only(tmp_path, text)
    assert fault.where.row == 8


def test_row_numbers_count_lines_inside_quoted_cells(tmp_path: Path) -> None:
    text = 'id,name,area_m2\na,"two\nlines",8\nb,B,-1\n'
    assert only(tmp_path, text).where.row == 4


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_and_byte_order_marks_do_not_matter(tmp_path: Path, end: str, mark: bytes) -> None:
    text = end.join(["id,name,area_m2", "bed-1,Café,8", ""]).encode()
    assert good(tmp_path, mark + text) == [Bed(id="bed-1", name="Café", area_m2=8)]


@pytest.mark.parametrize(
    "content", ["é".encode("latin-1"), "id,name\n".encode("utf-16"), b"\x00\x01", b"PK\x03\x04\xff\xd8"]
)
def test_another_encoding_is_told_and_never_guessed(tmp_path: Path, content: bytes) -> None:
    fault = only(tmp_path, content)
    assert isinstance(fault, UnreadableFile)
    assert "UTF-8" in fault.expected + fault.remedy


def test_an_open_quotation_mark_does_not_swallow_the_rows_below(tmp_path: Path) -> None:
    fault = only(tmp_path, 'id,name,area_m2,note\na,A,8,"left open\nb,B,9,\nc,C,9,\n')
    assert fault.where.row == 2
    assert "double quote" in fault.remedy


def test_text_after_a_closing_quotation_mark_is_told(tmp_path: Path) -> None:
    assert only(tmp_path, 'id,name,area_m2\na,"A"B,8\n').where.row == 2


@pytest.mark.parametrize(("mark", "name"), [(";", "semicolons"), ("\t", "tabs")])
def test_another_separator_is_told_in_one_fault(tmp_path: Path, mark: str, name: str) -> None:
    fault = only(tmp_path, mark.join(["id", "name", "area_m2"]) + "\n" + mark.join(["a", "A", "8,5"]) + "\n")
    assert name in fault.read
    assert "commas" in fault.remedy


def test_too_many_cells_are_told(tmp_path: Path) -> None:
    fault = only(tmp_path, "id,name,area_m2\na,Bed, the long one,8\n")
    assert (fault.read, fault.where.row) == ("4 cells", 2)
    assert "double quotes" in fault.remedy


def test_too_large_a_file_is_told(tmp_path: Path) -> None:
    path = tmp_path / "rows.csv"
    with path.open("wb") as stream:
        stream.truncate(MAX_BYTES + 1)
    with pytest.raises(UnreadableFile, match="20 MiB"):
        read_text(path)


def test_an_empty_file_holds_nothing(tmp_path: Path) -> None:
    assert good(tmp_path, "") == []
    assert good(tmp_path, "id,name,area_m2\n") == []
    assert good(tmp_path, "# only a remark\n") == []


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.one_of(st.binary(max_size=300), st.text(alphabet='id,name_m2area\n"#;\t\r\0é0-9.', max_size=300).map(str.encode))
)
def test_whatever_stands_there_it_is_read_or_told(tmp_path: Path, content: bytes) -> None:
    for model in (Bed, Planting, Material):
        try:
            read(tmp_path, b"id,name,area_m2,note\n" + content, model)
            read(tmp_path, content, model)
        except LoameryError as error:
            pytest.fail(f"raised instead of listed: {error}")
