"""On which basis a value stands: what is printed nearest to it holds, and what is not printed is asked once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from loamery.finding import Finding
from loamery.garden.report import Determination, Question
from loamery.lab.case import LEAVE_OUT, Case
from loamery.lab.spellings import UnitReading, parse_phrase, plain_basis
from loamery.lab.values import answered
from loamery.names import quantity
from loamery.say import say
from loamery.units import to_si

_WORDS = {"dry": "dry basis", "as_received": "as received"}


@dataclass(frozen=True)
class Open:
    """A determination whose basis is still to be settled.

    Parameters
    ----------
    made : the determination, basis not yet set.
    case : the entry it comes from.
    unit : its unit, with the basis printed beside it if any.
    """

    made: Determination
    case: Case
    unit: UnitReading

    def ask(self, kind: str, text: str, options: Sequence[str], questions: list[Question]) -> str:
        """Return the answer a person gave; without one, ask among the questions of the sample."""
        answer = self.case.ask(kind, text, options)
        if not answer:
            questions.append(self.case.questions[-1])
        return answer


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
            out += _conflict(one, questions)
        elif basis:
            out.append(replace(one.made, basis=plain_basis(basis)))
        else:
            silent.append(one)
    return out + _silent(silent, subject, answer, questions, findings)


def _printed(one: Open) -> tuple[str, str]:
    """Return the basis printed in the row or its column, and the basis that holds after section and title."""
    column, head, *around = (*one.case.entry.bases, "", "", "", "")[:4]
    cell = parse_phrase(column, "head").basis if column else ""
    row = {basis for basis in (one.unit.basis, one.case.entry.phrase.basis, cell) if basis}
    near = row | ({head} if head else set())
    if len(near) > 1 or "both" in near:
        return "both", "both"
    if near:
        found = near.pop()
        return found, found
    return "", next((basis for basis in around if basis), "")


def _conflict(one: Open, questions: list[Question]) -> list[Determination]:
    text = say(
        "The report speaks of both dry and as-received results around “{name}”. On which basis is it?",
        name=one.case.name,
    )
    own = one.ask("basis of", text, ("dry", "as_received"), questions).replace(" ", "_")
    return [replace(one.made, basis=plain_basis(own))] if own in _WORDS else []


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
                say("No basis is printed; laboratories dry soil before they analyse it, so dry was taken."),
                say("{names}: common practice, no source; answer “basis” to say otherwise", names=names),
                sources=("PRACTICE",),
                about="basis",
            )
        )
        return [replace(one.made, basis="dry") for one in silent]
    because = (
        say("no heading, unit or line says whether {names} is of dry matter or of the sample as received", names=names)
        if len(silent) == 1
        else say(
            "no heading, unit or line says whether {names} are of dry matter or of the sample as received", names=names
        )
    )
    findings.append(
        Finding("basis_not_stated", "warning", say("The report does not state its basis."), because, about="basis")
    )
    text = say("Are {names} given on dry basis or as received? The report does not say.", names=names)
    questions.append(Question("basis", text, ("dry", "as_received"), "", silent[0].case.where))
    return []


def _moisture(
    one: Open, opened: Sequence[Open], questions: list[Question], findings: list[Finding]
) -> list[Determination]:
    """Return moisture as a share of the sample as received.

    In a dry column it repeats itself or is zero; a moisture that says of itself that it is on dry basis is asked.
    """
    column, head = (*one.case.entry.bases, "", "")[:2]
    own = {one.unit.basis, one.case.entry.phrase.basis, parse_phrase(column, "head").basis if column else ""} - {""}
    made = replace(one.made, basis="as_received")
    if own - {"as_received"}:
        return _water(one, say("“{name}” is printed on dry basis.", name=one.case.name), questions)
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
        return _water(one, say("“{name}” has another figure in the dry column.", name=one.case.name), questions)
    findings.append(
        Finding(
            "moisture_as_received",
            "note",
            say("Moisture stands in a dry column; it was read as water in the sample as received."),
            say(
                "printed {raw_value} ({where}); common practice, no source",
                raw_value=one.made.raw_value,
                where=str(one.case.where),
            ),
            sources=("PRACTICE",),
            about=one.case.name,
        )
    )
    return [made]


def _water(one: Open, why: str, questions: list[Question]) -> list[Determination]:
    """Ask for the water in the sample as received, in the unit printed; return it when a person has said it."""
    text = why + say(" How much water is in the sample as received, in {printed}?", printed=one.unit.printed)
    answer = one.ask("value of", text, ("a number", LEAVE_OUT), questions)
    given = answered(one.case, answer) if answer else None
    if given is None or given.value is None or given.censored != "no" or to_si(given.value, one.unit.unit) >= 1.0:
        return []
    value = to_si(given.value, one.unit.unit)
    return [replace(one.made, value=value, basis="as_received", raw_value=given.shown, replicates=(), confirmed=True)]
