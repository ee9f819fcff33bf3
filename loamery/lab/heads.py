"""Column heads: what each column of a table of analytes holds."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from loamery.lab.facts import basis_in_brackets, is_value
from loamery.lab.spellings import parse_phrase, parse_unit
from loamery.lab.tables import Cell
from loamery.lab.vocabulary import norm, word_table

_PRIORITY = (
    "qc", "limit", "ignore", "sd2", "sd", "qualifier", "mean", "replicate_number", "result", "unit", "method", "basis",
    "symbol", "analyte", "type", "lab_number", "sample",
)  # fmt: skip
VALUE_ROLES = ("result", "mean", "replicate")
_SIGNS = {"<", ">", "≤", "≥", "<=", ">=", "~", "u", "j", "nd", "bdl", "b", "h", "q", "e", "="}


@dataclass(frozen=True)
class Head:
    """One column of a table.

    Parameters
    ----------
    role : result, mean, replicate, unit, method, basis, limit, qualifier, sd, sd2, sample, analyte, symbol, qc,
        ignore, unlabelled (numbers without a head) or unknown.
    label : the head as printed.
    sample : the sample that the head names, where samples stand side by side.
    basis, unit : what the head says of them, unit as printed.
    extra : methods and fraction words of the head, as printed.
    """

    role: str
    label: str = ""
    sample: str = ""
    basis: str = ""
    unit: str = ""
    extra: str = ""


def head_of(texts: Sequence[str]) -> Head:
    """Return what a column holds from its head cells, top to bottom."""
    role, basis, unit, sample, extra = "", "", "", "", ""
    for text in texts:
        one = _single_head(text)
        basis = basis if not one.basis else one.basis if basis in ("", one.basis) else "both"
        unit = one.unit or unit
        extra = " ".join(part for part in (extra, one.extra) if part)
        if one.role == "unknown":
            sample = one.label or sample
        elif one.role and (role in ("", "result") or one.role != "result"):
            role = one.role  # the lowest head says what the column holds; the upper ones say of what
    label = " ".join(text for text in texts if text)
    return Head(role or ("unknown" if sample else ""), label, sample, basis, unit, extra)


def _rank(role: str) -> int:
    return _PRIORITY.index(role) if role in _PRIORITY else 5 if role == "replicate" else len(_PRIORITY)


def _single_head(text: str) -> Head:
    phrase = parse_phrase(text, "head")
    if not text or norm(text) == "":
        return Head("")
    roles = sorted(phrase.roles, key=_rank)
    unit = phrase.units[0].printed if len(phrase.units) == 1 else ""
    extra = " ".join(phrase.methods) + (f" {phrase.fraction}" if phrase.fraction in ("total", "extractable") else "")
    plain = all(re.fullmatch(r"\d{1,2}|[a-c]|nr|no", word) for word in phrase.unknown)
    role = roles[0] if roles else ""
    if role in ("replicate_number", "result") and phrase.unknown and plain:
        return Head("replicate", text, basis=phrase.basis, unit=unit, extra=extra.strip())
    if role and (not phrase.unknown or role in ("qc", "limit", "ignore", "sd", "sd2")):
        return Head(role, text, basis=phrase.basis, unit=unit, extra=extra.strip())
    if role == "sample" and phrase.unknown:
        return Head("unknown", text)
    if not role and not phrase.unknown and not phrase.analytes and (phrase.basis or phrase.units):
        return Head("result", text, basis=phrase.basis, unit=unit, extra=extra.strip())
    return Head("unknown", text, basis=basis_in_brackets(text))  # most often the name of a sample


def is_head_row(cells: Sequence[Cell]) -> bool:
    """Tell whether a row is a row of column heads: no value in it, and at least two of its cells are head words."""
    filled = [cell for cell in cells if cell.text]
    known = [_single_head(cell.text).role for cell in filled if parse_phrase(cell.text, "head").roles]
    known = [role for role in known if role not in ("", "unknown")]
    if len(filled) < 2:
        return False
    if any(word_table("column").get(norm(cell.text)) == "analyte" for cell in filled):
        return True  # samples side by side may be headed by numbers
    if any(_is_number(cell) for cell in filled):
        return False
    return len(known) >= 2 and any(role in ("result", "mean", "replicate", "unit", "analyte") for role in known)


def names_a_role(cells: Sequence[Cell]) -> bool:
    """Tell whether any cell of a row is a head word, even one that is not read, such as Price."""
    return any(_single_head(cell.text).role not in ("", "unknown") for cell in cells if cell.text)


def _is_number(cell: Cell) -> bool:
    if cell.number is not None or cell.date is not None:
        return True
    return is_value(cell) and re.search(r"\d", cell.text) is not None


def settle(heads: dict[int, Head], body: Sequence[Sequence[Cell]], name_column: int) -> dict[int, Head]:
    """Return the heads with the columns that have no telling head settled from what stands in them."""
    out = dict(heads)
    width = max((len(row) for row in body), default=0)
    for column in range(width):
        if column == name_column:
            continue
        head = out.get(column, Head(""))
        cells = [row[column] for row in body if column < len(row) and row[column].text]
        if head.role in VALUE_ROLES and cells and _role_of_body(cells, head) == "unit":
            out[column] = Head("unit", head.label)  # headed as the result, and full of units
        elif head.role in ("", "unknown"):
            out[column] = Head(_role_of_body(cells, head), head.label, head.sample, head.basis, head.unit, head.extra)
    return _with_results(_numbered(out))


def _role_of_body(cells: Sequence[Cell], head: Head) -> str:
    if not cells:
        return "ignore"
    texts = [cell.text for cell in cells]
    signs = sum(1 for text in texts if norm(text) in _SIGNS or text.strip() in _SIGNS)
    if signs == len(texts):
        return "qualifier"
    words = [cell for cell in cells if not is_value(cell) and cell.text.strip() not in ("-", "–", "")]
    if (
        words
        and sum(1 for cell in words if parse_unit(cell.text)) >= 0.5 * len(words)
        and len(words) >= 0.5 * len(cells)
    ):
        return "unit"
    if words and all(
        parse_phrase(cell.text, "head").basis and not parse_phrase(cell.text, "head").unknown for cell in words
    ):
        return "basis"
    values = sum(1 for cell in cells if is_value(cell))
    if values >= 0.5 * len(cells) or (head.sample and values):
        return "side" if head.sample else "unlabelled"
    if words and sum(1 for cell in words if parse_phrase(cell.text, "head").methods) >= 0.5 * len(words):
        return "method"
    return "ignore" if not values else "side" if head.sample else "unlabelled"


def _numbered(heads: dict[int, Head]) -> dict[int, Head]:
    """Take a lone numbered result for the result it is, and several for replicates."""
    twins = [column for column, head in heads.items() if head.role == "replicate"]
    if len(twins) == 1:
        head = heads[twins[0]]
        heads[twins[0]] = Head("result", head.label, "", head.basis, head.unit, head.extra)
    return heads


def _with_results(heads: dict[int, Head]) -> dict[int, Head]:
    """Decide what columns headed by other words are: samples side by side, the result, or not to be read."""
    has_result = any(head.role in VALUE_ROLES for head in heads.values())
    sides = [column for column, head in heads.items() if head.role == "side"]
    bare = [column for column, head in heads.items() if head.role == "unlabelled"]
    for column in sides:
        head = heads[column]
        heads[column] = Head(
            "unread" if has_result else "result", head.label, head.sample, head.basis, head.unit, head.extra
        )
    if not has_result and not sides and len(bare) == 1:
        heads[bare[0]] = Head("result", heads[bare[0]].label)
    elif has_result or sides:
        for column in bare:
            heads[column] = Head("unread", heads[column].label)
    return heads


def qc_word(label: str) -> str:
    """Return qc, limit or mean when a row's label says it is no sample: blank, duplicate, recovery, reporting limit."""
    plain = norm(re.sub(r"\d+$", "", label.strip()))
    if (value := word_table("row_qc").get(plain)) is not None:
        return value
    words = plain.split()
    strong = {
        "dup",
        "duplicate",
        "blank",
        "rpd",
        "spike",
        "spiked",
        "lcs",
        "crm",
        "srm",
        "msd",
        "ccv",
        "duplikat",
        "doublon",
    }
    return "qc" if any(word in strong for word in words) else ""
