"""Files as grids: encodings, delimiters, workbooks, pages, and what is refused."""

from __future__ import annotations

import io
import random
import zipfile
from datetime import date

import pytest

from loamery.errors import UnreadableFile
from loamery.lab import tables
from loamery.lab.tables import column_letters, read_document
from loamery.lab.text_tables import find_delimiter

ROWS = [["Analyte", "Result", "Unit"], ["Total N", "2.05", "%"], ["Größe µ", "1300", "mg/kg"]]


def write(tmp_path, name, data):
    path = tmp_path / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def texts(document):
    return [[cell.text for cell in row] for grid in document.grids for row in grid.rows if any(c.text for c in row)]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_encodings_and_delimiters(tmp_path, encoding, delimiter):
    text = "\r\n".join(delimiter.join(row) for row in ROWS)
    found = read_document(write(tmp_path, "a.csv", text.encode(encoding)))
    assert texts(found) == ROWS
    guessed = encoding in ("cp1252", "utf-16-le", "utf-16-be")
    assert [one.code for one in found.findings] == (["encoding_guessed"] if guessed else [])


def test_mixed_encodings_are_read_line_by_line(tmp_path):
    data = "é,1\n".encode() + "é,2\n".encode("cp1252")
    found = read_document(write(tmp_path, "a.csv", data))
    assert texts(found) == [["é", "1"], ["é", "2"]]
    assert "line 2" in found.findings[0].because


@pytest.mark.parametrize(
    ("lines", "mark"),
    [
        (["N;2,05;%", "P;0,13;%"], ";"),
        (["S1;2,05;0,13;0,62", "S2;1,9;0,1;0,5"], ";"),
        (["N,2.05,%", "P,0.13,%"], ","),
        (["a,1,EPA 3051; ICP", "b,2,EPA 3051; ICP", "c,3,x"], ","),
        (["N    2,05   %", "P    0,13   %"], ""),
        (["N    28,000.0   mg/kg", "P    1,300.0   mg/kg"], ""),
    ],
)
def test_delimiter(lines, mark):
    assert find_delimiter(lines) == mark


def test_an_open_quote_does_not_eat_the_file(tmp_path):
    found = read_document(
        write(tmp_path, "a.csv", '"Total N,2.05,%\nTotal P,0.13,%\nTotal K,0.6,%\nAsh,2,%\nEC,3,dS/m\npH,6,\n')
    )
    assert len(texts(found)) == 6


def test_aligned_text_keeps_empty_cells_in_their_columns(tmp_path):
    text = "Analyte      As received   Dry     Unit\nMoisture     61.2                  %\nTotal N                    2.05    %\n"
    rows = texts(read_document(write(tmp_path, "a.txt", text)))
    assert rows[1] == ["Moisture", "61.2", "", "%"]
    assert rows[2] == ["Total N", "", "2.05", "%"]


def workbook(fill):
    import openpyxl

    book = openpyxl.Workbook()
    fill(book)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_workbook_with_all_sheets_dates_and_percentages(tmp_path):
    def fill(book):
        one = book.active
        one.title = "First"
        one["B2"], one["C2"] = "Total N", 0.0205
        one["C2"].number_format = "0.00%"
        one["C3"] = date(2026, 4, 27)
        one["C4"] = 1234.5
        book.create_sheet("Second")["A1"] = "ppm"

    found = read_document(write(tmp_path, "a.xlsx", workbook(fill)))
    assert [grid.sheet for grid in found.grids] == ["First", "Second"]
    cells = {(c.row, c.column): c for row in found.grids[0].rows for c in row}
    assert cells[2, 3].number == pytest.approx(2.05, rel=1e-12)
    assert cells[2, 3].percent
    assert cells[3, 3].date == date(2026, 4, 27)
    assert cells[4, 3].number == 1234.5
    assert str(found.grids[0].where(cells[2, 3])) == "a.xlsx, sheet “First”, row 2, column C"


