"""Checks of one laboratory report: each is a small named function that yields findings and changes nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from loamery.finding import Finding, by_severity
from loamery.garden.report import LabReport
from loamery.lab import checks_balance as balance
from loamery.lab import checks_range as ranges
from loamery.lab import checks_slips as slips
from loamery.lab.published import kind_row

Check = Callable[[LabReport, str | None], Iterator[Finding]]

INSIDE_ONE_SAMPLE: tuple[Check, ...] = (
    balance.check_extractable,
    balance.check_mineral_nitrogen,
    balance.check_single_shares,
    balance.check_replicates,
    slips.check_wet_dry_pairs,
    ranges.check_ph,
)
"""Checks that hold for soils as well as for materials."""

OF_A_MATERIAL: tuple[Check, ...] = (
    balance.check_ash_organic,
    balance.check_implied_carbon,
    balance.check_carbon_of_organic,
    balance.check_cn,
    balance.check_sums,
    balance.check_moisture_sum,
    balance.check_oxides,
    balance.check_protein,
    slips.check_slips,
    slips.check_ashing_basis,
    slips.check_lost_digit,
    ranges.check_bone,
    ranges.check_hard_ranges,
    ranges.check_published,
    ranges.check_cn_range,
)


def check_report(report: LabReport, kind: str | None = None) -> tuple[Finding, ...]:
    """Return what does not add up in a laboratory report.

    Parameters
    ----------
    report : one sample as read.
    kind : slug of the reference material, for comparison with published ranges; without it only the checks inside
        the sample run.

    Returns
    -------
    Findings, stops first; corrected values stand in `proposal` and are never applied.

    Raises
    ------
    UnknownName : no such material.
    """
    if kind is not None:
        kind_row(kind)
    checks = INSIDE_ONE_SAMPLE + (OF_A_MATERIAL if report.subject == "material" else ())
    found = dict.fromkeys(finding for check in checks for finding in check(report, kind))
    return tuple(by_severity(found))
