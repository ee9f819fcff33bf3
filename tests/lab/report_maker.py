"""Strategies that write laboratory reports in random layouts, and know what every printed value means.

The vocabulary here is written down independently of the package's own, in the words laboratories use.
"""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from hypothesis import strategies as st

P2O5, K2O, CAO, MGO, NO3 = 0.436424, 0.830148, 0.714691, 0.603036, 0.225896
"""Share of the element, from atomic weights rounded to three decimals; compared at 2e-4."""
NAMES: dict[str, list[tuple[str, float]]] = {
    "N": [("Total Nitrogen", 1), ("Nitrogen, total", 1), ("Total N", 1), ("TKN", 1), ("Gesamtstickstoff", 1), ("Azote total", 1), ("Nitrógeno total", 1), ("N (total)", 1), ("Total Kjeldahl Nitrogen (TKN)", 1)],
    "P": [("Total Phosphorus", 1), ("Phosphorus, total (P)", 1), ("Total P", 1), ("P2O5, total", P2O5), ("Phosphate, total (P2O5)", P2O5), ("Phosphorus total as P2O5", P2O5), ("Phosphor gesamt", 1)],
    "K": [("Total Potassium", 1), ("Potassium (K), total", 1), ("Total K", 1), ("Potash, total (K2O)", K2O), ("K2O total", K2O), ("Kalium gesamt", 1)],
    "Ca": [("Calcium, total", 1), ("Total Ca", 1), ("CaO total", CAO), ("Calcium total (CaO)", CAO)],
    "Mg": [("Magnesium, total", 1), ("Total Mg", 1), ("MgO, total", MGO), ("Magnésium total", 1)],
    "Cu": [("Copper, total", 1), ("Total Cu", 1), ("Cuivre total", 1), ("Kupfer gesamt", 1)],
    "Zn": [("Zinc (total)", 1), ("Total Zn", 1), ("Zink gesamt", 1)],
    "Cd": [("Cadmium", 1), ("Cd", 1), ("Cadmium (Cd)", 1)],
    "Pb": [("Lead", 1), ("Pb", 1), ("Blei", 1), ("Plomb", 1), ("Lead (Pb)", 1)],
    "NO3_N": [("Nitrate-N", 1), ("NO3-N", 1), ("Nitrate nitrogen (NO3-N)", 1), ("Nitrate (NO3)", NO3)],
    "P:extractable": [("Mehlich-3 P", 1), ("Olsen P", 1), ("Phosphorus (Bray-1)", 1), ("Available Phosphorus (P)", 1), ("P2O5 (CAL)", P2O5)],
    "K:extractable": [("Exchangeable Potassium", 1), ("Potassium (NH4OAc)", 1), ("Available K2O", K2O)],
    "organic_matter": [("Organic matter", 1), ("OM", 1), ("Loss on ignition", 1), ("Organische Substanz", 1), ("Matière organique", 1)],
    "ash": [("Ash", 1), ("Asche", 1), ("Cendres", 1)],
    "C": [("Organic carbon", 1), ("TOC", 1), ("Total carbon", 1), ("Carbono orgánico", 1)],
    "moisture": [("Moisture", 1), ("Water content", 1), ("Wassergehalt", 1), ("Humedad", 1)],
    "pH": [("pH", 1), ("pH (1:5 water)", 1), ("pH-Wert", 1)],
    "EC": [("Electrical conductivity", 1), ("EC (1:5)", 1), ("Soluble salts", 1)],
    "CN": [("C:N ratio", 1), ("C/N", 1), ("Carbon:Nitrogen", 1)],
}  # fmt: skip
UNITS: dict[str, list[tuple[str, float]]] = {
    "mass": [("%", 1e-2), ("g/kg", 1e-3), ("mg/kg", 1e-6), ("ppm", 1e-6), ("lb/ton", 1 / 2000), ("g/100 g", 1e-2), ("µg/g", 1e-6), ("mg kg-1", 1e-6)],
    "moisture": [("%", 1e-2), ("g/kg", 1e-3)],
    "EC": [("dS/m", 0.1), ("mS/cm", 0.1), ("µS/cm", 1e-4), ("mmhos/cm", 0.1)],
    "none": [("", 1.0)],
}  # fmt: skip
SIZES = {"N": 0.02, "P": 0.003, "K": 0.01, "Ca": 0.02, "Mg": 0.003, "Cu": 4e-5, "Zn": 1e-4, "Cd": 8e-7, "Pb": 3e-5, "NO3_N": 2e-4, "P:extractable": 6e-4, "K:extractable": 4e-3, "organic_matter": 0.6, "ash": 0.3, "C": 0.4, "moisture": 0.5, "pH": 6.5, "EC": 0.2, "CN": 20.0}  # fmt: skip
WITHOUT_BASIS = ("pH", "EC", "CN", "moisture")
DRY = ["dry", "dry weight", "dry basis", "DM", "oven dry"]
WET = ["as received", "as is", "wet weight", "fresh weight"]
HEADS = {
    "name": ["Analyte", "Parameter", "Test", "Determination", "Element", "Paramètre", "Parámetro"],
    "value": ["Result", "Value", "Found", "Messwert", "Résultat", "Concentration"],
    "unit": ["Unit", "Units", "UOM", "Einheit", "Unité"],
    "basis": ["Basis", "Reporting basis"],
    "method": ["Method", "Test method"],
    "remark": ["Remark", "Comment"],
}
JUNK_ROWS = ["Signed: an invented chemist", "Page 1 of 1", "Invented report", "* see overleaf", "Results relate to the sample as received.", "Thank you for your custom!", "Moisture determined at 105 C", "End of report"]  # fmt: skip
UNKNOWN = [("Vigour quotient", "4.2"), ("Loam number", "7"), ("Organic nitrogen", "1.1"), ("Nitrogen fixing bacteria", "300"), ("Total nitrogen (duplicate)", "9.99"), ("RPD total nitrogen", "3.1"), ("Method blank, phosphorus", "0.5")]  # fmt: skip
ODD_VALUES = ["27-Apr", "4-27", "12 - 18", "see note", "-0.5", "1,2,3", "#VALUE", "??", "2026-04-27", "~3", "3/4", "(0.5)", "1.2.3", "O.5", "0..5", "1 2"]  # fmt: skip


