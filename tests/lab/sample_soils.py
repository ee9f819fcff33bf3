"""Invented soil reports: Mehlich-3 with exchangeable cations, ten Olsen samples as rows, a page, no extractant."""

from __future__ import annotations

from pathlib import Path

from report_paper import Page, save_sheets
from sample_truth import CHARGE_KG_MOL, Row, Sample, plain, row, write_csv, write_truth


def cation(name: str, text: str, key: str) -> Row:
    """Return a line of an exchangeable cation in meq/100 g, counted as kg of the element per kg of soil."""
    return Row(name, text, "meq/100g", f"{key}:extractable", "dry", 0.01 * CHARGE_KG_MOL[key], rtol=1e-4)


def mehlich(folder: Path) -> None:
    """Print Mehlich-3 figures in ppm beside exchange capacity and cations in meq/100 g."""
    rows = [
        plain("Soil pH (1:1 water)", "6.6", "pH"),
        plain("Buffer pH", "7.1", "buffer_pH"),
        row("Organic Matter (LOI)", "5.4", "%", "organic_matter"),
        row("Phosphorus (Mehlich-3)", "118", "ppm", "P:extractable", counts="mg/kg"),
        row("Sulfur (Mehlich-3)", "17", "ppm", "S:extractable", counts="mg/kg"),
        row("Zinc (Mehlich-3)", "9.4", "ppm", "Zn:extractable", counts="mg/kg"),
        row("Boron (Mehlich-3)", "0.8", "ppm", "B:extractable", counts="mg/kg"),
        cation("Exchangeable Potassium (NH4OAc)", "0.48", "K"),
        cation("Exchangeable Calcium (NH4OAc)", "11.6", "Ca"),
        cation("Exchangeable Magnesium (NH4OAc)", "2.3", "Mg"),
        cation("Exchangeable Sodium (NH4OAc)", "0.11", "Na"),
        Row("Cation Exchange Capacity (CEC)", "14.9", "meq/100g", "CEC", "none", 0.01),
    ]
    cells = [["Brackwater Soil & Plant (invented)", None, None], ["SOIL REPORT", "air-dried soil", "invented sample"]]
    cells += [["Field / bed", "North border"], [], ["Test", "Result", "Units"]]
    cells += [[one.name, float(one.text), one.unit or None] for one in rows]
    save_sheets(folder / "soil-mehlich3.xlsx", {"Soil": cells})
    layout = "soil, Mehlich-3 in ppm, cations and CEC in meq/100 g"
    write_truth(folder, "soil-mehlich3.xlsx", layout, [Sample(rows, subject="soil")])


OLSEN = {
    "Bed 1": ("6.8", "41", "265", "5.2", "0.21"),
    "Bed 2": ("7.1", "38", "240", "4.9", "0.19"),
    "Bed 3": ("7.4", "63", "410", "6.6", "0.35"),
    "Bed 4": ("7.0", "29", "188", "4.1", "0.17"),
    "Bed 5": ("6.5", "22", "150", "3.8", "0.14"),
    "Bed 6": ("7.7", "18", "205", "3.2", "0.26"),
    "Bed 7": ("6.9", "55", "330", "6.0", "0.30"),
    "Bed 8": ("7.2", "47", "298", "5.5", "0.24"),
    "Bed 9": ("7.9", "12", "171", "2.7", "0.41"),
    "Bed 10": ("6.2", "34", "222", "4.6", "0.18"),
}


def olsen(folder: Path) -> None:
    """Print ten soils as rows, Olsen P and ammonium-acetate K."""
    header = ["Sample", "pH (water)", "Olsen P (mg/kg)", "K NH4OAc (mg/kg)", "Organic matter LOI (%)", "EC 1:5 (dS/m)"]
    samples = []
    for name, (ph, p, k, om, ec) in OLSEN.items():
        rows = [plain("pH", ph, "pH"), row("P", p, "mg/kg", "P:extractable"), row("K", k, "mg/kg", "K:extractable")]
        rows += [row("OM", om, "%", "organic_matter"), plain("EC", ec, "EC", factor=0.1)]
        samples.append(Sample(rows, name, "soil", findings=["several_samples"]))
    cells = [["Corran Field Laboratory (invented)"], ["Soil test results, invented garden, air-dried soil"], header]
    cells += [[name, *figures] for name, figures in OLSEN.items()]
    write_csv(folder / "soil-olsen.csv", cells)
    write_truth(folder, "soil-olsen.csv", "soil, ten samples as rows, Olsen P", samples)


def page(folder: Path) -> None:
    """Print a soil report as PDF with a column for the extractant."""
    figures = [
        ("pH (1:2 water)", "5.6", "", "electrode", "pH"),
        ("Organic matter", "4.4", "%", "ignition", "organic_matter"),
        ("Phosphorus", "31", "mg/kg", "Bray-1", "P:extractable"),
        ("Potassium", "96", "mg/kg", "NH4OAc", "K:extractable"),
        ("Zinc", "1.9", "mg/kg", "DTPA", "Zn:extractable"),
        ("Nitrate-N", "14", "mg/kg", "KCl", "NO3_N"),
    ]
    rows = [plain(n, t, k) if k == "pH" else row(n, t, u, k) for n, t, u, _, k in figures]
    paper = Page(folder / "soil-page.pdf", "Soil report (invented)")
    paper.lines(["Hollin Bay Analytical (invented)"], bold=True)
    paper.lines(["SOIL ANALYSIS REPORT    Bed: herb spiral (invented)    oven-dry soil", ""])
    cells = [["Analysis", "Result", "Unit", "Extractant / method"], *[[n, t, u, m] for n, t, u, m, _ in figures]]
    paper.table(cells, [150, 70, 70, 130], ruled=True)
    paper.save()
    write_truth(folder, "soil-page.pdf", "soil, PDF, extractant in a column of its own", [Sample(rows, subject="soil")])


def unnamed_extractant(folder: Path) -> None:
    """Print soil P and K without any extractant."""
    cells = [["Wyke Laboratories (invented)"], ["Soil analysis, invented sample"], [], ["Analysis", "Result", "Unit"]]
    cells += [["pH", "6.4", ""], ["Organic matter", "4.0", "%"]]
    cells += [["Phosphorus", "52", "mg/kg"], ["Potassium", "140", "mg/kg"]]
    write_csv(folder / "soil-no-extractant.csv", cells)
    questions = ["form of Phosphorus", "form of Potassium"]
    absent = ["P", "K", "P:extractable", "K:extractable"]
    sample = Sample([plain("pH", "6.4", "pH")], subject="soil", absent=absent, questions=questions)
    write_truth(folder, "soil-no-extractant.csv", "soil, no extractant named", [sample])


ALL = (mehlich, olsen, page, unnamed_extractant)
