"""Quantities that belong together in every draw: ash and organic matter, carbon and C:N, parts and their totals."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from loamery.finding import Input
from loamery.garden.report import LabReport
from loamery.lab.checks_balance import CHARS
from loamery.lab.composition import Estimate, Origin
from loamery.lab.measured import measured
from loamery.lab.published import own_published
from loamery.reference import coefficient
from loamery.say import say
from loamery.uncertain import Draws, Uncertain, from_range

Estimator = Callable[[str], Estimate | None]


def organic(
    kind: str,
    material: str,
    estimates: dict[str, Estimate],
    reports: Sequence[LabReport],
    n: int,
    seed: int,
    estimate: Estimator,
) -> dict[str, Estimate]:
    """Return organic matter, carbon and C:N coherent with ash and nitrogen.

    Parameters
    ----------
    kind, material, n, seed : of the composition.
    estimates : holds ``ash`` and ``N``.
    reports : the material's reports.
    estimate : makes the plain estimate of a key.
    """
    organic_matter = _organic_matter(estimates["ash"])
    carbon = _carbon(kind, material, organic_matter, estimates["N"], reports, n, seed, estimate)
    carbon = _capped(kind, carbon, organic_matter)
    return {"organic_matter": organic_matter, "C": carbon, "CN": _ratio(carbon, estimates["N"], estimate("CN"))}


def _organic_matter(ash: Estimate) -> Estimate:
    shape = Uncertain("logit", -ash.distribution.mu, ash.distribution.sigma)
    equation = say("organic matter = 1 − ash; ash: {equation}", equation=ash.equation)
    return replace(
        ash,
        key="organic_matter",
        quantity="organic_matter",
        distribution=shape,
        draws=1.0 - ash.draws,
        equation=equation,
    )


def _carbon(
    kind: str,
    material: str,
    organic_matter: Estimate,
    nitrogen: Estimate,
    reports: Sequence[LabReport],
    n: int,
    seed: int,
    estimate: Estimator,
) -> Estimate:
    weighed = bool(measured(reports, "ash"))
    book, ashed = own_published(kind, "C"), own_published(kind, "ash")
    if measured(reports, "C") or (book is not None and not weighed):
        plain = estimate("C")
        if plain is not None:
            return plain
    if book is not None and ashed is not None:
        share = Uncertain("lognormal", 0.0, book.distribution.sigma)
        middle = book.distribution.median / (1.0 - ashed.distribution.median)
        part = middle * share.draw(n, seed, material, "carbon of organic matter")
        return _product(organic_matter, part, say("published C/OM {middle:.3f}", middle=middle), book.sources)
    ratio = own_published(kind, "CN")
    if not weighed and ashed is None and ratio is not None:
        part = ratio.distribution.draw(n, seed, material, "published C:N")
        return _product(
            nitrogen, part, say("published C:N {median:.3g}", median=ratio.distribution.median), ratio.sources
        )
    known = coefficient("carbon_in_organic_matter")
    part = from_range("lognormal", known.low, known.high, known.value).draw(
        n, seed, material, "carbon of organic matter"
    )
    return _product(
        organic_matter,
        part,
        say("C/OM {value:g} ({low:g} to {high:g})", value=known.value, low=known.low, high=known.high),
        (known.source,),
    )


def _product(one: Estimate, part: Draws, words: str, sources: tuple[str, ...]) -> Estimate:
    drawn = one.draws * part
    inputs = (*one.inputs, Input(say("factor"), words, ", ".join(sources)))
    return Estimate(
        "C",
        "C",
        "dry",
        fitted(drawn),
        drawn,
        "derived",
        inputs,
        say("C = {key} × {words}", key=one.key, words=words),
        (*one.sources, *sources),
    )


def fitted(drawn: Draws) -> Uncertain:
    """Return the log-normal distribution with the mean and spread of the logarithms of positive draws."""
    logs = np.log(drawn)
    return Uncertain("lognormal", float(np.mean(logs)), float(np.std(logs)))


def _capped(kind: str, carbon: Estimate, organic_matter: Estimate) -> Estimate:
    """Return carbon that no draw lets exceed what its organic matter can hold; draws beyond are mirrored back."""
    most = coefficient("carbon_max_char" if kind in CHARS else "implied_carbon_max").value
    middle = float(np.median(carbon.draws) / np.median(organic_matter.draws))
    cap = max(most, middle * coefficient("carbon_cap_margin").value) * organic_matter.draws
    over = carbon.draws > cap
    if not np.any(over):
        return carbon
    drawn = np.where(over, np.maximum(2.0 * cap - carbon.draws, 0.5 * cap), carbon.draws)
    return replace(
        carbon,
        draws=drawn,
        distribution=fitted(drawn),
        equation=say("{equation}; kept below C/OM limit", equation=carbon.equation),
    )


def _ratio(carbon: Estimate, nitrogen: Estimate, printed: Estimate | None) -> Estimate:
    drawn = carbon.draws / nitrogen.draws
    both = carbon.inputs + nitrogen.inputs
    origin: Origin = "derived"
    beside = printed.inputs if printed is not None else ()
    note = say(" (published C:N shown beside it, not used)") if beside else ""
    sources = tuple(dict.fromkeys(carbon.sources + nitrogen.sources))
    return Estimate(
        "CN",
        "CN",
        "none",
        fitted(drawn),
        drawn,
        origin,
        both + beside,
        say("C:N = C ÷ N in every draw{note}", note=note),
        sources,
    )


def within_totals(estimates: dict[str, Estimate]) -> None:
    """Keep, draw by draw, an extractable share below its total and mineral nitrogen below nitrogen."""
    for key in [key for key in estimates if key.endswith(":extractable")]:
        total = estimates.get(key.split(":")[0])
        if total is not None:
            _limit(estimates, key, total.draws)
    mineral = [key for key in ("NH4_N", "NO3_N") if key in estimates]
    if mineral:
        both = np.sum([estimates[key].draws for key in mineral], axis=0)
        for key in mineral:
            _limit(estimates, key, estimates["N"].draws * estimates[key].draws / both)


def _limit(estimates: dict[str, Estimate], key: str, top: Draws) -> None:
    one = estimates[key]
    if np.any(one.draws > top):
        drawn = np.minimum(one.draws, top)
        estimates[key] = replace(
            one,
            draws=drawn,
            distribution=fitted(drawn),
            equation=say("{equation}; at most the total", equation=one.equation),
        )