@dataclass
class Known:
    """What the maker knows of one printed value.

    Parameters
    ----------
    si : value, or limit when `below`; None where no certain reading exists, so that nothing may be read.
    """

    sample: str
    name: str
    key: str
    si: float | None
    basis: str
    below: bool = False


@dataclass
class Made:
    """A report: cells of text, and what they mean."""

    rows: list[list[str]]
    known: list[Known] = field(default_factory=list)
    comma: bool = False
    what: str = ""


def number_text(value: float, digits: int, comma: bool, grouped: bool) -> tuple[str, float]:
    """Return a number as printed, and the number that the print stands for."""
    text = f"{value:,.{digits}f}" if grouped else f"{value:.{digits}f}"
    printed = float(text.replace(",", ""))
    if comma:
        text = text.translate(str.maketrans({",": ".", ".": ","}))
    return text, printed


def unit_kind(key: str) -> str:
    """Return which units a quantity is printed in."""
    return {"pH": "none", "CN": "none", "EC": "EC", "moisture": "moisture"}.get(key, "mass")


@dataclass
class Line:
    """One analyte of one sample before it is laid out."""

    key: str
    name: str
    unit: str
    factor: float
    texts: list[str]
    printed: list[float]
    below: list[bool]


def lines(dice: random.Random, samples: int, comma: bool, *, odd: bool) -> list[Line]:
    """Draw the analytes of a report, one text per sample."""
    keys = dice.sample(sorted(NAMES), dice.randint(2, 8))
    out = []
    for key in keys:
        name, share = dice.choice(NAMES[key])
        kind = unit_kind(key)
        unit, to_si = dice.choice(UNITS[kind])
        texts, printed, below = [], [], []
        for _ in range(samples):
            size = SIZES[key] * dice.choice([0.5, 0.71, 0.93, 1.0, 1.17, 1.4])
            amount = size / to_si / share
            digits = dice.choice([1, 2, 4]) if amount < 1000 else dice.choice([0, 1])
            digits = max(digits, 2) if amount < 1 else digits
            digits = 6 if amount < 0.01 else digits
            digits = 3 if dice.random() < 0.15 else digits  # 1.234 may be a thousand
            text, number = number_text(amount, digits, comma, (dice.random() < 0.5) and digits in (0, 1, 2))
            less = key in ("Cd", "Pb") and dice.randint(0, 3) == 0
            if odd and dice.randint(0, 9) == 0:
                text, number, less = dice.choice(ODD_VALUES), float("nan"), False
            texts.append(("<" if less else "") + text)
            printed.append(number)
            below.append(less)
        out.append(Line(key, name, unit, to_si * share, texts, printed, below))
    return out


