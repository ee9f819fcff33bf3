"""Invented reports on organic materials, in the layouts laboratories print as CSV and XLSX."""

from __future__ import annotations

from pathlib import Path

from openpyxl import Workbook
from report_paper import fill, save_sheets, save_workbook, widen
from sample_truth import CAO, K2O, MGO, NO3, P2O5, Sample, moisture, plain, printed, row, write_csv, write_truth

BRACKWATER = "Brackwater Soil & Plant (invented)"
HOLLIN = "Hollin Bay Analytical (invented)"


def label_check_rows(potassium: str) -> list:
    """Return the lines of the label check: totals beside extractable figures, all dry but the moisture."""
    return [
        moisture("61.2"),
        plain("pH (1:5 water)", "5.4", "pH"),
        row("Total Nitrogen (N)", "2.05", "%", "N"),
        row("Total Phosphorus (P)", "1300", "mg/kg", "P"),
        row("Total Potassium (K)", "6200", "mg/kg", "K"),
        row("Extractable Phosphorus (P)", "880", "mg/kg", "P:extractable"),
        row("Extractable Potassium (K)", potassium, "mg/kg", "K:extractable"),
        row("Ammonium-N (NH4-N)", "5.2", "mg/kg", "NH4_N"),
        row("Nitrate-N (NO3-N)", "3.1", "mg/kg", "NO3_N"),
        row("Organic Carbon", "49.8", "%", "C"),
        row("Ash", "1.9", "%", "ash"),
    ]


def label_check(folder: Path) -> None:
    """Print the label check, potassium 3 % above total, and its twin at 30 %."""
    for name, potassium in (("label-check", "6400"), ("label-check-excess", "8060")):
        rows = label_check_rows(potassium)
        head = [[BRACKWATER], ["Report on: organic material, spent coffee grounds (invented sample)"]]
        head += [["Date reported", "2026-10-19"], ["All results on dry matter basis, moisture as received"], []]
        body = [["Parameter", "Result", "Units"], *printed(rows)]
        write_csv(folder / f"{name}.csv", head + body)
        write_truth(folder, f"{name}.csv", "analytes down, unit column, basis in a line on top", [Sample(rows)])


def used_and_unused(folder: Path) -> None:
    """Print the ends of the trade's range for spent grounds and the acidity of used and unused coffee."""
    values = {"Used 1": ("1.18", "5.4"), "Used 2": ("2.05", "5.4"), "Unused": ("2.4", "5.88")}
    cells = [[BRACKWATER], ["Ground coffee, used and unused (invented)"], ["Sample", "Total N (% dry basis)", "pH"]]
    cells += [[name, *figures] for name, figures in values.items()]
    samples = [
        Sample([row("N", n, "%", "N"), plain("pH", ph, "pH")], name, findings=["several_samples"])
        for name, (n, ph) in values.items()
    ]
    write_csv(folder / "used-and-unused.csv", cells)
    write_truth(folder, "used-and-unused.csv", "three samples as rows, nothing but nitrogen and pH", samples)


def unit_and_basis_columns(folder: Path) -> None:
    """Print analytes down with columns for unit, basis and method, in an order of its own."""
    dry = [
        row("Nitrogen, total", "0.94", "%", "N"),
        row("Phosphorus", "0.11", "%", "P"),
        row("Potassium", "0.38", "%", "K"),
        row("Calcium", "1.62", "%", "Ca"),
        row("Zinc", "58", "mg/kg", "Zn"),
        row("Carbon, total", "46.5", "%", "C"),
    ]
    rows = [moisture("34.0"), *dry, plain("Carbon : Nitrogen ratio", "49.5", "CN"), plain("pH", "6.3", "pH")]
    basis = {"dry": "dry", "as_received": "as received", "none": "-"}
    body = [[one.unit or "-", one.text, basis[one.basis], one.name, "house method"] for one in rows]
    head = [[HOLLIN, "", "", "", ""], ["Leaves, municipal, invented sample 4", "", "", "", ""]]
    cells = [*head, ["Unit", "Found", "Basis", "Determination", "Method"], *body]
    write_csv(folder / "unit-and-basis-columns.csv", cells)
    layout = "analytes down; unit left of the value, basis column, name in the fourth column"
    write_truth(folder, "unit-and-basis-columns.csv", layout, [Sample(rows)])


