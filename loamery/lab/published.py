"""Published ranges of a reference material: several publications of one quantity as one distribution of loads."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from functools import cache
from statistics import NormalDist, fmean, median
from typing import Literal

from loamery.errors import UnknownName
from loamery.finding import Input
from loamery.names import quantity
from loamery.reference import coefficient, coefficients, family
from loamery.say import joined, say
from loamery.uncertain import Uncertain, from_scale, to_scale
from loamery.units import to_dry, to_si

Standing = Literal["material", "group", "all materials"]
EC_EXTRACT = "1:5"
"""The extract ratio in which conductivities are compared; figures from other extracts are another quantity."""


COMPLEMENT = {"ash": "organic_matter", "organic_matter": "ash"}
"""Shares of dry matter that make one together, so that a figure of one is a figure of the other."""


@dataclass(frozen=True)
class PublishedRow:
    """One published figure of one material, SI, dry basis for concentrations.

    Parameters
    ----------
    low, high, typical : as published, None where not given.
    stated : whether the publication states its basis.
    analyses : number of analyses of which low and high are the extremes, 0 when the publication does not say.
    """

    slug: str
    quantity: str
    low: float | None
    typical: float | None
    high: float | None
    stated: bool
    source: str
    read: str
    printed: str
    locator: str = ""
    analyses: int = 0

    @property
    def complete(self) -> bool:
        """Tell whether it locates the middle: a typical value or both ends, all positive."""
        ends = self.low is not None and self.high is not None and self.low < self.high
        known = [one for one in (self.low, self.typical, self.high) if one is not None]
        return (self.typical is not None or ends) and _in_domain(quantity(self.quantity).distribution, known)


@dataclass(frozen=True)
class Published:
    """What publications say of one quantity of one material.

    Parameters
    ----------
    distribution : spread of loads, SI, dry basis for concentrations.
    low, high : outermost published figures, SI.
    rows : the rows it rests on.
    standing : ``material``, or what stood in for it when the material has no value of its own.
    basis_assumed : no row states its basis; dry was taken.
    """

    kind: str
    quantity: str
    distribution: Uncertain
    low: float
    high: float
    rows: tuple[PublishedRow, ...]
    standing: Standing = "material"
    basis_assumed: bool = False

    @property
    def sources(self) -> tuple[str, ...]:
        """Return the source keys, each once."""
        return tuple(dict.fromkeys(row.source for row in self.rows))

    @property
    def inputs(self) -> tuple[Input, ...]:
        """Return the rows as inputs of a trace, at most one per publication and material."""
        return tuple(
            Input(
                say("published {quantity}, {slug}", quantity=self.quantity, slug=row.slug),
                row.printed,
                f"{row.source}: {row.locator}".rstrip(": "),
            )
            for row in self.rows
        )


@cache
def kinds() -> dict[str, dict[str, str]]:
    """Return the reference materials by slug."""
    return {row["slug"]: row for row in family("materials")}


def kind_row(kind: str) -> dict[str, str]:
    """Return one reference material.

    Raises
    ------
    UnknownName : no such slug.
    """
    try:
        return kinds()[kind]
    except KeyError:
        raise UnknownName(
            say("material “{kind}”", kind=kind),
            expected=say("one of ") + ", ".join(kinds()),
            remedy=say("choose the nearest of these"),
        ) from None


@cache
def _raw() -> dict[tuple[str, str], tuple[dict[str, str], ...]]:
    rows: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in family("material_values"):
        if not row["note"].startswith("suspect:"):
            rows.setdefault((row["slug"], row["quantity"]), []).append(row)
    return {key: tuple(found) for key, found in rows.items()}


@cache
def published_rows(kind: str, key: str) -> tuple[PublishedRow, ...]:
    """Return the usable published rows of a material, SI, as received turned into dry by its published moisture."""
    found = _raw().get((kind, key), ())
    if key == "EC":
        found = tuple(row for row in found if EC_EXTRACT in row["note"] or EC_EXTRACT in row["locator"])
    own = tuple(row for row in (_row(one) for one in found) if row is not None)
    if key not in COMPLEMENT:
        return own
    other = (_row(one) for one in _raw().get((kind, COMPLEMENT[key]), ()))
    return own + tuple(_complement(row) for row in other if row is not None)


def _row(row: dict[str, str]) -> PublishedRow | None:
    low, typical, high = (float(row[side]) if row[side] else None for side in ("low", "typical", "high"))
    printed = joined(" / ", [row[side] for side in ("low", "typical", "high") if row[side]]) + f" {row['unit']}"
    si = [None if one is None else to_si(one, row["unit"]) for one in (low, typical, high)]
    if quantity(row["quantity"]).is_concentration and row["basis"] == "as_received":
        water = own_published(row["slug"], "moisture")
        if water is None:
            return None
        si = [None if one is None else to_dry(one, water.distribution.median) for one in si]
    stated = row["basis"] != "not_stated"
    words = joined(", ", (printed, row["basis"].replace("_", " "))) if row["basis"] != "none" else printed
    return PublishedRow(
        row["slug"],
        row["quantity"],
        si[0],
        si[1],
        si[2],
        stated,
        row["source"],
        row["read"],
        words,
        row["locator"],
        _analyses(row["note"]),
    )


def _analyses(note: str) -> int:
    counted = re.search(r"\bn ?(?:=|about) ?(\d+)", note)
    return int(counted.group(1)) if counted else 0


def _complement(row: PublishedRow) -> PublishedRow:
    low, typical, high = (None if one is None else 1.0 - one for one in (row.high, row.typical, row.low))
    words = say("{figures} ({what}; the complement is taken)", figures=row.printed, what=row.quantity.replace("_", " "))
    return replace(row, quantity=COMPLEMENT[row.quantity], low=low, typical=typical, high=high, printed=words)


def _in_domain(kind: str, values: list[float]) -> bool:
    if kind == "normal":
        return True
    return all(one > 0 for one in values) and (kind != "logit" or all(one < 1 for one in values))


@cache
def own_published(kind: str, key: str) -> Published | None:
    """Return what publications say of this very material, or None when none locates the quantity."""
    complete = [row for row in published_rows(kind, key) if row.complete]
    # A row whose basis is not stated counts only where no other does: it may be as received.
    chosen = [row for row in complete if row.stated] or complete
    if not chosen:
        return None
    ends = [one for row in chosen for one in (row.low, row.typical, row.high) if one is not None]
    assumed = not any(row.stated for row in chosen) and quantity(key).is_concentration
    return Published(kind, key, _pooled(key, chosen), min(ends), max(ends), tuple(chosen), basis_assumed=assumed)


def _pooled(key: str, rows: list[PublishedRow]) -> Uncertain:
    kind = quantity(key).distribution
    middles, spreads = zip(*(_located(kind, row) for row in rows), strict=True)
    mu = median(middles)
    known = [one for one in spreads if one is not None]
    if known:
        stand_in = median(known)
    elif len(rows) >= coefficient("published_rows_enough").value:
        stand_in = 0.0
    else:
        stand_in = book_sigma(key, float(from_scale(kind, mu)))
    within = fmean((stand_in if one is None else one) ** 2 for one in spreads)
    between = sum((one - mu) ** 2 for one in middles) / max(len(middles) - 1, 1)
    return Uncertain(kind, mu, max(math.sqrt(within + between), coefficient("published_sd_floor").value))


def _located(kind: str, row: PublishedRow) -> tuple[float, float | None]:
    if row.low is not None and row.high is not None and row.low < row.high:
        a, b = float(to_scale(kind, row.low)), float(to_scale(kind, row.high))
        inside = row.typical is not None and row.low <= row.typical <= row.high
        mu = float(to_scale(kind, row.typical)) if inside and row.typical is not None else 0.5 * (a + b)
        # Half the width, not the wider side: a skewed range would else reach values nobody has published.
        return mu, 0.5 * (b - a) / _end_score(row.analyses)
    return float(to_scale(kind, row.typical if row.typical is not None else 1.0)), None


def _end_score(analyses: int) -> float:
    """Return the standard score the ends of a range stand for: 5 and 95 %, or the extremes of n (Blom 1958)."""
    share = 0.95 if analyses < 2 else (analyses - 0.375) / (analyses + 0.25)
    return NormalDist().inv_cdf(share)


def book_sigma(key: str, value: float) -> float:
    """Return the spread of loads around a single book value, on the quantity's own scale."""
    kind = quantity(key).distribution
    if kind == "normal":
        return coefficient("book_sd_pH").value
    name = f"book_rsd_{key}"
    rsd = coefficient(name if name in coefficients() else "material_rsd_default").value
    # A share is spread relative to the smaller of it and its complement, so that 98 % stays below 100 %.
    return rsd / max(value, 1.0 - value) if kind == "logit" else math.sqrt(math.log1p(rsd * rsd))


