"""Values that look like a slip of the pen: a wrong unit, an oxide under an element's name, wet for dry, a lost digit.

Every check says "consistent with", proposes the corrected value and changes nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from loamery.finding import Finding, Severity
from loamery.garden.report import Determination, LabReport
from loamery.lab.precision import on_scale
from loamery.lab.published import Published, published
from loamery.lab.sample import Figure, figure, moisture_of, names_in, shown
from loamery.names import quantity
from loamery.reference import coefficient
from loamery.say import either, joined, say
from loamery.uncertain import to_scale
from loamery.units import to_compound

POWERS = (-6, -4, -3, -2, -1, 1, 2, 3, 4, 6)
POWER_WORDS = {
    1: say("g/kg and %"),
    3: say("mg/kg and g/kg"),
    4: say("mg/kg and %"),
    6: say("mg/kg and a plain fraction"),
}
WET_DRY_QUANTITIES = ("C", "N", "P", "K", "Ca", "Mg", "S", "organic_matter")
POLLUTANT_FAMILIES = ("trace element", "micronutrient", "salt")
TENFOLD = 10.0


@dataclass(frozen=True)
class Compared:
    """A figure of the sample beside the published distribution of its material."""

    key: str
    figure: Figure
    published: Published

    def score(self, factor: float = 1.0) -> float:
        """Return the standard score of the figure times a factor; infinite where that leaves the scale."""
        spread, value = self.published.distribution, self.figure.value * factor
        if spread.kind == "logit" and value >= 1:
            return math.inf
        width = math.hypot(spread.sigma, on_scale(spread.kind, value, self.figure.combined_sd * factor))
        return (float(to_scale(spread.kind, value)) - spread.mu) / width

    @property
    def against(self) -> str:
        """Return the comparison in words."""
        band = self.published.distribution.band()
        low, mid, high = (shown(one, self.key, 3) for one in (band.low, band.median, band.high))
        return say(
            "{shown} against published {mid} (90 % of loads {low} to {high})",
            shown=shown(self.figure.value, self.key),
            mid=mid,
            low=low,
            high=high,
        )


@dataclass(frozen=True)
class Slip:
    """An explanation of a strange value: multiply by the factor and it fits.

    Parameters
    ----------
    factor : the corrected value over the printed one.
    score : standard score of the corrected value.
    allowed : the score it must stay below; the smaller the factor, the nearer to the middle it must bring the value.
    """

    code: str
    factor: float
    words: str
    score: float
    allowed: float


def compared(report: LabReport, kind: str | None) -> Iterator[Compared]:
    """Yield every total or plain figure of a sample that can be set beside the material's published values."""
    for key in names_in(report) if kind and report.subject == "material" else ():
        found = figure(report, key)
        if ":" in key or found is None or found.value <= 0 or kind is None:
            continue
        known = published(kind, key)
        whole_share = quantity(key).distribution == "logit" and found.value >= 1
        if known is not None and known.standing == "material" and not whole_share:
            yield Compared(key, found, known)


def slips(one: Compared, report: LabReport) -> list[Slip]:
    """Return every slip that would explain a value lying outside the published distribution, best fit first."""
    if abs(one.score()) < coefficient("slip_z_note").value:
        return []
    guesses = [*_unit_guesses(one), *_oxide_guesses(one), *_wet_dry_guesses(one, report)]
    return sorted((guess for guess in guesses if abs(guess.score) < guess.allowed), key=lambda guess: abs(guess.score))


def _unit_guesses(one: Compared) -> Iterator[Slip]:
    if not quantity(one.key).is_concentration and one.key not in ("EC", "bulk_density", "CN"):
        return
    ratio = math.log10(one.figure.value / one.published.distribution.median)
    digit = one.key == "CN"
    for power in (-1, 1) if digit else POWERS:
        words = say("a lost digit or decimal point") if digit else _power_words(power)
        near = abs(ratio - power) < coefficient("slip_log10_tolerance").value
        # A ratio close to the power is enough for a large power; a tenfold one must also fit the published spread.
        allowed = math.inf if near and abs(power) > 1 else coefficient("slip_z_note").value
        if near or abs(power) > 1:
            code = "lost_digit" if digit else "unit_slip"
            yield Slip(code, 10.0**-power, words, one.score(10.0**-power), allowed)