def knowledge(line: Line, at: int, sample: str, basis: str) -> Known:
    """Return what is known of one printed value; NaN stands for a value that must not be read."""
    number = line.printed[at]
    si = None if number != number else number * line.factor
    own = "none" if line.key in ("pH", "EC", "CN") else "as_received" if line.key == "moisture" else basis
    return Known(sample, line.name, line.key, si, own, line.below[at])


def make(seed: int, odd: bool) -> Made:
    """Return a report of any layout; the same seed gives the same report."""
    dice = random.Random(seed)
    layouts = [
        down,
        down,
        down,
        across,
        side_by_side,
        two_bases,
        tidy,
        replicated,
        with_limits,
        stacked,
        sections,
        two_heads,
    ]
    return dice.choice(layouts)(dice, odd=odd)


def reports(*, odd: bool = False) -> st.SearchStrategy[Made]:
    """Draw a report of any layout."""
    return st.integers(0, 2**40).map(lambda seed: make(seed, odd))


def shuffled(dice: random.Random, things: Iterable[Any]) -> list[Any]:
    """Return things in a random order."""
    found = list(things)
    dice.shuffle(found)
    return found


def _title(dice: random.Random, basis_line: str) -> list[list[str]]:
    rows = [["Invented Laboratory of the Test"], [dice.choice(["Compost, invented sample", "Leaves, invented sample", "Matrix: spent grounds (invented)"])]]  # fmt: skip
    return [*rows, [basis_line]] if basis_line else rows


def _basis_line(dice: random.Random, basis: str) -> str:
    word = "dry matter basis" if basis == "dry" else "as received basis"
    return dice.choice([f"Results on {word}", f"All results are reported on {word}", f"Basis: {word}"])


