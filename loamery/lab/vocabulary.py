"""The vocabulary of laboratory reports, read from data files: analytes, units, methods and the words around them."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache

from loamery.reference import table


@dataclass(frozen=True)
class Analyte:
    """A recognised analyte.

    Parameters
    ----------
    quantity : glossary key, empty for one that is known and not kept.
    species : what was weighed: empty for the quantity itself, a formula such as P2O5, or choices parted by ``|``.
    fraction : total or extractable where the name says so, else empty.
    method : what the name says of the method, e.g. TKN.
    role : analyte, solids (one less moisture) or left_out.
    """

    quantity: str
    species: str = ""
    fraction: str = ""
    method: str = ""
    role: str = "analyte"


def norm(text: str) -> str:
    """Return the text in lower case without accents and punctuation, for comparison."""
    text = "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))
    text = text.replace("μ", "u").replace("%", " % ").replace("#", " # ").replace("±", " ± ")
    return " ".join(re.sub(r"[^\w%#±+<>]|_", " ", text).split())


def unit_norm(text: str) -> str:
    """Return a unit without blanks and with its powers on the line, for comparison."""
    text = unicodedata.normalize("NFKC", text.replace("−", "-").replace("–", "-")).casefold().replace("μ", "u")
    return re.sub(r"\s+", "", text.replace("−", "-").replace("²", "2"))


@cache
def analyte_table() -> dict[str, Analyte]:
    """Return every analyte spelling, normalised."""
    out: dict[str, Analyte] = {}
    for row in table("analyte_spellings"):
        one = Analyte(row["quantity"], row["species"], row["fraction"], row["method"], row["role"])
        out.setdefault(norm(row["spelling"]), one)
    return out


@cache
def unit_table() -> dict[str, tuple[str, str]]:
    """Return every unit spelling without blanks: its key in units.csv and a note."""
    return {unit_norm(row["spelling"]): (row["unit"], row["note"]) for row in table("unit_spellings")}


@cache
def method_table() -> dict[str, dict[str, str]]:
    """Return every spelling of an extractant, digest or measurement, normalised."""
    out: dict[str, dict[str, str]] = {}
    for row in table("method_spellings"):
        out.setdefault(norm(row["spelling"]), row)
    return out


@cache
def word_table(role: str) -> dict[str, str]:
    """Return the words of one role, normalised, with their value."""
    out: dict[str, str] = {}
    for row in table("report_words"):
        if row["role"] == role and (key := norm(row["spelling"])):
            out.setdefault(key, row["value"])
    return out
