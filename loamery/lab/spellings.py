"""The words of laboratory reports: analytes, units, bases, extractants and column heads in their many spellings.

All vocabulary lives in ``analyte_spellings.csv``, ``unit_spellings.csv``, ``method_spellings.csv`` and
``report_words.csv``. A phrase is understood only when every word of it is known: ``Total Nitrogen (TKN), % dry`` is,
``nitrogen fixing bacteria`` is not.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field
from functools import cache
from typing import Literal

from loamery.lab.vocabulary import Analyte, analyte_table, method_table, norm, unit_norm, unit_table, word_table
from loamery.names import Basis, Fraction, quantity
from loamery.reference import table

Setting = Literal["name", "head", "statement"]
_LONGEST_PHRASE = 6
_RATIO = re.compile(r"(?<![\d.])1\s?:\s?\d+(?:\.\d+)?(?![\d.])(?:\s*\(?\s*(?:w/w|v/v|w/v|m/v|m/m|vol)\s*\)?)?", re.I)


@dataclass(frozen=True)
class UnitReading:
    """A recognised unit: its key in units.csv (empty when it cannot be used), the basis and species printed with it."""

    unit: str
    printed: str
    basis: str = ""
    species: str = ""
    note: str = ""


@dataclass(frozen=True)
class Phrase:
    """Everything recognised in one piece of text.

    Parameters
    ----------
    text : as printed.
    analytes : distinct analytes in the order met.
    units : units met.
    basis : dry or as_received, ``both`` when it names both, empty when neither.
    fraction : total, extractable, ``both`` or empty.
    methods : extractants and methods as printed.
    extractants : slugs of the extractants among them.
    roles : column roles met (result, unit, limit ...), in order.
    qc : whether it names a quality-control row.
    unknown : words that were not understood.
    as_species : whether the last analyte followed the word "as" (phosphorus as P2O5).
    """

    text: str
    analytes: tuple[Analyte, ...] = ()
    units: tuple[UnitReading, ...] = ()
    basis: str = ""
    fraction: str = ""
    methods: tuple[str, ...] = ()
    extractants: tuple[str, ...] = ()
    roles: tuple[str, ...] = ()
    qc: str = ""
    unknown: tuple[str, ...] = ()
    as_species: bool = False

    @property
    def analyte(self) -> Analyte | None:
        """Return the one analyte the phrase names; None when it names none, several or one not understood whole."""
        return None if self.unknown else merge_analytes(self.analytes, self.as_species)

    @property
    def guess(self) -> Analyte | None:
        """Return the analyte the phrase would name if the words that were not understood did not matter.

        A lone symbol among unknown words is no guess: Row B is not boron.
        """
        symbols = all(len(one.species) in (1, 2) for one in self.analytes)
        if self.unknown and symbols and not (self.fraction or self.methods or self.units):
            return None
        return merge_analytes(self.analytes, self.as_species)


@cache
def _unit_pattern() -> re.Pattern[str]:
    """Return a pattern that finds a unit inside a text, the longest spelling first; bare words such as 'to 1' excluded."""
    spellings = {
        row["spelling"]
        for row in table("unit_spellings")
        if re.search(r"[a-zA-Zµ%‰#]{2}|[%‰]|[a-zA-Z]/", row["spelling"])
    }
    skip = {
        "none",
        "n/a",
        "units",
        "no unit",
        "unitless",
        "ph",
        "ratio",
        "rapport",
        "su",
        "dimensionless",
        "cm",
        "in",
        "inches",
    }
    parts = []
    for one in sorted(spellings, key=len, reverse=True):
        if one.casefold() in skip or one.startswith(("to ", ":")):
            continue
        body = (
            re.escape(unicodedata.normalize("NFKC", one))
            .replace("\\ ", r"\s*")
            .replace("/", r"\s*/\s*")
            .replace("μ", "[uμ]")
        )
        parts.append(body)
    return re.compile(rf"(?<![\w/])(?<!\w-)(?:{'|'.join(parts)})(?![\w/+(]|-\d)|%", re.I)


@cache
def parse_unit(text: str) -> UnitReading | None:
    """Return the unit a text names, with the basis and species printed beside it; None when it is not wholly a unit.

    ``% DM`` is a percentage of dry matter; ``mg/kg as N`` counts nitrogen.
    """
    plain = text.strip().strip("[]").strip()
    if plain.startswith("(") and plain.endswith(")") and "(" not in plain[1:]:
        plain = plain[1:-1].strip()
    if not plain or len(plain) > 80:
        return None
    if (found := unit_table().get(unit_norm(plain))) is not None:
        return UnitReading(found[0], text.strip(), note=found[1])
    phrase = parse_phrase(plain, "head")
    if len(phrase.units) != 1 or phrase.unknown or phrase.roles or phrase.methods or phrase.fraction or phrase.qc:
        return None
    if phrase.basis == "both" or len(phrase.analytes) > 1:
        return None
    species = ""
    if phrase.analytes:
        one = phrase.analytes[0]
        if not one.species or "|" in one.species:
            return None
        species = one.species
    unit = phrase.units[0]
    return UnitReading(unit.unit, text.strip(), phrase.basis, species, unit.note)


@dataclass
class _Parts:
    """What has been met so far while a phrase is read."""

    analytes: list[Analyte] = field(default_factory=list)
    units: list[UnitReading] = field(default_factory=list)
    bases: list[str] = field(default_factory=list)
    fractions: list[str] = field(default_factory=list)
    methods: list[str] = field(default_factory=list)
    extractants: list[str] = field(default_factory=list)
    roles: list[str] = field(default_factory=list)
    qc: str = ""
    unknown: list[str] = field(default_factory=list)
    after_as: bool = False
    as_species: bool = False


@cache
def parse_phrase(text: str, setting: Setting = "name") -> Phrase:
    """Return everything recognised in a text.

    Parameters
    ----------
    text : a row name, a column head, a title or a line of remarks.
    setting : ``name`` for row names, where DM is an analyte; ``head`` for heads and units, where it is a basis;
        ``statement`` for lines of text, where unknown words do not matter.
    """
    if len(text) > 400:
        return Phrase(text, unknown=("",))
    whole = analyte_table().get(norm(text))
    if whole is not None and setting == "name":
        return Phrase(text, (whole,))
    parts = _Parts()
    rest = _take_units(unicodedata.normalize("NFKC", text).replace("−", "-"), parts)
    rest = _take_ratios(rest, parts)
    rest_key = norm(rest)
    if setting == "name" and (whole := analyte_table().get(rest_key)) is not None:
        parts.analytes.append(whole)
    else:
        _take_words(rest_key.split(), parts, setting)
    return _phrase(text, parts)


def _take_units(text: str, parts: _Parts) -> str:
    def keep(match: re.Match[str]) -> str:
        unit, note = unit_table().get(unit_norm(match[0]), ("", "not known"))
        parts.units.append(UnitReading(unit, match[0].strip(), note=note))
        return " | "

    return _unit_pattern().sub(keep, text)


def _take_ratios(text: str, parts: _Parts) -> str:
    for match in _RATIO.finditer(text):
        parts.methods.append(match[0].strip())
    return _RATIO.sub(" ", text)


def _take_words(words: list[str], parts: _Parts, setting: Setting) -> None:
    """Read words from the left, always the longest phrase that is known."""
    at = 0
    while at < len(words):
        for length in range(min(_LONGEST_PHRASE, len(words) - at), 0, -1):
            phrase = " ".join(words[at : at + length])
            if _take_phrase(phrase, words, at, parts, setting):
                at += length
                break
        else:
            parts.unknown.append(words[at])
            parts.after_as = False
            at += 1


def _take_phrase(phrase: str, words: list[str], at: int, parts: _Parts, setting: Setting) -> bool:
    if phrase == "as" and _joins(words, at, parts):
        parts.after_as = True
        return True
    if parts.after_as and _take_analyte(phrase, words, at, parts, setting):
        return True
    steps = (_take_basis, _take_role, _take_method, _take_fraction, _take_analyte)
    if setting == "name":
        steps = (_take_basis, _take_method, _take_qc, _take_analyte, _take_fraction)
    for step in steps:
        if step(phrase, words, at, parts, setting):
            return True
    return phrase in word_table("noise") or phrase == "|"


def _joins(words: list[str], at: int, parts: _Parts) -> bool:
    """Tell whether this "as" joins (phosphorus as P2O5) rather than being arsenic."""
    if at + 1 >= len(words) or words[at + 1] not in analyte_table():
        return False
    return bool(parts.analytes or parts.units) or (at == 0 and bool(analyte_table()[words[1]].species))


def _take_basis(phrase: str, words: list[str], at: int, parts: _Parts, setting: Setting) -> bool:
    value = word_table("basis").get(phrase)
    if value is None and setting == "name" and not parts.analytes and phrase in analyte_table():
        return False
    if value is None and setting != "statement":
        value = word_table("weak_basis").get(phrase)
    if value is None:
        return False
    if setting == "name" and phrase in analyte_table() and not parts.analytes and not parts.units:
        return False
    parts.bases.append(value)
    return True


def _take_role(phrase: str, words: list[str], at: int, parts: _Parts, setting: Setting) -> bool:
    value = word_table("column").get(phrase)
    if value is None:
        return False
    parts.roles.append(value)
    return True


def _take_qc(phrase: str, words: list[str], at: int, parts: _Parts, setting: Setting) -> bool:
    value = word_table("row_qc").get(phrase)
    if value is None or phrase in analyte_table():
        return False
    parts.qc = parts.qc or value
    return True


def _take_method(phrase: str, words: list[str], at: int, parts: _Parts, setting: Setting) -> bool:
    row = method_table().get(phrase)
    if row is None:
        return False
    parts.methods.append(row["spelling"])
    if row["role"] == "extractant":
        parts.extractants.append(row["extractant"])
    if row["fraction"]:
        parts.fractions.append(row["fraction"])
    return True


def _take_fraction(phrase: str, words: list[str], at: int, parts: _Parts, setting: Setting) -> bool:
    value = word_table("fraction").get(phrase)
    if value is None:
        return False
    parts.fractions.append(value)
    return True


def _take_analyte(phrase: str, words: list[str], at: int, parts: _Parts, setting: Setting) -> bool:
    one = analyte_table().get(phrase)
    if one is None:
        return False
    if one.quantity == "moisture" and parts.analytes and one.role == "analyte":
        # pH (water): the liquid, not the moisture
        parts.methods.append(phrase)
        return True
    if one not in parts.analytes:
        parts.analytes.append(one)
        parts.as_species = parts.after_as
    parts.after_as = False
    return True


def _phrase(text: str, parts: _Parts) -> Phrase:
    return Phrase(
        text,
        tuple(parts.analytes),
        tuple(parts.units),
        _one_of(parts.bases),
        _one_of(parts.fractions),
        tuple(parts.methods),
        tuple(dict.fromkeys(parts.extractants)),
        tuple(dict.fromkeys(parts.roles)),
        parts.qc,
        tuple(parts.unknown),
        parts.as_species,
    )


def _one_of(values: list[str]) -> str:
    return "" if not values else values[0] if len(set(values)) == 1 else "both"


def merge_analytes(found: tuple[Analyte, ...], as_species: bool) -> Analyte | None:
    """Return one analyte from several names of the same thing: ``Phosphorus (P2O5)``, ``Nitrate (NO3-N)``.

    None when they name different things. A species that stays open keeps its choices parted by ``|``.
    """
    if not found:
        return None
    first = found[0]
    if any((one.quantity, one.role) != (first.quantity, first.role) for one in found):
        return None
    spelled = [one.species for one in found if one.species and "|" not in one.species]
    open_ones = [one.species for one in found if "|" in one.species]
    if as_species and found[-1].species:
        species = found[-1].species
    elif len(set(spelled)) > 1:
        species = "|".join(dict.fromkeys(spelled))
    else:
        species = spelled[0] if spelled else (open_ones[0] if open_ones else "")
    method = next((one.method for one in found if one.method), "")
    fractions = {one.fraction for one in found if one.fraction}
    return Analyte(first.quantity, species, fractions.pop() if len(fractions) == 1 else "", method, first.role)


def extractant_of(method: str) -> str:
    """Return the slug of the extractant a printed method names, empty if it names none.

    Parameters
    ----------
    method : as printed, e.g. ``Mehlich-3`` or ``NH4OAc``.
    """
    slugs = parse_phrase(method, "head").extractants
    return slugs[0] if len(slugs) == 1 else ""


def has_forms(key: str) -> bool:
    """Tell whether total and extractable are two different figures of this quantity: true for elements."""
    return (
        key not in ("C", "NH4_N", "NO3_N", "CrVI")
        and bool(quantity(key).formula)
        and quantity(key).is_concentration
        and key not in ("CCE", "CaCO3")
    )


def plain_basis(value: str) -> Basis:
    """Return a basis as the glossary knows it."""
    return "dry" if value == "dry" else "as_received" if value == "as_received" else "not_stated"


def plain_fraction(value: str) -> Fraction:
    """Return a fraction as the glossary knows it."""
    return "total" if value == "total" else "extractable" if value == "extractable" else "none"
