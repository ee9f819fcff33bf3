"""What is done with a value that looks wrong: it is set aside until a person decides, never corrected in silence."""

from __future__ import annotations

import re
from dataclasses import replace

from loamery.errors import InputError, Where
from loamery.finding import Finding
from loamery.garden.model import ReportEntry
from loamery.garden.report import Determination, LabReport
from loamery.lab.doubt import SET_ASIDE_FAMILIES
from loamery.names import quantity
from loamery.say import Verbatim, say
from loamery.units import to_si, unit, units

DOUBTFUL = ("unit_slip", "oxide_as_element", "wet_dry_slip", "wet_dry_disagree", "lost_digit")
"""Findings after which a value is not used until a person has said what it is."""
AS_PRINTED, LEAVE_OUT = "as printed", "leave out"
_VALUE = re.compile(r"^\s*([0-9]+(?:[.,][0-9]+)?(?:[eE]-?[0-9]+)?)\s*(\S+)\s*$")


def settle(report: LabReport, entry: ReportEntry) -> LabReport:
    """Return the report without doubtful values, or with what a person decided about them.

    Parameters
    ----------
    report : with the findings of its checks.
    entry : its line in reports.toml; the answer ``use N`` is ``as printed``, ``leave out``, or a corrected value
        such as ``4.1 %`` (of dry matter, or as received where the report has no dry figure).

    Raises
    ------
    InputError : an answer cannot be understood.
    """
    doubtful = {
        one.about: one for one in report.findings if one.code in DOUBTFUL and one.severity != "note" and one.about
    }
    kept: list[Determination] = []
    told: list[Finding] = []
    corrected: set[str] = set()
    for determination in sorted(report.determinations, key=lambda one: one.basis != "dry"):
        found = doubtful.get(determination.key) or doubtful.get(determination.quantity)
        if quantity(determination.quantity).family not in SET_ASIDE_FAMILIES:
            found = None
        answer = entry.answers.get(f"use {determination.key}", "")
        if found is None and not answer:
            kept.append(determination)
        elif answer == AS_PRINTED:
            kept.append(replace(determination, confirmed=True))
        elif answer and answer != LEAVE_OUT:
            if determination.key not in corrected:  # one right value stands for both columns of a report
                kept.append(_corrected(determination, answer, entry))
            corrected.add(determination.key)
        elif found is not None:
            told.append(_set_aside(report, determination, found))
    return replace(report, determinations=tuple(kept), findings=report.findings + tuple(dict.fromkeys(told)))


def _corrected(determination: Determination, answer: str, entry: ReportEntry) -> Determination:
    match = _VALUE.match(answer)
    wanted = quantity(determination.quantity).si_unit
    if match is None or match[2] not in units() or unit(match[2]).si_unit != wanted:
        raise InputError(
            say("answer “{answer}” to “use {key}”", answer=answer, key=determination.key),
            where=Where(file="reports.toml", column=entry.file),
            expected=say(
                "“{AS_PRINTED}”, “{LEAVE_OUT}”, or a value with its unit, such as “4.1 %”",
                AS_PRINTED=Verbatim(AS_PRINTED),
                LEAVE_OUT=Verbatim(LEAVE_OUT),
            ),
            remedy=say("write it like that, or delete the answer"),
        )
    value = to_si(float(match[1].replace(",", ".")), match[2])
    printed = say("{unit}; corrected to {answer}", unit=determination.raw_unit, answer=answer)
    return replace(determination, value=value, replicates=(), sd=None, raw_unit=printed, confirmed=True)


def _set_aside(report: LabReport, determination: Determination, found: Finding) -> Finding:
    return Finding(
        "set_aside",
        "warning",
        say(
            "{determination} of {name} is set aside until you decide about it.",
            determination=determination.label,
            name=report.name,
        ),
        found.text,
        found.sources,
        about=determination.key,
        proposal=say(
            '{proposal} Then write into reports.toml:  answers = {{ "use {key}" = "…" }}  with the right value and its unit, “{as_printed}” or “{leave_out}”.',
            proposal=found.proposal,
            key=determination.key,
            as_printed=Verbatim(AS_PRINTED),
            leave_out=Verbatim(LEAVE_OUT),
        ),
    )
