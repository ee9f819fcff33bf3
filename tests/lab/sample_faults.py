"""Invented reports with the faults that reach a grower's desk, and files that are no report at all."""

from __future__ import annotations

import random
import zipfile
from datetime import date
from pathlib import Path

from report_paper import FIXED_TIME, save_sheets
from sample_truth import Row, Sample, moisture, plain, printed, row, write_csv, write_truth

HEAD = ["Analyte", "Result", "Unit"]
DRY = "Results on dry matter basis, moisture as received"


def _title(lab: str, matrix: str, note: str = DRY) -> list[list[str]]:
    return [[f"{lab} (invented)"], [f"{matrix}, invented sample"], [note] if note else [], []]


def _three() -> list[Row]:
    return [
        row("Total nitrogen", "1.92", "%", "N"),
        row("Total phosphorus", "1450", "mg/kg", "P"),
        row("Total potassium", "4800", "mg/kg", "K"),
    ]


def date_text(folder: Path) -> None:
    """Print a range 4-27 that a spreadsheet turned into 27-Apr, and saved as text."""
    cells = [*_title("Penhallow Organics Lab", "Leaves"), HEAD, *printed(_three()), ["Moisture", "27-Apr", "%"]]
    write_csv(folder / "date-text.csv", cells)
    sample = Sample(_three(), absent=["moisture"], questions=["value of Moisture"], findings=["date_in_value"])
    write_truth(folder, "date-text.csv", "a value that a spreadsheet turned into 27-Apr", [sample])


def date_cell(folder: Path) -> None:
    """Print real date cells where numbers belong."""
    cells = [*_title("Penhallow Organics Lab", "Wood chips"), HEAD, *printed(_three())]
    cells += [["Moisture", date(2026, 4, 27), "%"], ["Zinc", date(2026, 12, 18), "mg/kg"]]
    save_sheets(folder / "date-cell.xlsx", {"Results": cells})
    questions = ["value of Moisture", "value of Zinc"]
    sample = Sample(_three(), absent=["moisture", "Zn"], questions=questions, findings=["date_in_value"])
    write_truth(folder, "date-cell.xlsx", "date cells where numbers belong; numbers kept as text", [sample])


def no_units(folder: Path) -> None:
    """Print figures without any unit."""
    cells = [*_title("Wyke Laboratories", "Compost"), ["Analyte", "Result"]]
    cells += [["Total nitrogen", "1.92"], ["Total phosphorus", "1450"], ["pH", "7.2"], ["C:N ratio", "14.5"]]
    write_csv(folder / "no-units.csv", cells)
    rows = [plain("pH", "7.2", "pH"), plain("C:N ratio", "14.5", "CN")]
    questions = ["unit of Total nitrogen", "unit of Total phosphorus"]
    sample = Sample(rows, absent=["N", "P"], questions=questions, findings=["unit_missing"])
    write_truth(folder, "no-units.csv", "no unit anywhere", [sample])


def two_blocks(folder: Path) -> None:
    """Print two samples one below the other, each with its own heading."""
    cells = [["Skerry Environmental (invented)"], ["Organic materials, dry basis (invented)"], []]
    samples = []
    for name, figures in {"Grounds A": ("2.10", "1390", "5900"), "Grounds B": ("2.42", "1510", "7400")}.items():
        rows = [row("Total N", figures[0], "%", "N"), row("Total P", figures[1], "mg/kg", "P")]
        rows += [row("Total K", figures[2], "mg/kg", "K")]
        cells += [["Sample", name], HEAD, *printed(rows), []]
        samples.append(Sample(rows, name, findings=["several_samples"]))
    write_csv(folder / "two-blocks.csv", cells)
    write_truth(folder, "two-blocks.csv", "two samples stacked, each with its own header", samples)


def two_columns(folder: Path) -> None:
    """Print two samples side by side as columns."""
    figures = [("Total nitrogen", "%", "N", 0.52, 3.40), ("Total phosphorus", "mg/kg", "P", 610, 5400)]
    figures += [("Total potassium", "mg/kg", "K", 2700, 900)]
    cells = [*_title("Ostrey Compost Laboratory", "Organic materials", "all results dry basis")]
    cells += [["Analyte", "Unit", "Chips pile 2", "Grain tote 7"]]
    cells += [[name, unit, one, other] for name, unit, _, one, other in figures]
    save_sheets(folder / "two-columns.xlsx", {"Sheet1": cells})
    samples = [
        Sample([row(f[0], str(f[place]), f[1], f[2]) for f in figures], name, findings=["several_samples"])
        for place, name in ((3, "Chips pile 2"), (4, "Grain tote 7"))
    ]
    write_truth(folder, "two-columns.xlsx", "two samples side by side as columns", samples)


def quality_rows(folder: Path) -> None:
    """Print duplicates, blanks, spikes, differences and limits between the results."""
    rows = _three()
    cells = [*_title("Skerry Environmental", "Horse manure"), HEAD]
    for one, again in zip(rows, ("1.98", "1405", "4920"), strict=True):
        cells += [[one.name, one.text, one.unit], [f"{one.name} (duplicate)", again, one.unit]]
    cells += [["Method blank, nitrogen", "<0.01", "%"], ["RPD total nitrogen", "3.1", "%"]]
    cells += [["Spike recovery, phosphorus", "97", "%"], ["Reporting limit, phosphorus", "10", "mg/kg"]]
    write_csv(folder / "quality-rows.csv", cells)
    sample = Sample(rows, findings=["qc_row_skipped"])
    write_truth(folder, "quality-rows.csv", "quality-control rows mixed in", [sample])


