"""Write the laboratory files of the demo garden; every figure is invented, and several hold a fault on purpose.

Run from anywhere: python examples/make_demo_reports.py. The faults and what would be right stand in `FAULTS`.
"""

from __future__ import annotations

import argparse
import csv
import io
import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

from report_paper import Page, save_sheets

ROOT = Path(__file__).resolve().parents[1]
TARGET = ROOT / "loamery" / "demo" / "garden" / "reports"
FAULTS_FILE = ROOT / "tests" / "demo" / "planted_faults.json"

FAULTS: list[dict[str, object]] = [
    {
        "file": "grain-wyke.csv",
        "material": "grain",
        "key": "N",
        "fault": "percent printed as mg/kg",
        "printed": "4.1 mg/kg",
        "right_si": 0.041,
        "code": "unit_slip",
    },
    {
        "file": "grass-tarn-fell.xlsx",
        "material": "grass",
        "key": "P",
        "fault": "oxide under the heading of the element (P2O5 0.92 %, K2O 2.90 %)",
        "printed": "0.92 %",
        "right_si": 0.004015,
        "code": "oxide_as_element",
    },
    {
        "file": "manure-dunmarrow.xlsx",
        "material": "manure",
        "key": "K",
        "fault": "wet value in the dry column",
        "printed": "0.45 % dry",
        "right_si": 0.013636,
        "code": "wet_dry_disagree",
    },
    {
        "file": "leaves-penhallow.xlsx",
        "material": "leaves",
        "key": "moisture",
        "fault": "a range 4-27 or a value turned into a date cell",
        "printed": "27 April 2026",
        "right_si": None,
        "code": "date_in_value",
    },
    {
        "file": "town-compost-ostrey.pdf",
        "material": "town-compost",
        "key": "Cd",
        "fault": "reporting limit 5 mg/kg above the CCME category A limit of 3 mg/kg",
        "printed": "<5.0 mg/kg",
        "right_si": None,
        "code": "limit_unknown",
    },
    {
        "file": "grounds-hollin-bay.pdf",
        "material": "grounds",
        "key": "N",
        "fault": "no basis stated; answered in reports.toml",
        "printed": "2.28 %",
        "right_si": 0.0228,
        "code": "basis_not_stated",
    },
    {
        "file": "soil-foundry-metals.pdf",
        "bed": "foundry-wall",
        "key": "Pb",
        "fault": "lead 180 mg/kg: above the CCME residential guideline of 140, below the EPA level of 200",
        "printed": "180 mg/kg",
        "right_si": 0.00018,
        "code": "limit_exceeded",
    },
]


def _csv(path: Path, rows: list[list[str]]) -> None:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    path.write_bytes(text.getvalue().encode("utf-8"))


def grounds_brackwater(folder: Path) -> None:
    """Print spent grounds with totals and water-extractable figures, dry basis; no fault."""
    rows = [["Brackwater Soil & Plant (invented)"], ["Client", "Fernmoor Commons (invented)"]]
    rows += [["Material", "Spent coffee grounds, Ninth Kettle (invented)"], ["Sampled", "2026-10-12"]]
    rows += [["Results on dry matter basis, moisture as received"], [], ["Parameter", "Result", "Units", "Method"]]
    rows += [
        ["Moisture", "60.5", "%", "oven 105 C"],
        ["pH", "5.5", "", "1:5 water"],
        ["Total Nitrogen (N)", "2.12", "%", "combustion"],
        ["Total Phosphorus (P)", "1390", "mg/kg", "acid digest"],
        ["Total Potassium (K)", "5600", "mg/kg", "acid digest"],
        ["Total Calcium (Ca)", "1250", "mg/kg", "acid digest"],
        ["Total Magnesium (Mg)", "1480", "mg/kg", "acid digest"],
        ["Extractable Phosphorus (P)", "820", "mg/kg", "water"],
        ["Extractable Potassium (K)", "5300", "mg/kg", "water"],
        ["Ammonium-N (NH4-N)", "6.1", "mg/kg", "KCl"],
        ["Nitrate-N (NO3-N)", "3.4", "mg/kg", "KCl"],
        ["Organic Carbon (C)", "50.2", "%", "combustion"],
        ["Ash", "1.8", "%", "ignition"],
        ["Copper (Cu)", "19", "mg/kg", "acid digest"],
        ["Bulk density", "430", "kg/m3", "as received"],
    ]
    _csv(folder / "grounds-brackwater.csv", rows)