def down(dice: random.Random, *, odd: bool) -> Made:
    """Analytes down; any order of columns; unit in a column, after the name or in the cell; basis anywhere or nowhere."""
    comma = dice.random() < 0.5
    basis = dice.choice(["dry", "as_received"])
    found = lines(dice, 1, comma, odd=odd)
    unit_at = dice.choice(["column", "name", "cell", "column", "nowhere" if odd else "column"])
    basis_at = dice.choice(["title", "column", "unit", "value head", "nowhere" if odd else "title"])
    columns = (
        ["name", "value"] + (["unit"] if unit_at == "column" else []) + (["basis"] if basis_at == "column" else [])
    )
    columns += dice.sample(["method", "remark"], dice.randint(0, 2))
    columns = shuffled(dice, columns)
    word = dice.choice(DRY if basis == "dry" else WET)
    heads = [dice.choice(HEADS[column]) for column in columns]
    if basis_at == "value head":
        heads[columns.index("value")] += f" ({word})"
    rows = _title(dice, _basis_line(dice, basis) if basis_at == "title" else "") + (
        [[]] if (dice.random() < 0.5) else []
    )
    rows.append(heads)
    made = Made(rows, comma=comma, what=f"down unit:{unit_at} basis:{basis_at}")
    for line in found:
        # a basis that is written into the unit goes where the unit goes
        printed = line.unit
        if basis_at == "unit" and printed and line.key not in WITHOUT_BASIS:
            printed = f"{printed} {word}"
        cells = {"name": line.name, "value": line.texts[0], "unit": printed, "method": "house method", "remark": ""}
        cells["basis"] = "" if line.key in WITHOUT_BASIS else word
        if unit_at == "name" and printed:
            cells["name"] = f"{line.name} ({printed})"
        if unit_at == "cell" and printed:
            cells["value"] = f"{line.texts[0]} {printed}"
        rows.append([cells[column] for column in columns])
        one = knowledge(line, 0, "", basis)
        one.name = cells["name"]
        lost_unit = unit_at == "nowhere" and line.unit
        lost_basis = (
            basis_at == "nowhere" or (basis_at == "unit" and unit_at == "nowhere")
        ) and line.key not in WITHOUT_BASIS
        if lost_unit or lost_basis:
            one.si = None
        made.known.append(one)
    return _with_junk(dice, made, len(heads), odd)


def across(dice: random.Random, *, odd: bool) -> Made:
    """Analytes across, samples as rows; units after the name or in a row of their own."""
    comma, count = (dice.random() < 0.5), dice.randint(1, 4)
    basis = dice.choice(["dry", "as_received"])
    found = lines(dice, count, comma, odd=odd)
    units_row = dice.random() < 0.5
    names = [line.name if units_row or not line.unit else f"{line.name} ({line.unit})" for line in found]
    order = shuffled(dice, range(len(found)))
    sample_at = dice.choice([0, 0, len(found)])
    labels = [f"Pile {chr(65 + at)}" for at in range(count)]

    def laid(label: str, cells: list[str]) -> list[str]:
        shown = [cells[at] for at in order]
        return [*shown[:sample_at], label, *shown[sample_at:]]

    rows = _title(dice, _basis_line(dice, basis))
    rows.append(laid(dice.choice(["Sample", "Sample ID", "Sample name"]), names))
    if units_row:
        rows.append(laid(dice.choice(["", "Unit"]), [line.unit for line in found]))
    made = Made(rows, comma=comma, what=f"across units_row:{units_row}")
    for at, label in enumerate(labels):
        rows.append(laid(label, [line.texts[at] for line in found]))
        for line, name in zip(found, names, strict=True):
            one = knowledge(line, at, label, basis)
            one.name = name
            made.known.append(one)
    if dice.random() < 0.5:
        rows.append(laid("Method blank", ["0.01" if not comma else "0,01" for _ in found]))
    return made


def side_by_side(dice: random.Random, *, odd: bool) -> Made:
    """Samples as columns."""
    comma, count = (dice.random() < 0.5), dice.randint(2, 3)
    found = lines(dice, count, comma, odd=odd)
    labels = [f"Heap {at + 1}" for at in range(count)]
    rows = [*_title(dice, _basis_line(dice, "dry")), ["Analyte", "Unit", *labels]]
    made = Made(rows, comma=comma, what="side by side")
    for line in found:
        rows.append([line.name, line.unit, *line.texts])
        made.known += [knowledge(line, at, label, "dry") for at, label in enumerate(labels)]
    return made


