"""Sums and ratios that must hold inside one sample: ash and organic matter, carbon, nitrogen, oxides, replicates."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from loamery.finding import Finding, Severity
from loamery.garden.report import LabReport
from loamery.lab.checks_slips import rounding_half
from loamery.lab.sample import Figure, figure, moisture_of, names_in, shown
from loamery.names import quantity
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.units import to_compound

CHARS = ("biochar",)
MINERALS = ("P", "K", "Ca", "Mg", "S", "Na", "Fe", "Mn", "Zn", "Cu", "Al", "Si")
OXIDES_OF_ASH = ("P", "K", "Ca", "Mg", "Na", "Fe", "Al", "Si", "Mn")
ORGANIC_FRACTIONS = ("lignin", "cellulose", "hemicellulose", "fat", "protein", "ash")


def check_extractable(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding for every element whose extractable figure exceeds its total (rule Q1)."""
    for key in names_in(report):
        if not key.endswith(":extractable"):
            continue
        element = key.split(":")[0]
        for side in ("dry", "as_received"):
            part, whole = figure(report, key, side), figure(report, element, side)
            if part is not None and whole is not None:
                if part.value > whole.value:
                    yield _excess(element, part, whole)
                break


def _excess(element: str, part: Figure, whole: Figure) -> Finding:
    both = math.hypot(part.combined_sd, whole.combined_sd)
    allowed = coefficient("coverage_factor").value * both
    excess, name = part.value - whole.value, quantity(element).label
    percent = 100 * excess / whole.value
    inside = excess <= allowed
    verdict = say("within laboratory uncertainty") if inside else say("more than laboratory uncertainty explains")
    return Finding(
        "extractable_above_total",
        "note" if inside else "warning",
        say(
            "Extractable {name} is {percent:.1f} % above the total: {verdict}.",
            name=name.lower(),
            percent=percent,
            verdict=verdict,
        ),
        say(
            "extractable {shown}, total {shown2}; difference {shown3}, allowed {shown4} = {coefficient:g} × combined standard uncertainty {shown5}",
            shown=shown(part.value, element),
            shown2=shown(whole.value, element),
            shown3=shown(excess, element, 3),
            shown4=shown(allowed, element, 3),
            coefficient=coefficient("coverage_factor").value,
            shown5=shown(both, element, 3),
        ),
        ("AOACD1", coefficient("lab_inflation").source, coefficient("coverage_factor").source),
        about=element,
        proposal="" if inside else say("Ask the laboratory whether both are on the same basis and both are elements."),
    )