def grounds_hollin_bay(folder: Path) -> None:
    """Print spent grounds of another laboratory, oxides, no basis stated."""
    page = Page(folder / "grounds-hollin-bay.pdf", "Spent grounds (invented)")
    page.lines(["Hollin Bay Analytical (invented)"], size=13, bold=True)
    page.lines(["Sample: spent coffee grounds, Green Lantern (invented)", "Reported 2026-10-30", ""])
    rows = [["Determination", "Result", "Unit"], ["Total Nitrogen", "2.28", "%"], ["Phosphate (P2O5)", "0.34", "%"]]
    rows += [["Potash (K2O)", "0.68", "%"], ["Calcium", "0.11", "%"], ["Magnesium", "0.15", "%"], ["pH", "5.6", ""]]
    page.table([*rows, ["Moisture", "58.2", "%"]], [180, 80, 80], ruled=False)
    page.save()


def grain(folder: Path) -> None:
    """Print brewer's grain whose nitrogen, in percent, stands under mg/kg."""
    rows = [["Wyke Laboratories (invented)"], ["Sample: brewer's spent grain, Pale Heron (invented)"]]
    rows += [["Dry matter basis; moisture as received"], [], ["Determinand", "Unit", "Found"]]
    rows += [["Moisture", "%", "76.8"], ["Total nitrogen", "mg/kg", "4.1"], ["Total phosphorus", "%", "0.57"]]
    rows += [["Total potassium", "%", "0.09"], ["Total calcium", "%", "0.33"], ["Total magnesium", "%", "0.21"]]
    rows += [["Organic carbon", "%", "50.6"], ["C:N ratio", "", "12.3"], ["Ash", "%", "4.1"]]
    _csv(folder / "grain-wyke.csv", rows)


def grass(folder: Path) -> None:
    """Print grass clippings whose phosphorus and potassium are oxides under the element's heading."""
    rows = [["Tarn & Fell Testing", "(invented)", None], ["Grass clippings, parks lawns", "invented sample", None], []]
    rows += [["Plant material analysis, dry basis (moisture as received)"], []]
    rows += [
        ["Test", "Result", "Unit"],
        ["Moisture", 80.2, "%"],
        ["Nitrogen (N)", 3.4, "%"],
        ["Phosphorus (P)", 0.92, "%"],
    ]
    rows += [["Potassium (K)", 2.9, "%"], ["Calcium (Ca)", 0.52, "%"], ["Magnesium (Mg)", 0.26, "%"]]
    rows += [["Carbon (C)", 44.1, "%"], ["Ash", 10.6, "%"]]
    notes = [["Conditions (invented)"], ["Samples are kept for 30 days."]]
    save_sheets(folder / "grass-tarn-fell.xlsx", {"Result": rows, "Conditions": notes})


def manure(folder: Path) -> None:
    """Print horse manure with as-received and dry columns; potassium's dry cell repeats the wet figure."""
    rows = [["Dunmarrow County Manure Lab (invented)"], ["Horse manure with straw, Sorrel Lane (invented)"], []]
    rows += [["Analyte", "Unit", "As received", "Dry basis"], ["Moisture", "%", 67.0, None]]
    rows += [
        ["Total nitrogen", "%", 0.56, 1.7],
        ["Total phosphorus", "%", 0.115, 0.35],
        ["Total potassium", "%", 0.45, 0.45],
    ]
    rows += [["Total calcium", "%", 0.46, 1.39], ["Organic matter", "%", 27.1, 82.1], ["pH", None, 7.9, None]]
    save_sheets(folder / "manure-dunmarrow.xlsx", {"Report": rows})


def leaves(folder: Path) -> None:
    """Print leaves whose moisture a spreadsheet turned into a date."""
    rows = [["Penhallow Organics Lab (invented)"], ["Leaves, city depot (invented)"], ["Dry basis"], []]
    rows += [["Analyte", "Result", "Unit"], ["Moisture (as received)", date(2026, 4, 27), "%"]]
    rows += [["Total nitrogen", 0.92, "%"], ["Total phosphorus", 0.1, "%"], ["Total potassium", 0.37, "%"]]
    rows += [["Total calcium", 1.7, "%"], ["Total carbon", 46.8, "%"], ["C:N ratio", 50.9, None]]
    rows += [["Lead", 46, "mg/kg"], ["Cadmium", 0.9, "mg/kg"], ["Zinc", 71, "mg/kg"]]
    save_sheets(folder / "leaves-penhallow.xlsx", {"Leaves": rows})