def two_bases(dice: random.Random, *, odd: bool) -> Made:
    """As-received and dry columns side by side, in either order."""
    comma = dice.random() < 0.5
    found = [line for line in lines(dice, 2, comma, odd=odd) if line.key not in WITHOUT_BASIS]
    sides = shuffled(dice, ["dry", "as_received"])
    words = {"dry": dice.choice(["Dry", "Dry basis", "Dry weight basis"]), "as_received": dice.choice(["As received", "As is", "Wet basis"])}  # fmt: skip
    heads = ["Parameter", *(words[side] for side in sides)]
    place = dice.randint(1, 3)
    heads.insert(place, "Units")
    rows = [*_title(dice, ""), heads]
    made = Made(rows, comma=comma, what="two bases")
    for line in found:
        row = [line.name, *line.texts]
        row.insert(place, line.unit)
        rows.append(row)
        made.known += [knowledge(line, at, "", side) for at, side in enumerate(sides)]
    rows.append(["pH", *["" for _ in range(3)]])
    return made


def tidy(dice: random.Random, *, odd: bool) -> Made:
    """One value per row, with sample, analyte, unit and basis in columns of any order."""
    comma, count = (dice.random() < 0.5), dice.randint(1, 3)
    found = lines(dice, count, comma, odd=odd)
    columns = shuffled(dice, ["Sample ID", "Parameter", "Result", "Unit", "Basis"])
    rows: list[list[str]] = [["Invented data"], list(columns)]
    made = Made(rows, comma=comma, what="tidy")
    for at in range(count):
        label = f"Lot {at + 1}"
        for line in found:
            basis = dice.choice(["dry", "as_received"])
            word = {"dry": "dry", "as_received": "as received"}[basis]
            cells = {"Sample ID": label, "Parameter": line.name, "Result": line.texts[at], "Unit": line.unit, "Basis": "" if line.key in WITHOUT_BASIS else word}  # fmt: skip
            rows.append([cells[column] for column in columns])
            made.known.append(knowledge(line, at, label, basis))
    return made


def replicated(dice: random.Random, *, odd: bool) -> Made:
    """Replicate columns, with or without the laboratory's mean, in any order."""
    comma, count = (dice.random() < 0.5), dice.randint(2, 3)
    found = [line for line in lines(dice, count, comma, odd=odd) if not any(line.below)]
    word = dice.choice(["Rep", "Replicate", "Result", "Run"])
    heads = shuffled(dice, ["Parameter", "Unit", *(f"{word} {at + 1}" for at in range(count))])
    with_mean = dice.random() < 0.5
    rows = [*_title(dice, _basis_line(dice, "dry")), heads + (["Mean"] if with_mean else [])]
    made = Made(rows, comma=comma, what=f"replicates {word} mean:{with_mean}")
    for line in found:
        cells = {"Parameter": line.name, "Unit": line.unit} | {
            f"{word} {at + 1}": line.texts[at] for at in range(count)
        }
        mean = sum(line.printed) / count
        text = number_text(mean, 6, comma, False)[0] if mean == mean else "?"
        rows.append([cells[head] for head in heads] + ([text] if with_mean else []))
        one = knowledge(line, 0, "", "dry")
        one.si = mean * line.factor if mean == mean else None
        made.known.append(one)
    return made


def with_limits(dice: random.Random, *, odd: bool) -> Made:
    """A column of reporting limits, and one of qualifiers or signs; what was not found is ND, U or a sign."""
    comma = dice.random() < 0.5
    found = [line for line in lines(dice, 1, comma, odd=odd) if not line.below[0]]
    style = dice.choice(["ND", "U", "<", "BDL", "n.d."])
    columns = shuffled(dice, ["Test", "Result", "Units", "RL"]) if style in ("ND", "BDL", "n.d.") else shuffled(dice, ["Test", "Result", "Units", "Qualifier"])  # fmt: skip
    rows = [*_title(dice, _basis_line(dice, "as_received")), list(columns)]
    made = Made(rows, comma=comma, what=f"limits {style}")
    for line in found:
        one = knowledge(line, 0, "", "as_received")
        missing = (
            line.key in ("Cd", "Pb", "Cu", "Zn", "NO3_N") and line.printed[0] == line.printed[0] and dice.random() < 0.6
        )
        low = number_text(line.printed[0] / 3, 6, comma, False)
        cells = {"Test": line.name, "Units": line.unit, "Result": line.texts[0], "RL": low[0], "Qualifier": ""}
        if missing:
            one.below = True
            if style in ("U", "<"):
                cells["Qualifier"] = style
            else:
                cells["Result"], one.si = style, low[1] * line.factor
        rows.append([cells[column] for column in columns])
        made.known.append(one)
    return made


