"""What a report says around its tables: laboratory, sample, dates, basis, extractant, and that it is invented."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from loamery.lab.cells import month_number, parse_cell
from loamery.lab.spellings import parse_phrase, parse_unit
from loamery.lab.tables import Cell
from loamery.lab.vocabulary import norm, word_table

_OTHERWISE = re.compile(
    r"unless (?:otherwise )?(?:stated|noted|indicated|specified|shown)(?: otherwise)?|except where noted", re.I
)

_LABORATORY = re.compile(
    r"\b(?:labs?|laborator\w*|labor|analytical|testing|institut\w*|services|soil (?:&|and) plant|agronomy)\b", re.I
)


@dataclass
class Facts:
    """Facts of the document or of one sample, filled while its lines are read.

    Parameters
    ----------
    basis : what the lines say holds for all results: dry, as_received, ``both`` when they disagree, empty if silent.
    notes : free lines, from which the subject is told.
    """

    lab: str = ""
    sample: str = ""
    lab_number: str = ""
    sampled_on: str = ""
    reported_on: str = ""
    basis: str = ""
    unit: str = ""
    extractant: str = ""
    subject: str = ""
    invented: bool = False
    notes: list[str] = field(default_factory=list)


def pairs(cells: Sequence[Cell]) -> list[tuple[str, str]]:
    """Return the key words and values of a row such as ``Sample | Grounds A`` or ``Matrix: compost``.

    A row whose cells are column heads, or whose first cell is no known key word, holds none.
    """
    filled = [cell.text for cell in cells if cell.text]
    if not filled or _looks_like_head(filled):
        return []
    out: list[tuple[str, str]] = []
    at = 0
    while at < len(filled):
        key, colon, value = filled[at].partition(":")
        if colon and _key(key) and value.strip():
            out.append((_key(key), value.strip()))
        elif _key(key) and not value.strip() and at + 1 < len(filled) and not _is_key_cell(filled[at + 1]):
            out.append((_key(key), filled[at + 1]))
            at += 1
        elif not out and not colon:
            return []
        at += 1
    return out


def _key(text: str) -> str:
    plain = norm(re.sub(r"\([^)]*\)", "", text)) or norm(text)
    table = word_table("key")
    return table.get(plain) or table.get(" ".join(dict.fromkeys(plain.split()))) or _first_key(text)


def _first_key(text: str) -> str:
    """Return the key of heads that name two things at once, such as Field / bed."""
    parts = [norm(part) for part in text.split("/")]
    found = {word_table("key").get(part, "") for part in parts}
    return found.pop() if len(parts) > 1 and len(found) == 1 else ""


def _is_key_cell(text: str) -> bool:
    key, colon, value = text.partition(":")
    return bool(_key(key)) and bool(colon) and not value.strip()


def _looks_like_head(filled: Sequence[str]) -> bool:
    heads = sum(1 for text in filled if ":" not in text and is_role_word(text))
    return heads >= 2


def is_role_word(text: str) -> bool:
    """Tell whether a cell is a plain column head such as Result or Unit."""
    phrase = parse_phrase(text, "head")
    return bool(phrase.roles) and not phrase.unknown and not phrase.analytes


def take(facts: Facts, key: str, value: str) -> None:
    """Keep one key and value of the head block."""
    value = value.strip(" ;,")
    if key in ("sampled_on", "reported_on"):
        setattr(facts, key, iso_date(value) or value)
    elif key == "basis":
        facts.basis = _agree(facts.basis, value_basis(value))
    elif key == "unit":
        facts.unit = value if parse_unit(value) else facts.unit
    elif key == "extractant":
        facts.extractant = value
    elif key in ("lab", "sample", "lab_number", "subject"):
        setattr(facts, key, value)
    facts.invented = facts.invented or is_invented(value)
    if key == "sample":
        facts.basis = _agree(facts.basis, basis_in_brackets(value))
    if key in ("sample", "subject", "other"):
        facts.notes.append(value)


def value_basis(text: str) -> str:
    """Return the basis named by a short value such as ``dry weight`` or ``D``."""
    phrase = parse_phrase(text, "head")
    return phrase.basis or stated_basis(text)


def basis_in_brackets(text: str) -> str:
    """Return the basis said in brackets behind a sample's name; “Dry leaves” says nothing of a basis."""
    found = re.search(r"\(([^()]*)\)\s*$", text)
    phrase = parse_phrase(found[1], "head") if found else None
    return phrase.basis if phrase is not None and not phrase.unknown and not phrase.analytes else ""