def town_compost(folder: Path) -> None:
    """Print bought compost on two pages; cadmium is not found, below a limit that is too high to tell."""
    page = Page(folder / "town-compost-ostrey.pdf", "Town compost (invented)")
    title = "Finished compost, Fernmoor Leaf Depot (invented), dry basis unless stated"
    head = ["Analyte", "Result", "Unit"]
    first = [
        ["Moisture (as received)", "43.5", "%"],
        ["Total nitrogen", "1.48", "%"],
        ["Total phosphorus", "0.38", "%"],
    ]
    first += [["Total potassium", "0.86", "%"], ["Total calcium", "2.9", "%"], ["Total magnesium", "0.52", "%"]]
    first += [["Organic matter", "44.0", "%"], ["Ash", "56.0", "%"], ["pH", "7.5", ""]]
    first += [["Conductivity (1:5)", "3.1", "dS/m"], ["Bulk density (as received)", "610", "kg/m3"]]
    second = [["Arsenic", "5.2", "mg/kg"], ["Cadmium", "<5.0", "mg/kg"], ["Chromium", "38", "mg/kg"]]
    second += [["Copper", "118", "mg/kg"], ["Lead", "88", "mg/kg"], ["Mercury", "<0.10", "mg/kg"]]
    second += [["Nickel", "21", "mg/kg"], ["Selenium", "<0.5", "mg/kg"], ["Zinc", "310", "mg/kg"]]
    for number, rows in enumerate((first, second), start=1):
        page.lines(["Ostrey Compost Laboratory (invented)"], bold=True)
        page.lines([title, f"page {number} of 2", ""])
        page.table([head, *rows], [200, 90, 90], ruled=True)
        if number == 1:
            page.next_page()
    page.save()


SOIL_HEAD = [
    "Bed",
    "pH (1:1 water)",
    "Organic matter LOI (%)",
    "P Mehlich-3 (mg/kg)",
    "K Mehlich-3 (mg/kg)",
    "Ca Mehlich-3 (mg/kg)",
    "Mg Mehlich-3 (mg/kg)",
    "EC saturated paste (dS/m)",
    "CEC (meq/100 g)",
    "Lab no.",
]
SOILS = [
    ["North border", 6.6, 5.2, 31, 74, 1850, 190, 0.9, 13.4, "S-2601"],
    ["Schoolyard strip", 6.4, 3.8, 24, 38, 1100, 95, 0.5, 8.2, "S-2602"],
    ["Kitchen bed", 6.8, 6.1, 44, 110, 2200, 240, 1.2, 15.6, "S-2603"],
    ["Old compost yard", 7.1, 9.4, 285, 390, 3100, 380, 1.9, 21.5, "S-2604"],
    ["Long bed", 6.5, 4.6, 27, 70, 1500, 160, 0.7, 11.8, "S-2605"],
    ["Foundry wall", 7.0, 4.2, 33, 85, 1900, 150, 0.8, 12.1, "S-2606"],
    ["Pine end", 5.3, 4.9, 18, 62, 620, 70, 0.4, 9.0, "S-2607"],
    ["Greenhouse side", 6.7, 5.8, 52, 120, 2600, 310, 1.4, 18.9, "S-2608"],
    ["Street edge", 7.4, 3.3, 21, 66, 1700, 120, 3.6, 10.2, "S-2609"],
]


def soils(folder: Path) -> None:
    """Print the soil tests of nine beds as rows."""
    head = [["Brackwater Soil & Plant (invented)"], ["Soil test report, Fernmoor Commons (invented), air-dried soil"]]
    save_sheets(folder / "soil-autumn.xlsx", {"Soil": [*head, ["Sampled", "2026-10-04"], [], SOIL_HEAD, *SOILS]})


def foundry_metals(folder: Path) -> None:
    """Print total metals of the bed beside the foundry wall."""
    page = Page(folder / "soil-foundry-metals.pdf", "Soil metals (invented)")
    page.lines(["Skerry Environmental (invented)"], size=13, bold=True)
    page.lines(["SOIL metals report    Bed: Foundry wall (invented)", "Total by acid digest, dry basis", ""])
    rows = [["Element", "Result", "Unit"], ["Arsenic", "8.6", "mg/kg"], ["Cadmium", "<0.5", "mg/kg"]]
    rows += [["Chromium", "34", "mg/kg"], ["Copper", "58", "mg/kg"], ["Lead", "180", "mg/kg"]]
    rows += [["Nickel", "22", "mg/kg"], ["Zinc", "165", "mg/kg"]]
    page.table(rows, [160, 80, 80], ruled=True)
    page.save()


ALL: tuple[Callable[[Path], None], ...] = (
    grounds_brackwater,
    grounds_hollin_bay,
    grain,
    grass,
    manure,
    leaves,
    town_compost,
    soils,
    foundry_metals,
)


def write_all(folder: Path) -> None:
    """Write every laboratory file of the demo garden into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for write in ALL:
        write(folder)


def write_faults(path: Path) -> None:
    """Write the list of planted faults, for the tests."""
    text = json.dumps({"invented": True, "faults": FAULTS}, indent=1, ensure_ascii=False)
    path.write_text(text + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=TARGET, help="where to write")
    chosen = parser.parse_args().folder
    write_all(chosen)
    if chosen == TARGET:
        write_faults(FAULTS_FILE)