def stacked(dice: random.Random, *, odd: bool) -> Made:
    """Several samples one below the other, each with its own head and key words."""
    comma, count = (dice.random() < 0.5), dice.randint(2, 3)
    made = Made([["Invented Laboratory of the Test"]], comma=comma, what="stacked")
    for at in range(count):
        basis = dice.choice(["dry", "as_received"])
        label = f"Bay {at + 1}"
        key = dice.choice([["Sample", label], ["Sample ID:", label], [f"Sample: {label}"]])
        columns = shuffled(dice, ["Analyte", "Result", "Unit"])
        made.rows += [key, [_basis_line(dice, basis)], columns]
        for line in lines(dice, 1, comma, odd=odd):
            cells = {"Analyte": line.name, "Result": line.texts[0], "Unit": line.unit}
            made.rows.append([cells[column] for column in columns])
            made.known.append(knowledge(line, 0, label, basis))
        made.rows += [[]] if dice.random() < 0.7 else []
    return made


def sections(dice: random.Random, *, odd: bool) -> Made:
    """Section titles inside the table: as received above, dry below, or the other way round."""
    comma = dice.random() < 0.5
    sides = shuffled(dice, ["dry", "as_received"])
    made = Made([["Invented Laboratory of the Test"], ["Compost, invented sample"], ["Parameter", "Result", "Unit"]], comma=comma, what="sections")  # fmt: skip
    for side in sides:
        word = dice.choice(["Dry basis", "Dry matter basis"] if side == "dry" else ["As received basis", "Wet basis"])
        made.rows.append([dice.choice([word, f"Results, {word.lower()}", word.upper()])])
        for line in lines(dice, 1, comma, odd=odd):
            if line.key not in WITHOUT_BASIS:
                made.rows.append([line.name, line.texts[0], line.unit])
                made.known.append(knowledge(line, 0, "", side))
    return made


def two_heads(dice: random.Random, *, odd: bool) -> Made:
    """Samples as rows under heads of two lines: dry or as received above, analytes below."""
    comma, count = (dice.random() < 0.5), dice.randint(2, 3)
    found = [line for line in lines(dice, count, comma, odd=odd) if line.key not in WITHOUT_BASIS]
    cut = dice.randint(0, len(found))
    sides = ["dry"] * cut + ["as_received"] * (len(found) - cut)
    upper = ["", *("" for _ in found)]
    for side, word in (("dry", "Dry basis"), ("as_received", "As received")):
        if side in sides:
            upper[1 + sides.index(side)] = word
    names = [f"{line.name}, {line.unit}" if line.unit else line.name for line in found]
    made = Made([["Invented Laboratory of the Test"], ["Compost, invented samples"], upper, ["Sample", *names]], comma=comma, what="two heads")  # fmt: skip
    for at in range(count):
        label = f"Row {chr(65 + at)}"
        made.rows.append([label, *(line.texts[at] for line in found)])
        for line, name, side in zip(found, names, sides, strict=True):
            one = knowledge(line, at, label, side)
            one.name = name
            made.known.append(one)
    return made


