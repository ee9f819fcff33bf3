"""What an invented report says, written down beside it in SI, without asking the package that will read it.

A `Row` holds one printed line; `truth` turns rows into the content of <name>.truth.json. The only thing borrowed from
the package is the share of an element in an oxide or ion.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from loamery.units import element_share

FACTOR = {
    "%": 1e-2,
    "g/kg": 1e-3,
    "mg/kg": 1e-6,
    "mg/l": 1e-6,
    "ug/kg": 1e-9,
    "lb/ton": 1 / 2000,
    "dS/m": 0.1,
    "mS/cm": 0.1,
    "uS/cm": 1e-4,
    "meq/100g": 0.01,
    "kg/m3": 1.0,
    "lb/yd3": 0.45359237 / 0.9144**3,
    "": 1.0,
}
CHARGE_KG_MOL = {"Ca": 0.040078 / 2, "Mg": 0.024305 / 2, "K": 0.0390983, "Na": 0.02298976928}
P2O5, K2O = element_share("P", "P2O5"), element_share("K", "K2O")
CAO, MGO = element_share("Ca", "CaO"), element_share("Mg", "MgO")
NO3, NH4 = element_share("N", "NO3"), element_share("N", "NH4")
Truth = dict[str, Any]


@dataclass(frozen=True)
class Row:
    """One printed line of a report.

    Parameters
    ----------
    name, text, unit : as printed.
    key : composition key, empty if nothing may be read from the line.
    basis : dry, as_received, not_stated or none.
    factor : printed number to SI, including oxide to element.
    """

    name: str
    text: str
    unit: str
    key: str = ""
    basis: str = "dry"
    factor: float = 1.0
    rtol: float = 1e-9

    @property
    def number(self) -> float:
        """Return the printed number as a number."""
        text = self.text.strip("<> ")
        if re.fullmatch(r"[1-9]\d{0,2}(,\d{3})+", text):
            return float(text.replace(",", ""))  # commas between thousands
        return float(text.replace(",", ".") if "," in text and "." not in text else text.replace(",", ""))

    @property
    def truth(self) -> Truth:
        """Return the expected determination."""
        value = self.number * self.factor
        if self.text.lstrip().startswith("<"):
            return {"censored": "below", "limit": value, "basis": self.basis, "rtol": self.rtol}
        return {"value": value, "basis": self.basis, "rtol": self.rtol}


def row(
    name: str, text: str, unit: str, key: str = "", *, basis: str = "dry", counts: str | None = None, times: float = 1.0
) -> Row:
    """Return a printed line; `counts` names the unit in our spelling where the printed one differs."""
    return Row(name, text, unit, key, basis, FACTOR[unit if counts is None else counts] * times)


def moisture(text: str, name: str = "Moisture", unit: str = "%") -> Row:
    """Return a line of moisture as received, printed in percent."""
    return Row(name, text, unit, "moisture", "as_received", 0.01)


def plain(name: str, text: str, key: str, unit: str = "", factor: float = 1.0) -> Row:
    """Return a line without a basis, such as pH, C:N or conductivity."""
    return Row(name, text, unit, key, "none", factor)


@dataclass
class Sample:
    """The expected reading of one sample."""

    rows: Sequence[Row]
    sample: str = ""
    subject: str = "material"
    absent: Sequence[str] = ()
    questions: Sequence[str] = ()
    findings: Sequence[str] = ()
    extra: dict[str, Truth] = field(default_factory=dict)
    also: dict[str, list[Truth]] = field(default_factory=dict)

    def as_dict(self) -> Truth:
        """Return the sample ready for JSON; `also` lists second determinations under a key (other basis)."""
        found = {one.key: one.truth for one in self.rows if one.key} | self.extra
        shown: Truth = {"sample": self.sample, "subject": self.subject, "determinations": found}
        shown |= {"absent": list(self.absent), "questions": list(self.questions), "findings": list(self.findings)}
        return shown | ({"also": self.also} if self.also else {})


def write_csv(path: Path, rows: Sequence[Sequence[str]], *, delimiter: str = ",", encoding: str = "utf-8") -> None:
    """Write cells as a laboratory's export would, with Windows line ends."""
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, lineterminator="\r\n").writerows(rows)
    path.write_bytes(text.getvalue().encode(encoding))


def printed(rows: Sequence[Row]) -> list[list[str]]:
    """Return lines as name, result, unit."""
    return [[one.name, one.text, one.unit] for one in rows]


def write_truth(folder: Path, file: str, layout: str, samples: Sequence[Sample] = (), error: str | None = None) -> None:
    """Write <name>.truth.json beside a sample file."""
    content = {
        "invented": True,
        "file": file,
        "layout": layout,
        "samples": [one.as_dict() for one in samples],
        "error": error,
    }
    name = Path(file).stem + ".truth.json"
    (folder / name).write_text(json.dumps(content, indent=1, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")