def refused(path):
    with pytest.raises(UnreadableFile) as caught:
        read_document(path)
    error = caught.value
    assert error.where.file
    assert error.expected
    assert error.remedy
    return str(error)


def test_missing_folder_and_empty(tmp_path):
    assert "no such file" in refused(tmp_path / "none.csv")
    assert "folder" in refused(tmp_path)
    assert "empty" in refused(write(tmp_path, "a.csv", b""))
    assert "empty" in refused(write(tmp_path, "b.csv", b"\xef\xbb\xbf\r\n \r\n"))
    assert "empty" in refused(write(tmp_path, "c.csv", ",,,\n,,\n"))
    assert "empty" in refused(write(tmp_path, "d.xlsx", workbook(lambda book: None)))


def test_a_name_no_file_can_have(tmp_path):
    refused(tmp_path / "a\0b.csv")


def test_what_is_not_a_table_of_text(tmp_path):
    noise = random.Random(1).randbytes(5000)
    assert "not text" in refused(write(tmp_path, "a.csv", b"x" + noise))
    assert "picture" in refused(write(tmp_path, "b.csv", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + noise))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("readme.txt", "hello")
    assert "workbook" in refused(write(tmp_path, "c.xlsx", out.getvalue()))
    good = workbook(lambda book: book.active.append(["a", 1]))
    assert "opened" in refused(write(tmp_path, "d.xlsx", good[: len(good) // 2]))


def test_too_large(tmp_path, monkeypatch):
    path = write(tmp_path, "a.csv", "a,1\n" * 100)
    monkeypatch.setattr(tables, "MAX_CELLS", 50)
    assert "cells" in refused(path)
    monkeypatch.setattr(tables, "MAX_BYTES", 100)
    assert "MiB" in refused(path)


def test_cells_very_far_apart(tmp_path):
    def fill(book):
        book.active["A1"], book.active["XFD1048576"] = "Total N", 2

    assert "far apart" in refused(write(tmp_path, "a.xlsx", workbook(fill)))


def page(draw, password=None):
    from reportlab.lib.pdfencrypt import StandardEncryption
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    canvas = Canvas(out, encrypt=StandardEncryption(password) if password else None)
    draw(canvas)
    canvas.save()
    return out.getvalue()


def test_pages_that_hold_no_text(tmp_path):
    text = refused(write(tmp_path, "a.pdf", page(lambda canvas: canvas.rect(10, 10, 50, 50))))
    assert "scan" in text
    assert "CSV" in text


def test_locked_page(tmp_path):
    data = page(lambda canvas: canvas.drawString(50, 500, "Total N 2.05 %"), password="secret")
    assert "password" in refused(write(tmp_path, "a.pdf", data))


def test_broken_page(tmp_path):
    refused(write(tmp_path, "a.pdf", b"%PDF-1.4\nrubbish"))


def test_opendocument(tmp_path):
    """A hand-made ODS; percentages are refused because their display cannot be told from the number."""
    cell = '<table:table-cell office:value-type="{kind}" office:value="0.0205"><text:p>x</text:p></table:table-cell>'
    head = (
        '<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
        'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0">'
        '<office:body><office:spreadsheet><table:table table:name="T"><table:table-row>'
    )
    tail = "</table:table-row></table:table></office:spreadsheet></office:body></office:document-content>"
    for kind in ("float", "percentage"):
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as archive:
            archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
            archive.writestr(
                "META-INF/manifest.xml",
                '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>',
            )
            archive.writestr("content.xml", head + cell.format(kind=kind) + tail)
        path = write(tmp_path, f"{kind}.ods", out.getvalue())
        if kind == "float":
            assert read_document(path).grids[0].rows[0][0].number == 0.0205
        else:
            assert "percentages" in refused(path)


def test_column_letters():
    assert [column_letters(n) for n in (1, 26, 27, 703)] == ["A", "Z", "AA", "AAA"]