def units_in_parentheses(folder: Path) -> None:
    """Print two columns, the unit in brackets after the name."""
    rows = [
        moisture("78.4", "Moisture (% as received)"),
        row("Total Nitrogen (% dry matter)", "3.35", "%", "N"),
        row("Phosphorus (g/kg dry matter)", "4.1", "g/kg", "P"),
        row("Potassium (g/kg dry matter)", "24.6", "g/kg", "K"),
        row("Magnesium (g/kg dry matter)", "2.5", "g/kg", "Mg"),
        row("Copper (ppm dry matter)", "9.2", "mg/kg", "Cu"),
        plain("Bulk density (kg/m3)", "212", "bulk_density", factor=1.0),
    ]
    cells = [["Laboratory: Tarn & Fell Testing (invented)"], ["Material", "grass clippings (invented)"], []]
    cells += [["Test", "Result"], *[[one.name, one.text] for one in rows]]
    write_csv(folder / "units-in-parentheses.csv", cells)
    layout = "two columns, unit and basis in parentheses after the name"
    write_truth(folder, "units-in-parentheses.csv", layout, [Sample(rows)])


def units_row(folder: Path) -> None:
    """Print analytes across, a row of units below the header, three samples."""
    header = ["Sample ID", "Moisture", "Total N", "P2O5", "K2O", "Organic matter", "pH"]
    units = [None, "% as rec'd", "% DM", "% DM", "% DM", "% DM", None]
    values = {
        "Compost A (invented)": ("41.5", "1.62", "0.84", "1.10", "48.2", "7.4"),
        "Compost B (invented)": ("38.0", "1.21", "0.62", "0.95", "39.7", "7.8"),
        "Compost C (invented)": ("47.3", "1.98", "1.05", "1.42", "55.1", "7.1"),
    }
    samples = []
    for name, (wet, n, p, k, om, ph) in values.items():
        rows = [moisture(wet), row("N", n, "%", "N"), row("P2O5", p, "%", "P", times=P2O5)]
        rows += [row("K2O", k, "%", "K", times=K2O), row("OM", om, "%", "organic_matter"), plain("pH", ph, "pH")]
        samples.append(Sample(rows, name, findings=["several_samples"]))
    cells = [["Ostrey Compost Laboratory (invented)"], [], header, units]
    cells += [[name, *map(float, numbers)] for name, numbers in values.items()]
    save_sheets(folder / "units-row.xlsx", {"Results": cells})
    write_truth(folder, "units-row.xlsx", "analytes across, units in the row below the header, three samples", samples)


def samples_as_rows(folder: Path) -> None:
    """Print five samples as rows, the unit in each column heading."""
    header = "Lab no.,Description,Dry matter %,Total N % DM,Total P mg/kg DM,Total K mg/kg DM,Total C % DM,C/N"
    values = {
        "26-1141": ("arborist chips", "55.0", "0.41", "480", "2900", "47.9", "116.8"),
        "26-1142": ("cardboard", "92.1", "0.08", "90", "310", "43.8", "547.5"),
        "26-1143": ("spent grounds", "38.6", "2.21", "1480", "5100", "50.4", "22.8"),
        "26-1144": ("tea leaves", "21.7", "3.62", "2300", "9800", "47.2", "13.0"),
        "26-1145": ("vegetable trimmings", "12.4", "2.85", "4400", "33500", "41.0", "14.4"),
    }
    samples = []
    for name, (_, dm, n, p, k, c, cn) in values.items():
        rows = [row("N", n, "%", "N"), row("P", p, "mg/kg", "P"), row("K", k, "mg/kg", "K"), row("C", c, "%", "C")]
        wet = {"value": 1 - float(dm) / 100, "basis": "as_received", "rtol": 1e-9}
        rows.append(plain("C/N", cn, "CN"))
        samples.append(Sample(rows, name, extra={"moisture": wet}, findings=["several_samples"]))
    cells = [["Penhallow Organics Lab (invented)"], ["Invented results, materials for composting"], header.split(",")]
    cells += [[name, *rest] for name, rest in values.items()]
    write_csv(folder / "samples-as-rows.csv", cells)
    write_truth(folder, "samples-as-rows.csv", "analytes across, units in the headings, samples as rows", samples)