def unknown_analytes(folder: Path) -> None:
    """Print rows nobody has heard of."""
    cells = [*_title("Tarn & Fell Testing", "Compost"), HEAD, *printed(_three())]
    cells += [["Vigour quotient", "4.2", "index"], ["Fraction Q", "11", "%"], ["Loam number", "7", ""]]
    write_csv(folder / "unknown-analytes.csv", cells)
    write_truth(folder, "unknown-analytes.csv", "unknown analytes", [Sample(_three(), findings=["unknown_analyte"])])


def no_basis(folder: Path) -> None:
    """Print figures that do not say whether they are dry or as received."""
    cells = [*_title("Corran Field Laboratory", "Spent grounds", ""), HEAD, *printed(_three()), ["pH", "5.6", ""]]
    write_csv(folder / "no-basis.csv", cells)
    sample = Sample([plain("pH", "5.6", "pH")], questions=["basis"], findings=["basis_not_stated"])
    write_truth(folder, "no-basis.csv", "no basis stated anywhere", [sample])


def negative(folder: Path) -> None:
    """Print a blank-corrected negative concentration."""
    cells = [*_title("Hollin Bay Analytical", "Compost"), HEAD, *printed(_three()), ["Cadmium", "-0.02", "mg/kg"]]
    write_csv(folder / "negative.csv", cells)
    sample = Sample(_three(), absent=["Cd"], findings=["negative_value"])
    write_truth(folder, "negative.csv", "a negative concentration", [sample])


def over_hundred(folder: Path) -> None:
    """Print an organic matter of 148 %."""
    cells = [*_title("Hollin Bay Analytical", "Compost"), HEAD, *printed(_three()), ["Organic matter", "148", "%"]]
    write_csv(folder / "over-hundred.csv", cells)
    write_truth(folder, "over-hundred.csv", "a percentage above 100", [Sample(_three(), findings=["percent_over_100"])])


def repeated(folder: Path) -> None:
    """Print the same analyte twice with another unit and another value."""
    cells = [*_title("Wyke Laboratories", "Compost"), HEAD, *printed(_three()), ["Zinc", "88", "mg/kg"]]
    cells += [["Zinc", "0.0131", "%"]]
    write_csv(folder / "repeated.csv", cells)
    write_truth(folder, "repeated.csv", "one analyte twice", [Sample(_three(), findings=["duplicate_analyte"])])


def non_detects(folder: Path) -> None:
    """Print the many ways to say 'not found' and a value that is no number."""
    rows = [*_three(), row("Lead", "< 5", "mg/kg", "Pb"), row("Mercury", "<0.1", "mg/kg", "Hg")]
    below = {"censored": "below", "limit": None, "basis": "dry"}
    cells = [*_title("Brackwater Soil & Plant", "Compost"), HEAD, *printed(rows), ["Cadmium", "ND", "mg/kg"]]
    cells += [["Nickel", "trace", "mg/kg"], ["Zinc", "see note", "mg/kg"], ["Copper", "", "mg/kg"]]
    write_csv(folder / "non-detects.csv", cells)
    extra = {"Cd": below, "Ni": {"censored": "trace", "basis": "dry"}}
    sample = Sample(rows, absent=["Zn", "Cu"], findings=["non_detect", "unreadable_value"], extra=extra)
    write_truth(folder, "non-detects.csv", "several spellings of a non-detect, and words for a value", [sample])


def mixed_encodings(folder: Path) -> None:
    """Print UTF-8 lines beside a cp1252 line, as after copying between programs."""
    rows = [moisture("58.0"), *_three()]
    lines = ["Prüflabor Hinterwies (invented)", "Spent grounds, dry basis, Größe < 2 mm", "", ",".join(HEAD)]
    lines += [",".join(one) for one in printed(rows)]
    parts = [line.encode("cp1252" if number == 1 else "utf-8") for number, line in enumerate(lines)]
    (folder / "mixed-encodings.csv").write_bytes(b"\r\n".join(parts) + b"\r\n")
    sample = Sample(rows, findings=["encoding_guessed"])
    write_truth(folder, "mixed-encodings.csv", "one cp1252 line in a UTF-8 file", [sample])


POEM = """Invented, like the rain in it
The barrow stands where it was left,
a puddle in its bowl, and both
have brought the sky a little down.
Somebody, come, and tip it out.
"""


def not_reports(folder: Path) -> None:
    """Write files that are no reports; each must be refused by name."""
    (folder / "empty.csv").write_bytes(b"")
    save_sheets(folder / "empty-sheet.xlsx", {"Invented": []})
    (folder / "poem.csv").write_text(POEM, encoding="utf-8", newline="\n")
    (folder / "random.pdf").write_bytes(random.Random(20261125).randbytes(4096))
    with zipfile.ZipFile(folder / "zip-named.xlsx", "w") as archive:
        archive.writestr(zipfile.ZipInfo("note.txt", FIXED_TIME), "an invented archive, not a workbook")
    layouts = {
        "empty.csv": "nothing at all",
        "empty-sheet.xlsx": "a workbook with one empty sheet",
        "poem.csv": "a poem",
        "random.pdf": "random bytes",
        "zip-named.xlsx": "a plain archive with the wrong name",
    }
    for file, layout in layouts.items():
        write_truth(folder, file, layout, error="UnreadableFile")


ALL = (
    date_text,
    date_cell,
    no_units,
    two_blocks,
    two_columns,
    quality_rows,
    unknown_analytes,
    no_basis,
    negative,
    over_hundred,
    repeated,
    non_detects,
    mixed_encodings,
    not_reports,
)