def _power_words(power: int) -> str:
    pair = POWER_WORDS.get(abs(power))
    if pair:
        return say("a slip of 10^{power}, as between {pair}, or a misplaced decimal point", power=power, pair=pair)
    return say("a slip of 10^{power}, or a misplaced decimal point", power=power)


def _oxide_guesses(one: Compared) -> Iterator[Slip]:
    # Only phosphorus can be told: the potassium factor of 1.20 lies inside the scatter of any material.
    if one.key == "P" and one.score() > 0:
        factor = 1.0 / to_compound("P", "P2O5")
        words = say("P2O5 printed as P (factor {factor:.3f})", factor=1 / factor)
        yield Slip("oxide_as_element", factor, words, one.score(factor), coefficient("slip_fit_z").value)


def _wet_dry_guesses(one: Compared, report: LabReport) -> Iterator[Slip]:
    dry_share = _dry_share(report, one.published.kind)
    if dry_share is None or not quantity(one.key).is_concentration:
        return
    if one.figure.determination.basis == "dry":
        factor, words = 1.0 / dry_share, say("an as-received value in a dry column")
    else:
        factor, words = dry_share, say("a dry value in an as-received column")
    words = say("{words} (dry matter {share:.1f} %)", words=words, share=100 * dry_share)
    yield Slip("wet_dry_slip", factor, words, one.score(factor), coefficient("slip_fit_z").value)


def _dry_share(report: LabReport, kind: str) -> float | None:
    water = moisture_of(report)
    if water is not None:
        return 1.0 - water.value
    known = published(kind, "moisture")
    return None if known is None else 1.0 - known.distribution.median