def dry_and_wet(folder: Path) -> None:
    """Print an as-received and a dry column side by side; moisture 60 % makes the dry figure 2.5 times the wet one."""
    pairs = [
        ("Nitrogen, total", "%", "0.74", "1.85", "N", 1.0),
        ("Phosphate, total (P2O5)", "%", "0.40", "1.00", "P", P2O5),
        ("Potash, total (K2O)", "%", "0.62", "1.55", "K", K2O),
        ("Calcium", "mg/kg", "8400", "21000", "Ca", 1.0),
        ("Organic matter (ignition)", "%", "24.0", "60.0", "organic_matter", 1.0),
        ("Ash", "%", "16.0", "40.0", "ash", 1.0),
    ]
    dry = [row(name, d, unit, key, times=times) for name, unit, _, d, key, times in pairs]
    wet = [row(name, w, unit, key, basis="as_received", times=times) for name, unit, w, _, key, times in pairs]
    cells = [[BRACKWATER, "Compost analysis", "invented"], []]
    cells += [["Analyte", "Unit", "As received", "Dry basis"], ["Moisture", "%", 60.0, None]]
    cells += [[name, unit, float(w), float(d)] for name, unit, w, d, _, _ in pairs]
    cells += [["pH", None, 7.6, None], ["Conductivity 1:5", "mS/cm", 2.4, None]]
    rows = [moisture("60.0"), *dry, plain("pH", "7.6", "pH"), plain("EC", "2.4", "EC", factor=0.1)]
    save_sheets(folder / "dry-and-wet.xlsx", {"Report 26-0870": cells})
    sample = Sample(rows, also={one.key: [one.truth] for one in wet})
    write_truth(folder, "dry-and-wet.xlsx", "as-received and dry columns side by side", [sample])


def block_and_table(folder: Path) -> None:
    """Print a block of facts, merged cells, a table in the middle of the sheet, and a sheet of no interest."""
    rows = [
        row("Total Kjeldahl nitrogen (TKN)", "3.92", "%", "N"),
        row("Phosphorus, total", "0.56", "%", "P"),
        row("Potassium, total", "0.09", "%", "K"),
        row("Sulphur, total", "0.31", "%", "S"),
        row("Calcium as CaO", "0.46", "%", "Ca", times=CAO),
        row("Magnesium as MgO", "0.35", "%", "Mg", times=MGO),
    ]
    book = Workbook()
    sheet = book.active
    sheet.title = "Certificate"
    sheet.merge_cells("B2:F2")
    sheet["B2"] = "CERTIFICATE OF ANALYSIS: Wyke Laboratories (invented)"
    block = [["Client", None, "Fernmoor Commons (invented)"], ["Sample", None, "Brewer's grain, invented"]]
    fill(sheet, [*block, ["Received", None, "12 October 2026"], ["Condition", None, "wet, cool"]], row=4, column=2)
    sheet.merge_cells("C10:E10")
    sheet["C10"] = "Results, dry matter basis"
    fill(sheet, [["Determinand", "Result", "Unit", "Accredited"]], row=12, column=3, bold_first=True)
    fill(sheet, [[one.name, float(one.text), one.unit, "yes"] for one in rows[:3]], row=13, column=3)
    fill(sheet, [[one.name, float(one.text), one.unit, "no"] for one in rows[3:]], row=17, column=3)
    fill(sheet, [["Moisture (as received)", 76.5, "%", "yes"]], row=21, column=3)
    sheet["B24"] = "Results refer to the sample as submitted. Page 1 of 1."
    other = book.create_sheet("Price list")
    fill(other, [["Service", "Price"], ["Nitrogen", 18.5], ["Metals package", 64.0], ["Courier", 12.0]])
    widen(sheet)
    save_workbook(book, folder / "block-and-table.xlsx")
    layout = "facts on top, table in the middle of the sheet with a gap, merged cells, a price list as second sheet"
    write_truth(folder, "block-and-table.xlsx", layout, [Sample([*rows, moisture("76.5")])])


