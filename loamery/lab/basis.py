"""On which basis a value stands: what is printed nearest to it holds, and what is not printed is asked once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from loamery.finding import Finding
from loamery.garden.report import Determination, Question
from loamery.lab.entries import Case
from loamery.lab.spellings import parse_phrase, plain_basis
from loamery.names import quantity

_WORDS = {"dry": "dry basis", "as_received": "as received"}


@dataclass(frozen=True)
class Open:
    """A determination whose basis is still to be settled.

    Parameters
    ----------
    made : the determination, basis not yet set.
    case : the entry it comes from.
    unit_basis : basis printed with its unit, empty if none.
    solids : it was printed as dry matter.
    """

    made: Determination
    case: Case
    unit_basis: str
    solids: bool = False


def needs_basis(key: str) -> bool:
    """Tell whether a quantity means different things dry and as received."""
    return quantity(key).is_concentration


def settle_basis(
    opened: Sequence[Open], subject: str, answer: str, questions: list[Question], findings: list[Finding]
) -> list[Determination]:
    """Return the determinations whose basis is certain; ask once for the rest.

    Parameters
    ----------
    answer : what a person said of values whose basis is not printed: dry, as_received or empty.
    questions, findings : those of the sample; added to.
    """
    out: list[Determination] = []
    silent: list[Open] = []
    for one in opened:
        if one.made.quantity == "moisture":
            out += _moisture(one, opened, questions, findings)
            continue
        near, basis = _printed(one)
        if one.made.quantity == "bulk_density" or not needs_basis(one.made.quantity):
            kept = (
                plain_basis(near)
                if near in _WORDS and one.made.quantity in ("bulk_density", "fecal_coliform", "e_coli", "salmonella")
                else "none"
            )
            out.append(replace(one.made, basis=kept))
        elif basis == "both":
            out += _conflict(one, answer, questions)
        elif basis:
            out.append(replace(one.made, basis=plain_basis(basis)))
        else:
            silent.append(one)
    return out + _silent(silent, subject, answer, questions, findings)


def _printed(one: Open) -> tuple[str, str]:
    """Return the basis printed in the row or its column, and the basis that holds after section and title."""
    column, head, *around = (*one.case.entry.bases, "", "", "", "")[:4]
    cell = parse_phrase(column, "head").basis if column else ""
    row = {basis for basis in (one.unit_basis, one.case.entry.phrase.basis, cell) if basis}
    near = row | ({head} if head else set())
    if len(near) > 1 or "both" in near:
        return "both", "both"
    if near:
        found = near.pop()
        return found, found
    return "", next((basis for basis in around if basis), "")


def _conflict(one: Open, answer: str, questions: list[Question]) -> list[Determination]:
    key = f"basis of {one.case.name}"
    own = one.case.answers.get(key, "").strip().replace(" ", "_") or answer
    if own in _WORDS:
        return [replace(one.made, basis=plain_basis(own))]
    text = f"The report speaks of both dry and as-received results around “{one.case.name}”. On which basis is it?"
    questions.append(Question(key, text, ("dry", "as_received"), "", one.case.where))
    return []


def _silent(
    silent: Sequence[Open], subject: str, answer: str, questions: list[Question], findings: list[Finding]
) -> list[Determination]:
    """Settle values without any printed basis: soil is dried before it is analysed; for a material it is asked."""
    if not silent:
        return []
    if answer in _WORDS:
        return [replace(one.made, basis=plain_basis(answer)) for one in silent]
    names = ", ".join(dict.fromkeys(one.case.name for one in silent))
    if subject == "soil":
        findings.append(
            Finding(
                "basis_not_stated",
                "note",
                "No basis is printed; laboratories dry soil before they analyse it, so dry was taken.",
                f"{names}: common practice, no source; answer “basis” to say otherwise",
                sources=("PRACTICE",),
                about="basis",
            )
        )
        return [replace(one.made, basis="dry") for one in silent]
    because = f"no heading, unit or line says whether {names} {'is' if len(silent) == 1 else 'are'} of dry matter or of the sample as received"
    findings.append(
        Finding("basis_not_stated", "warning", "The report does not state its basis.", because, about="basis")
    )
    text = f"Are {names} given on dry basis or as received? The report does not say."
    questions.append(Question("basis", text, ("dry", "as_received"), "", silent[0].case.where))
    return []


def _moisture(
    one: Open, opened: Sequence[Open], questions: list[Question], findings: list[Finding]
) -> list[Determination]:
    """Return moisture as a share of the sample as received.

    In a dry column it repeats itself or is zero; a moisture that says of itself that it is on dry basis is asked.
    """
    column, head = (*one.case.entry.bases, "", "")[:2]
    own = {one.unit_basis, one.case.entry.phrase.basis, parse_phrase(column, "head").basis if column else ""} - {""}
    made = replace(one.made, basis="as_received")
    if (own == {"dry"} or "both" in own or len(own) > 1) and not one.case.answers.get(f"value of {one.case.name}"):
        text = f"“{one.case.name}” is printed on dry basis. How much water is in the sample as received?"
        questions.append(Question(f"value of {one.case.name}", text, ("a number", "leave out"), "", one.case.where))
        return []
    if head != "dry" or own:
        return [made]
    wet = [
        other
        for other in opened
        if other is not one
        and other.made.quantity == "moisture"
        and (*other.case.entry.bases, "", "")[1] == "as_received"
    ]
    if one.made.value is not None and (
        one.made.value == 0.0 or any(other.made.value == one.made.value for other in wet)
    ):
        return []  # nought in the dry column, or the same figure twice
    if wet:
        text = f"“{one.case.name}” has another figure in the dry column. Which is the water in the sample as received?"
        questions.append(Question(f"value of {one.case.name}", text, ("a number", "leave out"), "", one.case.where))
        return []
    findings.append(
        Finding(
            "moisture_as_received",
            "note",
            "Moisture stands in a dry column; it was read as water in the sample as received.",
            f"printed {one.made.raw_value} ({one.case.where}); common practice, no source",
            sources=("PRACTICE",),
            about=one.case.name,
        )
    )
    return [made]
