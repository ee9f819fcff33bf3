"""Values outside what is possible, and outside what has been published for the material."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from loamery.finding import Finding
from loamery.garden.report import LabReport
from loamery.lab.checks_slips import TENFOLD, compared, slips, whole_sample_wet
from loamery.lab.published import Published, own_published, published
from loamery.lab.sample import figure, shown
from loamery.names import quantity
from loamery.reference import coefficient, coefficients
from loamery.say import say
from loamery.uncertain import Uncertain
from loamery.units import to_compound

HARD = ("moisture", "N", "EC", "bulk_density")


def check_ph(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when pH is off the scale or implausible (rule Q13)."""
    one = figure(report, "pH")
    if one is None:
        return
    low, high = coefficient("ph_scale_low").value, coefficient("ph_scale_high").value
    plausible = coefficient("ph_plausible_low").value, coefficient("ph_plausible_high").value
    off_scale = not low <= one.value <= high
    if off_scale or not plausible[0] <= one.value <= plausible[1]:
        tenth = one.value / TENFOLD
        lost = plausible[0] <= tenth <= plausible[1]
        yield Finding(
            "ph_out_of_range",
            "stop" if off_scale else "warning",
            say(
                "pH {one:g} is {what}.",
                one=one.value,
                what=say("off the scale") if off_scale else say("implausible for such a material"),
            ),
            say(
                "scale {low:g} to {high:g}, plausible {plausible:g} to {plausible2:g}",
                low=low,
                high=high,
                plausible=plausible[0],
                plausible2=plausible[1],
            ),
            (coefficient("ph_plausible_low").source,),
            about="pH",
            proposal=say("A decimal point may be lost: pH {tenth:g}.", tenth=tenth)
            if lost
            else say("Ask the laboratory."),
        )


def check_bone(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when phosphorus exceeds that of pure bone mineral (rule Q9)."""
    one, cap = figure(report, "P"), coefficient("bone_p_max")
    if one is not None and cap.value < one.value <= 1:
        element = one.value / to_compound("P", "P2O5")
        yield Finding(
            "p_above_bone",
            "stop",
            say(
                "Phosphorus {shown} is more than pure bone mineral holds: it must be P2O5.", shown=shown(one.value, "P")
            ),
            say("Ca5(PO4)3OH is {value:.1f} % P", value=100 * cap.value),
            (cap.source,),
            about="P",
            proposal=say("As P2O5 it is {shown} phosphorus.", shown=shown(element, "P")),
        )


def check_hard_ranges(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding for values no by-product can have (rule Q13)."""
    for key in HARD:
        one = figure(report, key)
        for side in ("low", "high"):
            name = f"hard_{side}_{key}"
            if one is None or name not in coefficients():
                continue
            bound = coefficient(name)
            if one.value < bound.value if side == "low" else one.value > bound.value:
                yield Finding(
                    "outside_published_range",
                    "warning",
                    say(
                        "{quantity} {shown} is beyond what such materials can have.",
                        quantity=quantity(key).label,
                        shown=shown(one.value, key),
                    ),
                    say(
                        "{what} plausible {shown}",
                        what=say("lowest") if side == "low" else say("highest"),
                        shown=shown(bound.value, key),
                    ),
                    (bound.source,),
                    about=key,
                    proposal=say("Ask the laboratory about the unit."),
                )


def check_published(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a note for every value outside the published distribution that no slip explains."""
    wet = whole_sample_wet(report, kind) is not None
    for one in compared(report, kind):
        outside = not one.published.low <= one.figure.value <= one.published.high
        far = abs(one.score()) > coefficient("slip_z_warn").value
        if one.key == "CN" or wet or not (outside and far) or slips(one, report):
            continue
        yield Finding(
            "outside_published_range",
            "note",
            say("{quantity} is outside what has been published for this material.", quantity=quantity(one.key).label),
            say("{against}; standard score {score:+.1f}", against=one.against, score=one.score()),
            one.published.sources,
            about=one.key,
            proposal=say("A load may differ by half from the average; look at the unit and the basis once more."),
        )


def check_cn_range(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when C:N, printed or computed, lies outside the material's published range."""
    ratio, carbon, nitrogen = (figure(report, key) for key in ("CN", "C", "N"))
    known = published(kind, "CN") if kind and report.subject == "material" else None
    if known is None or known.standing != "material":
        return
    if ratio is not None:
        value, how = ratio.value, say("printed")
    elif carbon is not None and nitrogen is not None and nitrogen.value:
        value, how = carbon.value / nitrogen.value, say("carbon over nitrogen")
    else:
        return
    band = _ratio_spread(kind, known).band()
    low, high = min(band.low, known.low), max(band.high, known.high)
    if not low <= value <= high:
        yield Finding(
            "cn_out_of_range",
            "warning" if not low / 2 <= value <= high * 2 else "note",
            say(
                "C:N {value:.3g} lies outside the published {low:.3g} to {high:.3g} of this material.",
                value=value,
                low=low,
                high=high,
            ),
            say(
                "{how}: {value:.4g}; published median {median:.3g}",
                how=how,
                value=value,
                median=known.distribution.median,
            ),
            known.sources,
            about="CN",
            proposal=say("Look at carbon and nitrogen: same basis, same sample?"),
        )


def _ratio_spread(kind: str | None, known: Published) -> Uncertain:
    """Return the wider of the published spread of C:N and the one that published carbon and nitrogen imply."""
    parts = [own_published(kind, key) for key in ("C", "N")] if kind else []
    implied = math.hypot(*(one.distribution.sigma for one in parts if one is not None)) if all(parts) else 0.0
    return replace(known.distribution, sigma=max(known.distribution.sigma, implied))
