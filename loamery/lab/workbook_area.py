"""What a workbook archive says of its own size and number formats, read before its cells are."""

from __future__ import annotations

import io
import re
import zipfile


def area(archive: zipfile.ZipFile) -> int:
    """Return the largest number of cells that a sheet of an XLSX or ODS archive spans, filled or not."""
    largest = 0
    for name in archive.namelist():
        if re.match(r"xl/worksheets/[^/]+\.xml$", name):
            largest = max(largest, _sheet_area(archive.read(name)))
        elif name == "content.xml":
            largest = max(largest, _repeated(archive.read(name)))
    return largest


def _sheet_area(xml: bytes) -> int:
    rows = columns = 0
    for letters, digits in re.findall(rb'<(?:\w+:)?c\b[^>]*?\br="([A-Za-z]{1,3})(\d{1,7})"', xml):
        number = 0
        for letter in letters.upper():
            number = number * 26 + letter - 64
        rows, columns = max(rows, int(digits)), max(columns, number)
    return rows * columns


def _repeated(xml: bytes) -> int:
    """Return the largest repeat count of an ODS cell or row that holds something, as if it were an area."""
    cells = re.findall(rb'number-columns-repeated="(\d+)"[^>]*office:value', xml)
    rows = re.findall(rb'number-rows-repeated="(\d+)"[^>]*>\s*<table:table-cell[^>]*office:value', xml)
    return max((int(count) for count in cells), default=0) * 1000 + max((int(n) for n in rows), default=0) * 1000


def percent_in_ods(archive: zipfile.ZipFile) -> bool:
    """Tell whether an ODS archive holds cells shown as percentages."""
    return "content.xml" in archive.namelist() and b'value-type="percentage"' in archive.read("content.xml")


def has_percent_style(data: bytes) -> bool:
    """Tell whether a cell style of an XLSX archive shows numbers as percentages."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        if "xl/styles.xml" not in archive.namelist():
            return False
        xml = archive.read("xl/styles.xml").decode("utf-8", "replace")
    shown = {"9", "10"} | set(re.findall(r'<numFmt\b[^>]*numFmtId="(\d+)"[^>]*formatCode="[^"]*%', xml))
    shown |= set(re.findall(r'<numFmt\b[^>]*formatCode="[^"]*%[^"]*"[^>]*numFmtId="(\d+)"', xml))
    styles = re.search(r"<cellXfs\b.*?</cellXfs>", xml, re.S)
    return styles is not None and any(one in shown for one in re.findall(r'numFmtId="(\d+)"', styles[0]))