def replicates(folder: Path) -> None:
    """Print three replicates and their mean."""
    triples = [
        ("Total nitrogen", "%", (1.44, 1.50, 1.56), "N"),
        ("Total phosphorus", "mg/kg", (3300, 3500, 3700), "P"),
        ("Total potassium", "mg/kg", (11800, 12400, 13000), "K"),
        ("Zinc", "mg/kg", (96, 104, 100), "Zn"),
    ]
    cells = [["Corran Field Laboratory (invented)"], ["Horse manure with straw, dry basis, invented sample"], []]
    cells += [["Analyte", "Unit", "Rep 1", "Rep 2", "Rep 3", "Mean"]]
    cells += [[name, unit, *reps, sum(reps) / 3] for name, unit, reps, _ in triples]
    rows = [row(name, f"{sum(reps) / 3:g}", unit, key) for name, unit, reps, key in triples]
    save_sheets(folder / "replicates.xlsx", {"Data": cells})
    sample = Sample(rows)
    for name, unit, reps, key in triples:
        factor = row(name, "1", unit).factor
        mean = next(one.truth for one in rows if one.key == key)
        sample.extra[key] = mean | {"replicates": [rep * factor for rep in reps]}
    write_truth(folder, "replicates.xlsx", "three replicate columns and a mean", [sample])


def french(folder: Path) -> None:
    """Print a French report: decimal commas, semicolons, cp1252."""
    rows = [
        row("Azote total (N)", "2,31", "% MS", "N", counts="%"),
        row("Phosphore (P2O5)", "0,41", "% MS", "P", counts="%", times=P2O5),
        row("Potassium (K2O)", "0,72", "% MS", "K", counts="%", times=K2O),
        row("Matière organique", "96,4", "% MS", "organic_matter", counts="%"),
        row("Cuivre", "18,5", "mg/kg MS", "Cu", counts="mg/kg"),
    ]
    dm = {"value": 1 - 0.415, "basis": "as_received", "rtol": 1e-9}
    cells = [["Laboratoire du Vieux Pont (inventé / invented)"], ["Échantillon : marc de café, matière organique"], []]
    cells += [["Paramètre", "Résultat", "Unité"], ["Matière sèche", "41,5", "% MB"], *printed(rows)]
    cells += [["pH (eau)", "5,9", ""]]
    write_csv(folder / "francais.csv", cells, delimiter=";", encoding="cp1252")
    sample = Sample([*rows, plain("pH", "5.9", "pH")], extra={"moisture": dm})
    write_truth(folder, "francais.csv", "French, decimal commas, semicolons, cp1252", [sample])


def german(folder: Path) -> None:
    """Print a German report: decimal commas, semicolons, cp1252, thousands with a point."""
    rows = [
        row("Gesamtstickstoff (N)", "1,48", "% TM", "N", counts="%"),
        row("Phosphat (P2O5)", "0,77", "% TM", "P", counts="%", times=P2O5),
        row("Kalium (K2O)", "1,24", "% TM", "K", counts="%", times=K2O),
        row("Blei (Pb)", "32,6", "mg/kg TM", "Pb", counts="mg/kg"),
        row("Cadmium (Cd)", "<0,20", "mg/kg TM", "Cd", counts="mg/kg"),
    ]
    cells = [["Prüflabor Hinterwies (erfunden / invented)"], ["Probe: Grünschnittkompost"], []]
    cells += [["Parameter", "Messwert", "Einheit"], ["Wassergehalt", "39,8", "% FM"], *printed(rows)]
    cells += [["Eisen (Fe)", "8.450", "mg/kg TM"], ["pH-Wert", "7,9", ""]]
    write_csv(folder / "deutsch.csv", cells, delimiter=";", encoding="cp1252")
    iron = {"value": 8450e-6, "basis": "dry", "rtol": 1e-9}
    sample = Sample([moisture("39.8"), *rows, plain("pH", "7.9", "pH")], findings=["non_detect"], extra={"Fe": iron})
    write_truth(folder, "deutsch.csv", "German, decimal commas, a point between thousands, cp1252", [sample])