@cache
def published(kind: str, key: str) -> Published | None:
    """Return the published distribution of a quantity of a material.

    Parameters
    ----------
    kind : slug of the reference material.
    key : glossary key.

    Returns
    -------
    The material's own distribution; failing that the one over its group, then over all materials (`standing` says
    which); None when no material has the quantity.

    Raises
    ------
    UnknownName : no such material.
    """
    group = kind_row(kind)["group"]
    own = own_published(kind, key)
    if own is not None or quantity(key).family == "trait":
        return own  # a trait such as storage life is never borrowed from another material
    kin = [slug for slug, row in kinds().items() if row["group"] == group]
    return _across(kind, key, kin, "group") or _across(kind, key, list(kinds()), "all materials")


def _across(kind: str, key: str, slugs: list[str], standing: Standing) -> Published | None:
    found = [one for one in (own_published(slug, key) for slug in slugs) if one is not None]
    if not found:
        return None
    middles = [one.distribution.mu for one in found]
    mu = median(middles)
    spread = sum((one - mu) ** 2 for one in middles) / max(len(middles) - 1, 1)
    within = fmean(one.distribution.sigma**2 for one in found)
    scale = found[0].distribution.kind
    floor = book_sigma(key, float(from_scale(scale, mu)))
    whole = Uncertain(scale, mu, max(math.sqrt(spread + within), floor))
    rows = tuple(row for one in found for row in one.rows)
    return Published(kind, key, whole, min(one.low for one in found), max(one.high for one in found), rows, standing)
