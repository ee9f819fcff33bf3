"""Several laboratory reports and the published ranges of a material, combined into one composition.

A report narrows the published range and does not erase it: the published spread is the prior of the material's mean,
every sample counts by its own error, and what is handed on is the distribution of the next load.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from loamery.finding import Finding, Input
from loamery.garden.report import LabReport
from loamery.lab import coherence
from loamery.lab.composition import Composition, Estimate, Origin
from loamery.lab.doubt import set_aside
from loamery.lab.measured import Measured, measured, other_extract
from loamery.lab.published import Published, book_sigma, kind_row, own_published, published
from loamery.lab.random_effects import (
    Pooled,
    between_loads,
    cdf,
    censored_normal,
    censored_posterior,
    disagreement,
    load_variance,
    pool,
)
from loamery.lab.sample import names_in
from loamery.names import quantities, quantity
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.uncertain import DRAWS, Draws, Uncertain, from_scale, scores

ALWAYS = ("moisture", "ash", "N", "P", "K", "Ca", "Mg", "S", "pH", "EC", "bulk_density")
"""Given for every material, from its group or from all materials when nothing is published for it."""
JUDGED = ("load_share_of_variance", "tau_prior_weight")


def compose(
    kind: str, reports: Sequence[LabReport], *, material: str = "", n: int = DRAWS, seed: int = 1
) -> Composition:
    """Return what a material is made of.

    Parameters
    ----------
    kind : slug of the reference material.
    reports : its laboratory reports, in any order; none gives the published ranges alone.
    material : id in the garden, which names the streams of draws; the slug when empty.
    n : number of draws.
    seed : the garden's seed; the same seed, material and reports give the same draws.

    Returns
    -------
    Estimates in SI (kg/kg of dry matter for concentrations) for the next load of this material. Organic matter and
    ash add up to one in every draw, C:N is carbon over nitrogen in every draw, and all figures of one sample that
    were converted from as received share its moisture.

    Raises
    ------
    UnknownName : no such material.

    Source
    ------
    Random-effects model, Paule & Mandel (1982); censored maximum likelihood (Helsel 2005).
    """
    kind_row(kind)
    sifted = [set_aside(one, kind) for one in reports if one.subject == "material"]
    used = [one for one, _ in sifted]
    name = material or kind
    estimates = {key: one for key in _keys(kind, used) if (one := _estimate(kind, name, key, used, n, seed))}
    estimates |= coherence.organic(
        kind, name, estimates, used, n, seed, lambda key: _estimate(kind, name, key, used, n, seed)
    )
    coherence.within_totals(estimates)
    doubts = tuple(finding for _, found in sorted(sifted, key=lambda pair: pair[0].name) for finding in found)
    findings = (*doubts, *_said(kind, used, reports, estimates), *_disagreeing(kind, used))
    return Composition(name, kind, _ordered(estimates), findings, tuple(sorted(one.name for one in used)), n, seed)


def _keys(kind: str, reports: Sequence[LabReport]) -> list[str]:
    reported = dict.fromkeys(key for report in reports for key in names_in(report))
    left_out = {"C", "CN", "organic_matter"}  # kept coherent with ash and nitrogen, see coherence.organic
    known = [key for key, one in quantities().items() if one.family != "trait" and own_published(kind, key)]
    families = {"trait", "hygiene"}
    wanted = dict.fromkeys((*ALWAYS, *known, *reported))
    return [key for key in wanted if key not in left_out and quantity(key.split(":")[0]).family not in families]


def _ordered(estimates: dict[str, Estimate]) -> dict[str, Estimate]:
    place = {key: number for number, key in enumerate(quantities())}
    return dict(sorted(estimates.items(), key=lambda item: (place[item[1].quantity], item[0])))


def _prior(kind: str, key: str, reports: Sequence[LabReport], fallback: bool) -> Published | None:
    if ":" in key or (key == "EC" and other_extract(reports)):
        return None
    return published(kind, key) if fallback else own_published(kind, key)


def _estimate(kind: str, material: str, key: str, reports: Sequence[LabReport], n: int, seed: int) -> Estimate | None:
    known = _prior(kind, key, reports, key in ALWAYS or key == "C")
    samples = measured(reports, key)
    if known is None and not samples:
        return None
    scale = quantity(key.split(":")[0]).distribution
    if known is None and all(one.censored for one in samples):
        return _interval(material, key, samples, n, seed)
    spread = known.distribution.sigma if known else _usual_spread(kind, key, samples)
    tau2 = _between(samples, spread)
    prior = (known.distribution.mu, spread**2 * (1.0 - coefficient(JUDGED[0]).value)) if known else None
    if any(one.censored for one in samples):
        drawn = _censored_draws(material, key, samples, tau2, prior or _flat(samples, spread), n, seed)
        shape = Uncertain(scale, float(np.mean(drawn)), float(np.std(drawn)))
    else:
        pooled = pool([one.y for one in samples], [one.variance for one in samples], tau2, prior)
        shape = Uncertain(scale, pooled.mean, math.sqrt(pooled.predictive_variance))
        drawn = _draws(material, key, samples, pooled, n, seed)
    equation = _equation(key, samples, tau2, known)
    values = _possible(key, np.asarray(from_scale(scale, drawn), dtype=np.float64))
    return Estimate(
        key,
        key.split(":")[0],
        basis_of(key),
        shape,
        values,
        _origin(samples, known),
        _inputs(samples, known),
        equation,
        _sources(samples, known),
        _never_detected(scale, samples),
    )


def _possible(key: str, values: Draws) -> Draws:
    """Return draws with none off the pH scale; a normal tail of a strong alkali would reach past its end."""
    if quantity(key.split(":")[0]).display_unit != "pH":
        return values
    return np.clip(values, coefficient("ph_scale_low").value, coefficient("ph_scale_high").value)


def _never_detected(scale: str, samples: Sequence[Measured]) -> float | None:
    if not samples or not all(one.censored for one in samples):
        return None
    return float(from_scale(scale, min(one.y for one in samples)))


def basis_of(key: str) -> str:
    """Return the basis a composition holds a key on."""
    if key in ("moisture", "bulk_density"):
        return "as_received"
    return "dry" if quantity(key.split(":")[0]).is_concentration else "none"


def _usual_spread(kind: str, key: str, samples: Sequence[Measured]) -> float:
    # Nothing published: an extractable figure varies like its total, anything else like a single book value.
    total = own_published(kind, key.split(":")[0]) if ":" in key else None
    if total is not None:
        return total.distribution.sigma
    middle = float(np.median([one.y for one in samples]))
    return book_sigma(key.split(":")[0], float(from_scale(quantity(key.split(":")[0]).distribution, middle)))


def _flat(samples: Sequence[Measured], spread: float) -> tuple[float, float]:
    middle = float(np.mean([one.y for one in samples]))
    return middle, 9.0 * max(spread**2, float(np.var([one.y for one in samples])))


def _between(samples: Sequence[Measured], spread: float) -> float:
    default = coefficient(JUDGED[0]).value * spread**2
    detects = [one for one in samples if not one.censored]
    enough = len(samples) >= coefficient("censored_n_min").value
    if len(detects) == len(samples):
        return between_loads([one.y for one in samples], [one.variance for one in samples], default)
    if not enough or len(detects) < coefficient("censored_detects_min").value:
        return default
    limits = [one.y for one in samples if one.censored]
    _, variance = censored_normal([one.y for one in detects], limits)
    seen = max(variance - float(np.mean([one.variance for one in samples])), 0.0)
    weight, freedom = coefficient(JUDGED[1]).value, len(samples) - 1
    return (weight * default + freedom * seen) / (weight + freedom)


def _draws(material: str, key: str, samples: Sequence[Measured], pooled: Pooled, n: int, seed: int) -> Draws:
    shared = [(weight * one.water, one.report) for weight, one in zip(pooled.weights, samples, strict=True)]
    left = pooled.predictive_variance - sum(size**2 for size, _ in shared)
    drawn = pooled.mean + math.sqrt(max(left, 0.0)) * scores(n, seed, material, key)
    for size, report in shared:
        if size:
            drawn = drawn + size * scores(n, seed, material, "moisture of the sample", report)
    return np.asarray(drawn, dtype=np.float64)


def _censored_draws(
    material: str,
    key: str,
    samples: Sequence[Measured],
    tau2: float,
    prior: tuple[float, float],
    n: int,
    seed: int,
) -> Draws:
    detects, limits = [one for one in samples if not one.censored], [one for one in samples if one.censored]
    grid, rising = censored_posterior(
        ([one.y for one in detects], [one.variance for one in detects]),
        ([one.y for one in limits], [one.variance for one in limits]),
        tau2,
        prior,
    )
    mean = np.interp(cdf(scores(n, seed, material, key, "mean")), rising, grid)
    spread = math.sqrt(load_variance(tau2, len(samples)))
    return np.asarray(mean + spread * scores(n, seed, material, key), dtype=np.float64)


def _interval(material: str, key: str, samples: Sequence[Measured], n: int, seed: int) -> Estimate:
    """Return an even spread between zero and the lowest limit: all that non-detects alone can say."""
    scale = quantity(key.split(":")[0]).distribution
    top = float(from_scale(scale, min(one.y for one in samples)))
    drawn = top * np.clip(cdf(scores(n, seed, material, key)), 1e-9, 1.0)
    logs = np.log(drawn)
    shape = Uncertain(scale, float(np.mean(logs)), float(np.std(logs)))
    equation = say("{key} lies between 0 and the lowest reporting limit; nothing more is known", key=key)
    return Estimate(
        key,
        key.split(":")[0],
        basis_of(key),
        shape,
        drawn,
        "measured",
        _inputs(samples, None),
        equation,
        ("HELSEL",),
        top,
    )


def _origin(samples: Sequence[Measured], known: Published | None) -> Origin:
    if not samples:
        return "published"
    return "measured and published" if known is not None else "measured"


def _inputs(samples: Sequence[Measured], known: Published | None) -> tuple[Input, ...]:
    printed = tuple(
        Input(say("{report}: {given}", report=one.report, given=given.label), given.value, given.where)
        for one in samples
        for given in one.inputs
    )
    if known is None:
        return printed
    if known.standing == "material":
        return printed + known.inputs
    band = known.distribution.band()
    words = say(
        "{median:.3g} ({low:.3g} to {high:.3g}), {rows} published figures",
        median=band.median,
        low=band.low,
        high=band.high,
        rows=len(known.rows),
    )
    label = say("published {quantity} of ", quantity=known.quantity) + (
        say("the material's group") if known.standing == "group" else say("all materials")
    )
    return (*printed, Input(label, words, joined(", ", known.sources)))


def _sources(samples: Sequence[Measured], known: Published | None) -> tuple[str, ...]:
    keys = [key for one in samples for key in one.sources]
    keys += known.sources if known is not None else ()
    keys += ["PAULE82", *(coefficient(name).source for name in JUDGED)] if samples else []
    return tuple(dict.fromkeys(keys))


def _equation(key: str, samples: Sequence[Measured], tau2: float, known: Published | None) -> str:
    shown = {"lognormal": "ln x", "logit": "ln(x/(1 − x))", "normal": "x"}[quantity(key.split(":")[0]).distribution]
    if not samples:
        return say("median of the published medians of {shown}; spread of the published ranges", shown=shown)
    if any(one.censored for one in samples):
        return say(
            "{shown}: published prior × measured values × probability of lying below each reporting limit", shown=shown
        )
    what = say("reports and published mean") if known is not None else say("reports")
    return say(
        "mean of {shown} = {what} weighted by 1/(error² + between loads²); next load = mean ± between loads (standard deviation {sqrt:.2g} on that scale)",
        shown=shown,
        what=what,
        sqrt=math.sqrt(tau2),
    )


def _said(
    kind: str, used: Sequence[LabReport], given: Sequence[LabReport], estimates: dict[str, Estimate]
) -> list[Finding]:
    found = [one for one in (_published_only(kind, used), _stand_ins(kind, used), _no_basis(used)) if one is not None]
    if len(used) < len(given):
        names = ", ".join(one.name for one in given if one.subject != "material")
        text = say("Soil reports are left out of the composition of a material.")
        found.append(Finding("soil_report_left_out", "warning", text, names, about=kind))
    return found


def _published_only(kind: str, used: Sequence[LabReport]) -> Finding | None:
    if used:
        return None
    return Finding(
        "published_only",
        "note",
        say(
            "No laboratory report of {kind_row} yet: all figures are published, with wide bands.",
            kind_row=kind_row(kind)["name"].lower(),
        ),
        say("reports given: 0"),
        about=kind,
        proposal=say("One report of nitrogen, phosphorus, potassium and moisture narrows the bands most."),
    )


def _stand_ins(kind: str, used: Sequence[LabReport]) -> Finding | None:
    borrowed = {}
    for key in ALWAYS:
        known = published(kind, key)
        if known is not None and known.standing != "material" and not measured(used, key):
            borrowed[key] = known.standing
    if not borrowed:
        return None
    return Finding(
        "borrowed_range",
        "note",
        say("Nothing is published for ")
        + joined(", ", borrowed)
        + say(" of this material: the range of similar ones stands in."),
        joined("; ", (say("{key}: {standing}", key=key, standing=standing) for key, standing in borrowed.items())),
        about=", ".join(borrowed),
    )


def _no_basis(used: Sequence[LabReport]) -> Finding | None:
    names = [
        f"{one.raw_name or one.quantity} ({report.name})"
        for report in used
        for one in report.determinations
        if one.basis == "not_stated" and quantity(one.quantity).is_concentration
    ]
    if not names:
        return None
    return Finding(
        "basis_not_stated",
        "warning",
        say("Figures whose basis is not stated are left out of the composition."),
        joined(", ", names),
        proposal=say("Answer whether they are on dry matter or as received."),
    )


def _disagreeing(kind: str, used: Sequence[LabReport]) -> list[Finding]:
    found = []
    limit = coefficient("report_disagree_z")
    for key in dict.fromkeys(key for report in used for key in names_in(report)):
        samples = [one for one in measured(used, key) if not one.censored]
        known = _prior(kind, key, used, False)
        if len(samples) < 2 or known is None:
            continue
        default = coefficient(JUDGED[0]).value * known.distribution.sigma**2
        score = disagreement([one.y for one in samples], [one.variance for one in samples], default)
        if score > limit.value:
            listed = joined(
                "; ", (say("{report}: {value}", report=one.report, value=one.inputs[0].value) for one in samples)
            )
            text = say(
                "The reports disagree on {quantity} more than loads usually differ.",
                quantity=quantity(key).label.lower(),
            )
            found.append(
                Finding(
                    "reports_disagree",
                    "warning",
                    text,
                    say("{listed}; score {score:.1f}", listed=listed, score=score),
                    (limit.source,),
                    key,
                )
            )
    return found
