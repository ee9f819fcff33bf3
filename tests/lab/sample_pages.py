"""Invented reports as PDF: ruled table, text aligned by position, two pages, and a page that is only a picture."""

from __future__ import annotations

from pathlib import Path

from report_paper import Page
from sample_truth import P2O5, Sample, moisture, plain, row, write_truth


def ruled(folder: Path) -> None:
    """Print a table with every cell drawn, thousands separated by commas."""
    rows = [
        moisture("82.1"),
        row("Total nitrogen", "3.61", "%", "N"),
        row("Total phosphorus", "4,350", "mg/kg", "P"),
        row("Total potassium", "26,400", "mg/kg", "K"),
        row("Total calcium", "5,120", "mg/kg", "Ca"),
        row("Iron", "1,208", "mg/kg", "Fe"),
        plain("pH", "6.5", "pH"),
    ]
    page = Page(folder / "ruled-table.pdf", "Report 26-3301 (invented)")
    page.lines(["Tarn & Fell Testing (invented)"], size=14, bold=True)
    page.lines(["Report 26-3301    Grass clippings, plant material (invented sample)"])
    page.lines(["Results are on a dry matter basis; moisture as received.", ""])
    page.table([["Analyte", "Result", "Unit"], *[[r.name, r.text, r.unit] for r in rows]], [190, 90, 90], ruled=True)
    page.lines(["Signed: an invented chemist"])
    page.save()
    write_truth(folder, "ruled-table.pdf", "PDF with a ruled table, commas between thousands", [Sample(rows)])


def aligned(folder: Path) -> None:
    """Print columns held apart by position alone."""
    rows = [
        row("Total Nitrogen", "2.28", "%", "N"),
        row("Phosphorus (as P2O5)", "0.33", "%", "P", times=P2O5),
        row("Potassium", "0.60", "%", "K"),
        row("Magnesium", "1290", "mg/kg", "Mg"),
        row("Copper", "18.7", "mg/kg", "Cu"),
        row("Cadmium", "<0.10", "mg/kg", "Cd"),
    ]
    page = Page(folder / "aligned-text.pdf", "Report HB-77 (invented)")
    page.lines(["Hollin Bay Analytical (invented)", "Matrix: spent coffee grounds, invented sample", ""])
    cells = [["Determination", "Result", "Unit", "Basis"], *[[r.name, r.text, r.unit, "dry"] for r in rows]]
    cells += [["Moisture", "59.4", "%", "as received"]]
    page.table(cells, [170, 70, 70, 90], ruled=False)
    page.save()
    layout = "PDF without rules, four columns told apart by position"
    write_truth(folder, "aligned-text.pdf", layout, [Sample([*rows, moisture("59.4")], findings=["non_detect"])])


def two_pages(folder: Path) -> None:
    """Print nutrients on one page and metals, header repeated, on the next."""
    first = [
        moisture("44.0"),
        row("Total N", "1.55", "%", "N"),
        row("Total P", "0.36", "%", "P"),
        row("Total K", "0.92", "%", "K"),
        row("Organic matter", "46.8", "%", "organic_matter"),
    ]
    second = [
        row("Arsenic", "4.4", "mg/kg", "As"),
        row("Lead", "61", "mg/kg", "Pb"),
        row("Nickel", "19", "mg/kg", "Ni"),
        row("Zinc", "204", "mg/kg", "Zn"),
    ]
    page = Page(folder / "two-pages.pdf", "Report OC-12 (invented)")
    head = ["Analyte", "Result", "Unit"]
    for number, rows in enumerate((first, second), start=1):
        page.lines(["Ostrey Compost Laboratory (invented)"], bold=True)
        page.lines([f"Finished compost, invented sample, dry basis unless stated    page {number} of 2", ""])
        cells = [[r.name + (" (as received)" if r.key == "moisture" else ""), r.text, r.unit] for r in rows]
        page.table([head, *cells], [190, 90, 90], ruled=True)
        page.lines(["End of report" if number == 2 else "continued"])
        if number == 1:
            page.next_page()
    page.save()
    layout = "PDF of two pages, ruled tables, header repeated"
    write_truth(folder, "two-pages.pdf", layout, [Sample([*first, *second])])


def picture_only(folder: Path) -> None:
    """Print a page of drawn boxes without a single letter, as a scan would be."""
    page = Page(folder / "scan.pdf", "scan (invented)")
    for step in range(12):
        page.canvas.rect(60, 700 - 30 * step, 200 + 10 * (step % 3), 12, fill=1)
    page.save()
    write_truth(folder, "scan.pdf", "PDF without any text, as from a scanner", error="UnreadableFile")


ALL = (ruled, aligned, two_pages, picture_only)
