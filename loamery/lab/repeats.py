"""The same analyte printed twice: kept once where the figures agree within their rounding, asked where they do not."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from loamery.finding import Finding
from loamery.garden.report import Determination, Question
from loamery.lab.cells import decimals
from loamery.lab.spellings import extractant_of
from loamery.lab.vocabulary import norm
from loamery.say import joined, say

_OWN_METHODS = ("tkn", "organic carbon", "total carbon", "loss on ignition")


def without_repeats(
    found: Sequence[Determination], questions: list[Question], findings: list[Finding], answers: Mapping[str, str]
) -> list[Determination]:
    """Return the determinations with repeats resolved.

    Parameters
    ----------
    questions, findings : those of the sample; added to.
    answers : ``value of X`` picks one of the printed figures.
    """
    groups: dict[tuple[str, ...], list[Determination]] = {}
    for one in found:
        groups.setdefault((one.key, one.basis, method_class(one.method)), []).append(one)
    out: list[Determination] = []
    for group in groups.values():
        out += group if len(group) == 1 else _one_of(group, questions, findings, answers)
    return [one for one in found if one in out]


def method_class(method: str) -> str:
    """Return what makes two determinations of one analyte different figures: the extractant or the extract ratio."""
    plain = norm(method)
    own = [name for name in _OWN_METHODS if name in plain]
    ratio = re.search(r"1\s?:\s?(\d+(?:\.\d+)?)", method)
    return " ".join([*own, extractant_of(method), ratio[1] if ratio else ""]).strip()


def _one_of(
    group: Sequence[Determination], questions: list[Question], findings: list[Finding], answers: Mapping[str, str]
) -> list[Determination]:
    first = group[0]
    shown = ", ".join(f"{one.raw_value} {one.raw_unit}".strip() for one in group)
    places = joined("; ", (str(one.where) for one in group))
    if all(_agree(first, one) for one in group[1:]):
        text = say(
            "“{raw_name}” is printed more than once; the figures agree and the first was kept.", raw_name=first.raw_name
        )
        findings.append(
            Finding(
                "duplicate_analyte",
                "note",
                text,
                say("{shown} ({places})", shown=shown, places=places),
                about=first.raw_name,
            )
        )
        return [first]
    options = tuple(f"{one.raw_value} {one.raw_unit}".strip() for one in group)
    picked = answers.get(f"value of {first.raw_name}", "").strip()
    chosen = [one for one, option in zip(group, options, strict=True) if norm(picked) == norm(option)] if picked else []
    if chosen:
        return chosen[:1]
    text = say("“{raw_name}” is printed more than once with different figures.", raw_name=first.raw_name)
    findings.append(
        Finding(
            "duplicate_analyte",
            "warning",
            text,
            say("{shown} ({places})", shown=shown, places=places),
            about=first.raw_name,
        )
    )
    questions.append(
        Question(
            f"value of {first.raw_name}",
            say("{text} Which holds?", text=text),
            (*options, "leave out"),
            "",
            first.where,
        )
    )
    return []


def _agree(one: Determination, other: Determination) -> bool:
    if one.value is None or other.value is None:
        return one.censored == other.censored and one.limit == other.limit
    return abs(one.value - other.value) <= _resolution(one) + _resolution(other) + 1e-12 * abs(one.value)


def _resolution(one: Determination) -> float:
    """Return half of the last printed digit in SI."""
    number = re.search(r"\d+(?:[.,]\d+)*", one.raw_value)
    if one.value is None or number is None:
        return 0.0
    printed = (
        float(re.sub(r"[^\d.]", "", number[0].replace(",", ".")))
        if number[0].count(".") + number[0].count(",") < 2
        else 0.0
    )
    share = (
        1.0 - one.value
        if one.quantity == "moisture" and printed and one.value > 0 and "olid" in one.raw_name
        else one.value
    )
    return abs(share) / printed * 0.51 * 10.0 ** -decimals(number[0]) if printed else 0.0