def take_line(facts: Facts, text: str) -> None:
    """Keep what a free line says: a basis for all results, the subject, that it is invented."""
    facts.invented = facts.invented or is_invented(text)
    facts.basis = _agree(facts.basis, stated_basis(text))
    facts.notes.append(text)


def _agree(old: str, new: str) -> str:
    if not new or not old:
        return new or old
    return old if old == new else "both"


def is_invented(text: str) -> bool:
    """Tell whether a text says of itself that it is invented."""
    words = f" {norm(text)} "
    return any(f" {mark} " in words for mark in word_table("invented"))


def stated_basis(text: str) -> str:
    """Return the basis that a line of text states for all results.

    ``Results on dry matter basis, moisture as received`` is dry: what it says of moisture alone is not said of the
    rest. ``Results relate to the sample as received`` states none. A clause that names single nutrients gives
    ``both``, so that it is asked.
    """
    if len(text) > 400:
        return ""
    plain = _OTHERWISE.sub(" ", text)
    words = f" {norm(plain)} "
    if not any(f" {word} " in words for word in word_table("statement")):
        return ""
    found = {basis for clause in re.split(r"[;,.()]|\band\b|\bbut\b", plain) if (basis := _clause_basis(clause))}
    return "" if not found else found.pop() if len(found) == 1 else "both"


def _clause_basis(clause: str) -> str:
    phrase = parse_phrase(clause.strip(), "statement")
    if not phrase.basis:
        return ""
    words = f" {norm(clause)} "
    if any(f" {mark} " in words for mark in word_table("unapplied")):
        return "both" if any(f" {mark} " in words for mark in ("not", "except", "unless")) else ""
    named = [one for one in phrase.analytes if _really_named(one.species or one.quantity, clause)]
    if any(one.quantity == "moisture" for one in named):
        return ""
    return "both" if named else phrase.basis


def _really_named(symbol: str, clause: str) -> bool:
    """Tell whether a short symbol stands in the line as such; "as" and "in" are words, not arsenic and indium."""
    return len(symbol) > 2 or (symbol != "As" and re.search(rf"\b{symbol}\b", clause) is not None) or len(symbol) == 0


def iso_date(text: str) -> str:
    """Return a printed date in ISO form; empty when day and month cannot be told apart or it is no date."""
    text = text.strip()
    match = re.match(r"(\d{4})-(\d{1,2})-(\d{1,2})", text)
    if match:
        return _iso(int(match[1]), int(match[2]), int(match[3]))
    match = re.match(r"(\d{1,2})[-. ]{1,2}([^\W\d_]+)\.?,?[-. ]{1,2}(\d{4})", text)
    if match and (month := month_number(match[2])):
        return _iso(int(match[3]), month, int(match[1]))
    match = re.match(r"([^\W\d_]+)\.? (\d{1,2}),? (\d{4})", text)
    if match and (month := month_number(match[1])):
        return _iso(int(match[3]), month, int(match[2]))
    match = re.match(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})", text)
    if match:
        first, second, year = int(match[1]), int(match[3]), int(match[4])
        if match[2] == "." or first > 12 or first == second:
            return _iso(year, second, first)
        return _iso(year, first, second) if second > 12 else ""
    return ""


def _iso(year: int, month: int, day: int) -> str:
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        return ""


def subject_of(texts: Sequence[str]) -> str:
    """Return soil or material from free lines; ``both`` when they speak of both, empty when of neither."""
    found = set()
    for text in texts:
        words = f" {norm(text)} "
        kinds = {value for word, value in word_table("subject").items() if f" {word} " in words}
        if _LABORATORY.search(text) and not re.search(r"report|results?|analys[ei]s", text, re.I):
            continue  # a soil laboratory analyses compost too
        if kinds == {"soil", "material"} and re.search(r"soil (?:amendment|improver|conditioner)", text, re.I):
            kinds = {"material"}
        found |= kinds
    return "" if not found else found.pop() if len(found) == 1 else "both"


def is_value(cell: Cell) -> bool:
    """Tell whether a cell holds a value of any kind: a number, a limit, a range, a date, a non-detect."""
    if cell.number is not None or cell.date is not None:
        return True
    return parse_cell(cell.text, "unknown").kind not in ("blank", "text")
