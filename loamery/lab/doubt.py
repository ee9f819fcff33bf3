"""Figures a composition does not take over as printed: impossible ones, and those that are off by a power of ten.

The corrected value is not taken either: until a person settles it, the published range stands for the quantity.
"""

from __future__ import annotations

from dataclasses import replace

from loamery.finding import Finding
from loamery.garden.report import LabReport
from loamery.lab.checks_range import check_bone
from loamery.lab.checks_slips import check_slips
from loamery.names import quantity
from loamery.say import joined, say

TENFOLD_CODES = ("unit_slip", "lost_digit")
SET_ASIDE_FAMILIES = ("nutrient", "organic", "physical")


def set_aside(report: LabReport, kind: str) -> tuple[LabReport, tuple[Finding, ...]]:
    """Return the report without the figures that cannot be right as printed, and one finding naming them.

    Parameters
    ----------
    report : one sample.
    kind : slug of the reference material.
    """
    reasons = _impossible(report) | _slipped(report, kind)
    if not reasons:
        return report, ()
    kept = tuple(one for one in report.determinations if one.key not in reasons or one.confirmed)
    reasons = {key: reason for key, reason in reasons.items() if not any(one.key == key for one in kept)}
    if not reasons:
        return report, ()
    finding = Finding(
        "set_aside",
        "warning",
        say(
            "Left out of the composition until settled: {join} of {name}.", join=joined(", ", reasons), name=report.name
        ),
        joined("; ", (say("{key}: {reason}", key=key, reason=reason) for key, reason in reasons.items())),
        ("JUDGE",),
        about=", ".join(reasons),
        proposal=say("Ask the laboratory and correct the value in the report; until then the published range is used."),
    )
    return replace(report, determinations=kept), (finding,)


def _impossible(report: LabReport) -> dict[str, str]:
    shares = (one for one in report.determinations if quantity(one.quantity).si_unit == "kg/kg")
    return {one.key: say("more than 100 %") for one in shares if one.value is not None and one.value > 1.0}


def _slipped(report: LabReport, kind: str) -> dict[str, str]:
    slips = (one for one in check_slips(report, kind) if one.code in TENFOLD_CODES and one.severity == "warning")
    # A metal or salt far above its usual range may be contamination: such a figure always counts.
    found = [one for one in slips if quantity(one.about).family in SET_ASIDE_FAMILIES]
    found += list(check_bone(report, kind))
    return {one.about: one.because for one in found}