def counted_as(dice: random.Random, *, odd: bool) -> Made:
    """A column of its own says whether the element or its oxide is counted."""
    comma = dice.random() < 0.5
    forms = {"P": ("Phosphorus, total", {"P": 1.0, "P2O5": P2O5}), "K": ("Potassium, total", {"K": 1.0, "K2O": K2O}), "Ca": ("Calcium, total", {"Ca": 1.0, "CaO": CAO}), "Mg": ("Magnesium, total", {"Mg": 1.0, "MgO": MGO})}  # fmt: skip
    columns = shuffled(dice, ["Nutrient", "Result", dice.choice(["Symbol", "Reported as", "Form", "Formula"]), "Unit"])
    made = Made([["Compost, invented sample", _basis_line(dice, "dry")], list(columns)], comma=comma, what="counted as")
    for line in lines(dice, 1, comma, odd=odd):
        if line.key in forms:
            name, choices = forms[line.key]
            form = dice.choice(sorted(choices))
            cells = {"Nutrient": name, "Result": line.texts[0], "Unit": line.unit}
            made.rows.append([cells.get(column, form) for column in columns])
            line.factor = dict(UNITS["mass"])[line.unit] * choices[form]
            one = knowledge(line, 0, "", "dry")
            one.name = f"{name} ({form})"
            made.known.append(one)
    return made


def _with_junk(dice: random.Random, made: Made, width: int, odd: bool) -> Made:
    """Add footnotes, blank rows, unknown analytes and quality-control rows."""
    if odd and (dice.random() < 0.5):
        name, value = dice.choice(UNKNOWN)
        value = value.replace(".", ",") if made.comma else value
        row = [""] * width
        head = made.rows[-1 - len(made.known)]
        for at, text in enumerate(head):
            if text in HEADS["name"]:
                row[at] = name
            if any(text.startswith(word) for word in HEADS["value"]):
                row[at] = value
        made.rows.append(row)
    for _ in range(dice.randint(0, 2)):
        made.rows.append([dice.choice(JUNK_ROWS)])
    return made


def as_text(made: Made, delimiter: str, encoding: str) -> bytes:
    """Return a report as delimited text; letters that the encoding lacks are dropped from the junk, never from values."""
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="\r\n").writerows(made.rows)
    return out.getvalue().encode(encoding, "replace")


def as_aligned(made: Made) -> bytes:
    """Return a report as text whose columns are held apart by blanks."""
    table = [row for row in made.rows if len(row) > 1] or made.rows
    widths = [max(len(row[at]) for row in table if at < len(row)) + 3 for at in range(max(len(row) for row in table))]
    out = [row[0] if len(row) == 1 else "".join(cell.ljust(width) for cell, width in zip(row, widths, strict=False)) for row in made.rows]  # fmt: skip
    return "\n".join(line.rstrip() for line in out).encode()


def as_workbook(made: Made, *, numbers: bool, offset: int) -> bytes:
    """Return a report as an XLSX workbook, plain numbers as true numbers when `numbers` is set."""
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    for r, row in enumerate(made.rows, 1 + offset):
        for c, text in enumerate(row, 1 + offset):
            plain = text.replace(",", "") if not made.comma else text.replace(".", "").replace(",", ".")
            number = numbers and plain.replace(".", "", 1).isdigit()
            sheet.cell(r, c, float(plain) if number and text not in ODD_VALUES else text)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def as_page(made: Made, *, ruled: bool) -> bytes:
    """Return a report as a PDF: cells in ruled boxes, or held apart by their place on the page alone."""
    from reportlab.lib.pagesizes import A3, landscape
    from reportlab.pdfbase.pdfmetrics import stringWidth
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    width, height = landscape(A3)
    page = Canvas(out, pagesize=(width, height))
    page.setFont("Helvetica", 8)
    table = [row for row in made.rows if len(row) > 1] or made.rows
    columns = max(len(row) for row in table)
    widths = [max(stringWidth(row[at], "Helvetica", 8) for row in table if at < len(row)) + 16 for at in range(columns)]
    lefts = [40 + sum(widths[:at]) for at in range(columns + 1)]
    y = height - 40
    for row in made.rows:
        for at, text in enumerate(row):
            page.drawString(lefts[at] + 4, y, text)
            if ruled and len(row) > 1:
                page.rect(lefts[at], y - 4, widths[at], 14)
        y -= 14
    page.save()
    return out.getvalue()