def utf16(folder: Path) -> None:
    """Print tab-separated UTF-16, nitrate as the ion, ammonia as nitrogen."""
    rows = [
        row("Total N", "2.62", "% dry", "N", counts="%"),
        row("Nitrate (NO3)", "310", "mg/kg dry", "NO3_N", counts="mg/kg", times=NO3),
        row("Ammonium-N", "96", "mg/kg dry", "NH4_N", counts="mg/kg"),
        row("Total P", "0.93", "% dry", "P", counts="%"),
        row("Total K", "1.71", "% dry", "K", counts="%"),
    ]
    cells = [["Lab", "Skerry Environmental (invented)"], ["Matrix", "worm castings"], []]
    cells += [["Parameter", "Value", "Units"], ["Moisture", "68.9", "% as received"], *printed(rows)]
    write_csv(folder / "tabs-utf16.tsv", cells, delimiter="\t", encoding="utf-16")
    write_truth(folder, "tabs-utf16.tsv", "tab-separated UTF-16; nitrate as ion", [Sample([moisture("68.9"), *rows])])


def pounds_per_ton(folder: Path) -> None:
    """Print a manure report as received, pounds per short ton, phosphate and potash."""
    rows = [
        row("Total Nitrogen (N)", "11.4", "lb/ton", "N", basis="as_received"),
        row("Phosphate (P2O5)", "5.0", "lb/ton", "P", basis="as_received", times=P2O5),
        row("Potash (K2O)", "9.2", "lb/ton", "K", basis="as_received", times=K2O),
        row("Ammonium Nitrogen (NH4-N)", "1.3", "lb/ton", "NH4_N", basis="as_received"),
        row("Sulfur (S)", "1.8", "lb/ton", "S", basis="as_received"),
    ]
    cells = [["Dunmarrow County Manure Lab (invented)"], ["Manure type", "Horse, with straw bedding"]]
    cells += [["Reported as received (wet) basis"], [], ["Nutrient", "Result", "Unit"], ["Moisture", "66.5", "%"]]
    write_csv(folder / "pounds-per-ton.csv", cells + printed(rows))
    layout = "as received, lb per short ton, P2O5 and K2O"
    write_truth(folder, "pounds-per-ton.csv", layout, [Sample([moisture("66.5"), *rows])])


def metals(folder: Path) -> None:
    """Print metals with reporting limits; lead is above CCME category A (150), cadmium's limit above its 3 mg/kg."""
    figures = [
        ("Arsenic", "6.1", "0.5", "As"),
        ("Cadmium", "<5.0", "5.0", "Cd"),
        ("Chromium", "41", "1.0", "Cr"),
        ("Copper", "128", "1.0", "Cu"),
        ("Lead", "212", "2.0", "Pb"),
        ("Mercury", "<0.05", "0.05", "Hg"),
        ("Nickel", "24", "1.0", "Ni"),
        ("Selenium", "<0.5", "0.5", "Se"),
        ("Zinc", "366", "2.0", "Zn"),
    ]
    rows = [row(name, text, "mg/kg", key) for name, text, _, key in figures]
    cells = [["Brackwater Soil & Plant (invented)", None, None], ["Finished compost, invented sample", None, None], []]
    cells += [["Element", "Result, mg/kg dry weight", "Reporting limit, mg/kg dry weight"]]
    cells += [[name, text if text[0] == "<" else float(text), float(limit)] for name, text, limit, _ in figures]
    save_sheets(folder / "metals.xlsx", {"Trace elements": cells})
    sample = Sample(rows, findings=["non_detect"])
    write_truth(folder, "metals.xlsx", "unit in the column heading, reporting-limit column, non-detects", [sample])


ALL = (
    label_check,
    used_and_unused,
    unit_and_basis_columns,
    units_in_parentheses,
    units_row,
    samples_as_rows,
    dry_and_wet,
    block_and_table,
    replicates,
    french,
    german,
    utf16,
    pounds_per_ton,
    metals,
)