def check_slips(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield one finding for every value that a single slip explains."""
    wet = whole_sample_wet(report, kind)
    if wet is not None:
        yield wet
    for one in compared(report, kind):
        found = slips(one, report)
        if wet is not None:
            found = [slip for slip in found if slip.code != "wet_dry_slip"]
        if found and not (wet is not None and one.key in WET_DRY_QUANTITIES and _wet_explains(one, report)):
            yield _slip_finding(one, found)


def _wet_explains(one: Compared, report: LabReport) -> bool:
    return any(slip.code == "wet_dry_slip" for slip in slips(one, report))


def _slip_finding(one: Compared, found: list[Slip]) -> Finding:
    best, name = found[0], quantity(one.key).label
    others = either(slip.words for slip in found[1:])
    also = say("; it would also fit {others}", others=others) if others else ""
    unsure = _tenfold_ambiguous(one, best)
    doubt: str = say("; the published span is so wide that natural scatter explains it as well") if unsure else ""
    potassium = (
        say(" Potassium printed as K2O would read 1.20 times too high: that is inside normal scatter and not testable.")
        if best.code == "oxide_as_element"
        else ""
    )
    if one.score() > 0 and quantity(one.key).family in POLLUTANT_FAMILIES:
        doubt += say("; contamination explains it as well, and the printed figure counts until settled")
    fixed = shown(one.figure.value * best.factor, one.key)
    return Finding(
        best.code,
        "note" if unsure else _severity(one),
        say(
            "{name} is consistent with {words}{doubt}.{potassium}",
            name=name,
            words=best.words,
            doubt=doubt,
            potassium=potassium,
        ),
        say(
            "{against}; standard score {score:+.1f}, corrected {score2:+.1f}{also}",
            against=one.against,
            score=one.score(),
            score2=best.score,
            also=also,
        ),
        _sources(one.published, "slip_log10_tolerance"),
        about=one.key,
        proposal=say(
            "Ask the laboratory; if it is that slip, {name} is {fixed} (dry), not {shown}.",
            name=name.lower(),
            fixed=fixed,
            shown=shown(one.figure.value, one.key),
        )
        if quantity(one.key).is_concentration
        else say("Ask the laboratory; if it is that slip, {name} is {fixed}.", name=name.lower(), fixed=fixed),
    )


def _severity(one: Compared) -> Severity:
    return "warning" if abs(one.score()) > coefficient("slip_z_warn").value else "note"


def _tenfold_ambiguous(one: Compared, slip: Slip) -> bool:
    band = one.published.distribution.band()
    tenfold = math.isclose(abs(math.log10(slip.factor)), 1.0)
    return tenfold and band.high / band.low > coefficient("slip_span_ambiguous").value


def _sources(known: Published, *names: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*known.sources, *(coefficient(name).source for name in names))))


def whole_sample_wet(report: LabReport, kind: str | None) -> Finding | None:
    """Return a finding when all values of a dry column together fit as-received figures better."""
    readings = [
        one
        for one in compared(report, kind)
        if one.key in WET_DRY_QUANTITIES and one.figure.determination.basis == "dry" and one.figure.moisture is None
    ]
    dry_share = _dry_share(report, kind) if kind else None
    if dry_share is None or len(readings) < 2:
        return None
    before = sum(one.score() ** 2 for one in readings)
    after = sum(one.score(1.0 / dry_share) ** 2 for one in readings)
    low = sum(one.score() < 0 for one in readings)
    fits = math.sqrt(after / len(readings)) < coefficient("slip_z_note").value
    if before - after < coefficient("slip_gain").value or not fits or low < len(readings) - 1:
        return None
    rows = joined("; ", (_corrected(one, dry_share) for one in readings))
    return Finding(
        "wet_dry_slip",
        "warning",
        say("The dry column of this sample is consistent with as-received values."),
        say(
            "{readings} values lie low together: sum of squared scores {before:.1f}, divided by the dry matter ({value:.1f} %) {after:.1f}",
            readings=len(readings),
            before=before,
            value=100 * dry_share,
            after=after,
        ),
        tuple(dict.fromkeys(key for one in readings for key in one.published.sources)),
        about="whole sample",
        proposal=say("Ask the laboratory; if it is that slip, the dry values are: {rows}.", rows=rows),
    )


def _corrected(one: Compared, dry_share: float) -> str:
    printed, right = shown(one.figure.value, one.key), shown(one.figure.value / dry_share, one.key)
    return say("{key} {printed} → {right}", key=one.key, printed=printed, right=right)


def check_ashing_basis(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when ash and organic matter of a dry column add up to the dry matter instead of to 100 %."""
    ash, organic, water = figure(report, "ash"), figure(report, "organic_matter"), moisture_of(report)
    if ash is None or organic is None or water is None or "dry" not in (ash.determination.basis,):
        return
    both, dry_share = ash.value + organic.value, 1.0 - water.value
    tolerance = coefficient("ash_om_error").value
    if abs(both - dry_share) < tolerance * dry_share and abs(both - 1.0) > tolerance:
        yield Finding(
            "wet_dry_slip",
            "warning",
            say("Ash and organic matter of the dry column add up to the dry matter: they look as received."),
            say(
                "ash {shown} + organic matter {shown2} = {value:.1f} %, dry matter {value2:.1f} %",
                shown=shown(ash.value, "ash"),
                shown2=shown(organic.value, "organic_matter"),
                value=100 * both,
                value2=100 * dry_share,
            ),
            (coefficient("ash_om_error").source,),
            about="ash, organic_matter",
            proposal=say(
                "If so, on dry matter: ash {shown}, organic matter {shown2}.",
                shown=shown(ash.value / dry_share, "ash"),
                shown2=shown(organic.value / dry_share, "organic_matter"),
            ),
        )


def check_lost_digit(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when nitrogen times C:N is impossible as printed and right with C:N tenfold."""
    ratio, nitrogen = figure(report, "CN"), figure(report, "N")
    if ratio is None or nitrogen is None or figure(report, "C") is not None or _digit_seen(report, kind):
        return
    carbon, floor, top = (
        ratio.value * nitrogen.value,
        coefficient("lost_digit_carbon"),
        coefficient("implied_carbon_max"),
    )
    for factor in (TENFOLD, 1.0 / TENFOLD):
        impossible = carbon < floor.value if factor > 1 else carbon > top.high
        if impossible and floor.value < carbon * factor <= top.high:
            yield Finding(
                "lost_digit",
                "warning",
                say(
                    "C:N {ratio:g} cannot go with nitrogen {shown}: a digit looks lost.",
                    ratio=ratio.value,
                    shown=shown(nitrogen.value, "N"),
                ),
                say(
                    "together they imply {value:.3g} % carbon of dry matter; with C:N {ratio:g} it is {value2:.3g} %",
                    value=100 * carbon,
                    ratio=ratio.value * factor,
                    value2=100 * carbon * factor,
                ),
                (floor.source, top.source),
                about="CN",
                proposal=say("Ask the laboratory; C:N may be {ratio:g}.", ratio=ratio.value * factor),
            )


def _digit_seen(report: LabReport, kind: str | None) -> bool:
    ratios = (one for one in compared(report, kind) if one.key == "CN")
    return any(slip.code == "lost_digit" for one in ratios for slip in slips(one, report))


def check_wet_dry_pairs(report: LabReport, kind: str | None) -> Iterator[Finding]:
    """Yield a finding when the dry and the as-received column of one sample do not imply the same dry matter."""
    pairs = list(_pairs(report))
    water = moisture_of(report)
    shares = {wet.key: wet.value / dry.value for wet, dry in pairs if wet.value and dry.value}
    if water is not None:
        shares[say("1 − moisture")] = 1.0 - water.value
    if not pairs or len(shares) < 2:
        return
    middle = sorted(shares.values())[len(shares) // 2]
    margin = coefficient("dm_pair_tolerance")
    rounding = {wet.key: _relative_rounding(wet) + _relative_rounding(dry) for wet, dry in pairs}
    odd = [key for key, share in shares.items() if abs(share - middle) > margin.value + middle * rounding.get(key, 0.0)]
    if odd:
        listed = joined(", ", (say("{key} {share:.1f} %", key=key, share=100 * share) for key, share in shares.items()))
        right = joined(
            ", ",
            (
                say("{key} {right} dry", key=dry.key, right=_dried_pair(middle, received))
                for received, dry in pairs
                if dry.key in odd
            ),
        )
        fixed = say("; if the as-received figure is right: {right}", right=right) if right else ""
        yield Finding(
            "wet_dry_disagree",
            "warning",
            say("Dry and as-received columns disagree for {join}.", join=joined(", ", odd)),
            say("dry matter implied by each pair: {listed}", listed=listed),
            (margin.source,),
            about=", ".join(odd),
            proposal=say(
                "Most figures agree on {value:.1f} % dry matter{fixed}. Ask the laboratory.",
                value=100 * middle,
                fixed=fixed,
            ),
        )


def _dried_pair(dry_share: float, received: Determination) -> str:
    return shown((received.value or 0.0) / dry_share, received.quantity)


def _pairs(report: LabReport) -> Iterator[tuple[Determination, Determination]]:
    for key in names_in(report):
        if quantity(key.split(":")[0]).is_concentration:
            by = {one.basis: one for one in reversed(report.all(key)) if one.value}
            if "dry" in by and "as_received" in by:
                yield by["as_received"], by["dry"]


def _relative_rounding(one: Determination) -> float:
    return rounding_half(one) / one.value if one.value else 0.0


def rounding_half(one: Determination) -> float:
    """Return half of the last printed digit of a determination, in its SI unit; 0 when the print is not known."""
    text = one.raw_value.strip().replace(" ", "").replace(",", ".")
    try:
        printed = float(text)
    except ValueError:
        return 0.0
    if not printed or one.value is None:
        return 0.0
    decimals = len(text.split(".")[1]) if "." in text else 0
    return abs(one.value / printed) * 0.5 * 10.0**-decimals