def check_mineral_nitrogen(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when ammonium and nitrate nitrogen exceed total nitrogen (rule Q2)."""
    whole, ammonium, nitrate = (figure(report, key) for key in ("N", "NH4_N", "NO3_N"))
    if whole is None:
        return
    kjeldahl = "tkn" in whole.determination.method.lower()
    parts = [one for one in (ammonium, None if kjeldahl else nitrate) if one is not None]
    mineral = sum(one.value for one in parts)
    if not parts or mineral <= whole.value:
        return
    allowed = coefficient("coverage_factor").value * math.hypot(whole.combined_sd, *(one.combined_sd for one in parts))
    inside = mineral - whole.value <= allowed
    yield Finding(
        "mineral_n_above_total",
        "note" if inside else "warning",
        say("Ammonium and nitrate nitrogen exceed total nitrogen")
        + (say(": within laboratory uncertainty.") if inside else say("; one of them is wrong.")),
        say(
            "mineral {shown}, {what} {shown2}, allowed difference {shown3}",
            shown=shown(mineral, "N"),
            what=say("Kjeldahl") if kjeldahl else say("total"),
            shown2=shown(whole.value, "N"),
            shown3=shown(allowed, "N", 3),
        ),
        ("CLEM", coefficient("coverage_factor").source),
        about="N",
        proposal="" if inside else say("Ask whether ammonium or nitrate is printed as the ion instead of as nitrogen."),
    )


def check_ash_organic(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when ash and organic matter do not add up to all dry matter (rule Q3)."""
    ash, organic = figure(report, "ash"), figure(report, "organic_matter")
    if ash is None or organic is None:
        return
    off = ash.value + organic.value - 1.0
    warn, error = coefficient("ash_om_warn"), coefficient("ash_om_error")
    if abs(off) > warn.value:
        yield Finding(
            "ash_plus_organic",
            "warning" if abs(off) > error.value else "note",
            say(
                "Ash and organic matter add up to {value:.1f} % of dry matter instead of 100 %.", value=100 * (1 + off)
            ),
            say(
                "ash {shown}, organic matter {shown2}; note above {value:g} points, warning above {value2:g}",
                shown=shown(ash.value, "ash"),
                shown2=shown(organic.value, "organic_matter"),
                value=100 * warn.value,
                value2=100 * error.value,
            ),
            (warn.source,),
            about="ash, organic_matter",
            proposal=say(
                "Organic matter by difference would be {shown}.", shown=shown(1.0 - ash.value, "organic_matter")
            ),
        )


def check_implied_carbon(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when carbon, printed or implied by N × C:N, is more than organic matter can hold (rule Q6)."""
    carbon, nitrogen, ratio = (figure(report, key) for key in ("C", "N", "CN"))
    ceiling = coefficient("implied_carbon_max")
    top = coefficient("carbon_max_char").value if kind in CHARS else ceiling.value
    if carbon is not None and carbon.value > top:
        yield _carbon_finding(carbon.value, top, say("carbon printed as {shown}", shown=shown(carbon.value, "C")))
    if nitrogen is None or ratio is None:
        return
    implied = nitrogen.value * ratio.value
    how = say(
        "nitrogen {shown} × C:N {ratio:.4g} = {implied:.1f} % carbon",
        shown=shown(nitrogen.value, "N"),
        ratio=ratio.value,
        implied=100 * implied,
    )
    if implied > top:
        yield _carbon_finding(implied, top, how)
    elif implied < coefficient("cn_carbon_min").value:
        yield Finding(
            "implied_carbon",
            "warning",
            say(
                "Nitrogen and C:N together imply only {value:.2g} % carbon: one of them is wrong.", value=100 * implied
            ),
            how,
            (coefficient("cn_carbon_min").source,),
            about="C",
        )


def _carbon_finding(value: float, top: float, how: str) -> Finding:
    severity: Severity = "stop" if value > 1 else "warning"
    return Finding(
        "implied_carbon",
        severity,
        say(
            "Carbon of {value:.1f} % of dry matter is above the {value2:.0f} % that organic matter can hold.",
            value=100 * value,
            value2=100 * top,
        ),
        how,
        (coefficient("implied_carbon_max").source, coefficient("om_to_c_gotaas").source),
        about="C",
        proposal=say("Ask for total carbon; nitrogen or C:N is likely on another basis or copied wrong."),
    )


def check_carbon_of_organic(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a note when organic matter per carbon lies outside the published 1.7 to 2.2 (rule Q4)."""
    carbon, organic = figure(report, "C"), figure(report, "organic_matter")
    span = coefficient("om_to_c_gotaas")
    if carbon is None or organic is None or not carbon.value or kind in CHARS:
        return
    ratio = organic.value / carbon.value
    slack = math.hypot(carbon.combined_sd / carbon.value, organic.combined_sd / organic.value) if organic.value else 0
    slack *= coefficient("coverage_factor").value
    if not span.low * (1 - slack) <= ratio <= span.high * (1 + slack):
        yield Finding(
            "implied_carbon",
            "note",
            say(
                "Organic matter is {ratio:.2f} times carbon; {low:g} to {high:g} is usual.",
                ratio=ratio,
                low=span.low,
                high=span.high,
            ),
            say(
                "organic matter {shown}, carbon {shown2}",
                shown=shown(organic.value, "organic_matter"),
                shown2=shown(carbon.value, "C"),
            ),
            (span.source, "CLEM"),
            about="C",
            proposal=say("Carbonates, charcoal or another basis may explain it."),
        )


def check_cn(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when the printed C:N is not carbon over nitrogen (rule Q5, aware of rounding)."""
    carbon, nitrogen, ratio = (figure(report, key) for key in ("C", "N", "CN"))
    if carbon is None or nitrogen is None or ratio is None or not nitrogen.value:
        return
    computed = carbon.value / nitrogen.value
    off = abs(ratio.value - computed) / computed
    off -= sum(rounding_half(one.determination) / one.value for one in (carbon, nitrogen, ratio) if one.value)
    warn, error = coefficient("cn_mismatch_warn"), coefficient("cn_mismatch_error")
    if off > warn.value:
        yield Finding(
            "cn_mismatch",
            "warning" if off > error.value else "note",
            say(
                "C:N is printed as {ratio:.4g} but carbon over nitrogen is {computed:.3g}.",
                ratio=ratio.value,
                computed=computed,
            ),
            say(
                "carbon {shown}, nitrogen {shown2}; {value:.0f} % apart after rounding",
                shown=shown(carbon.value, "C"),
                shown2=shown(nitrogen.value, "N"),
                value=100 * off,
            ),
            (warn.source,),
            about="CN",
            proposal=say("Use {computed:.3g} if carbon and nitrogen are right.", computed=computed),
        )


def check_sums(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when parts of the same dry matter add up to more than all of it."""
    elements = ("C", "N", *MINERALS)
    organic = ("organic_matter", *(key for key in MINERALS if key in OXIDES_OF_ASH))
    margin = coefficient("sum_tolerance")
    for keys in (elements, ORGANIC_FRACTIONS, organic):
        parts = {key: one.value for key in keys if (one := figure(report, key)) is not None}
        total = sum(parts.values())
        if len(parts) > 1 and total > 1.0 + margin.value:
            listed = _sum(parts)
            yield Finding(
                "sum_above_100",
                "warning",
                say("Parts of the dry matter add up to {value:.1f} %.", value=100 * total),
                say("{listed} = {value:.1f} %", listed=listed, value=100 * total),
                (margin.source,),
                about=", ".join(parts),
                proposal=say("At least one of them has a wrong unit or basis."),
            )
            return


def _sum(parts: Mapping[str, float]) -> str:
    """Return shares of the dry matter as a sum in percent."""
    return joined(" + ", (say("{key} {value:.3g}", key=key, value=100 * value) for key, value in parts.items()))


def check_single_shares(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding for every share above 100 %."""
    for key in names_in(report):
        one = report.get(key)
        whole = quantity(key.split(":")[0])
        if one is not None and one.value is not None and whole.si_unit == "kg/kg" and one.value > 1.0:
            yield Finding(
                "sum_above_100",
                "stop",
                say("{one} is {value:.4g} %: more than all there is.", one=one.label, value=100 * one.value),
                say("printed {printed}", printed=f"{one.raw_value or one.value} {one.raw_unit}".rstrip()),
                (coefficient("sum_tolerance").source,),
                about=key,
                proposal=say("The unit is likely wrong: ask the laboratory."),
            )


def check_oxides(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when the oxides of the mineral elements weigh more than the ash (rule Q8)."""
    ash = figure(report, "ash")
    parts = {key: one.value for key in OXIDES_OF_ASH if (one := figure(report, key)) is not None}
    if ash is None or not parts:
        return
    oxides = {key: value * to_compound(key, quantity(key).oxide) for key, value in parts.items()}
    factor, margin = coefficient("oxides_ash_factor"), coefficient("oxides_ash_margin")
    total = sum(oxides.values())
    if total > ash.value * factor.value + margin.value:
        listed = _sum({quantity(key).oxide: value for key, value in oxides.items()})
        yield Finding(
            "oxides_above_ash",
            "warning",
            say(
                "The mineral elements as oxides weigh {value:.3g} % of dry matter, the ash only {value2:.3g} %.",
                value=100 * total,
                value2=100 * ash.value,
            ),
            say(
                "{listed}; allowed {value:.3g} %", listed=listed, value=100 * (ash.value * factor.value + margin.value)
            ),
            (factor.source,),
            about="ash, " + ", ".join(oxides),
            proposal=say("An element may be printed as oxide, or ash may be as received."),
        )


def check_protein(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when crude protein and nitrogen do not belong together (rule Q16)."""
    protein, nitrogen = figure(report, "protein"), figure(report, "N")
    if protein is None or nitrogen is None or not nitrogen.value:
        return
    factor, margin = coefficient("protein_to_N"), coefficient("protein_n_tolerance")
    implied = protein.value / factor.value
    off = implied / nitrogen.value - 1.0
    if abs(off) > margin.value:
        yield Finding(
            "protein_nitrogen",
            "warning",
            say(
                "Protein over {factor:g} gives nitrogen {shown}, the report prints {shown2}.",
                factor=factor.value,
                shown=shown(implied, "N"),
                shown2=shown(nitrogen.value, "N"),
            ),
            say(
                "protein {shown}, {value:+.0f} %, allowed {value2:g} %",
                shown=shown(protein.value, "protein"),
                value=100 * off,
                value2=100 * margin.value,
            ),
            (factor.source, margin.source),
            about="protein, N",
            proposal=say("Ask which of the two was measured and on which basis."),
        )


def check_replicates(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding for replicates further apart than is usual (rule Q15)."""
    for one in report.determinations:
        if len(one.replicates) < 2 or not sum(one.replicates):
            continue
        low, high = min(one.replicates), max(one.replicates)
        apart = (high - low) / (sum(one.replicates) / len(one.replicates))
        name = "duplicate_rpd_metal" if quantity(one.quantity).family == "trace element" else "duplicate_rpd_nutrient"
        allowed = coefficient(name)
        if apart > allowed.value:
            yield Finding(
                "replicates_disagree",
                "warning",
                say(
                    "Replicates of {one} differ by {value:.0f} % of their mean.",
                    one=one.label.lower(),
                    value=100 * apart,
                ),
                say(
                    "{shown} to {shown2} in {replicates}; usual is up to {value:g} %",
                    shown=shown(low, one.quantity),
                    shown2=shown(high, one.quantity),
                    replicates=len(one.replicates),
                    value=100 * allowed.value,
                ),
                (allowed.source,),
                about=one.key,
                proposal=say("Have the sample mixed and run again, or count the figure as uncertain."),
            )


def check_moisture_sum(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when water and as-received solids add up to more than the whole sample."""
    water = moisture_of(report)
    solids = {
        key: one.value
        for key in ("organic_matter", "ash")
        if (one := next((d for d in report.all(key) if d.basis == "as_received"), None)) is not None and one.value
    }
    total = (water.value if water else 0.0) + sum(solids.values())
    margin = coefficient("sum_tolerance")
    if water is not None and solids and total > 1.0 + margin.value:
        listed = _sum(solids)
        yield Finding(
            "sum_above_100",
            "warning",
            say("Water and as-received solids add up to {value:.1f} % of the sample.", value=100 * total),
            say(
                "moisture {value:.3g} + {listed} = {value2:.1f} %",
                value=100 * water.value,
                listed=listed,
                value2=100 * total,
            ),
            (margin.source,),
            about="moisture, " + ", ".join(solids),
            proposal=say("The solids may be dry-basis figures in an as-received column."),
        )
