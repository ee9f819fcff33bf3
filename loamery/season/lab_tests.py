"""Which test next: what each possible laboratory test would be worth to the plan, against its price."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.garden.model import Garden
from loamery.reference import coefficient, table
from loamery.say import say
from loamery.season.information import Worth, value_of_certainty, value_of_knowing
from loamery.season.prepare import Prepared
from loamery.season.years import Years
from loamery.uncertain import horwitz_rsd, scores, to_scale

Array = NDArray[np.float64]

PH_ERROR, DENSITY_RSD = "ph_test_error", "density_test_rsd"


@dataclass(frozen=True)
class LabTest:
    """One test that could be ordered.

    Parameters
    ----------
    kind : key of lab_tests.csv. about : id of the material or bed. measures : quantities it reads.
    price : of one sample; printed says where it comes from: the garden's own list, or the published one in its currency.
    """

    kind: str
    name: str
    subject: str
    about: str
    about_name: str
    measures: tuple[str, ...]
    price: float
    printed: str
    source: str


@dataclass(frozen=True)
class WorthOfTest:
    """What one test is worth.

    Parameters
    ----------
    worth : in the garden's currency. per_price : worth over price; above 1 it pays for itself.
    """

    test: LabTest
    worth: Worth
    per_price: float

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        one = self.test
        return {
            "test": one.kind, "name": one.name, "about": one.about, "measures": list(one.measures), "price": one.price,
            "price_from": one.printed, "worth": self.worth.value, "error": self.worth.error,
            "changes_the_plan": self.worth.changes, "narrows": self.worth.narrows, "worth_per_price": self.per_price,
        }  # fmt: skip


def possible_tests(prepared: Prepared) -> tuple[LabTest, ...]:
    """Return every test that would tell something: each material that is offered, each bed without a soil test."""
    garden = prepared.garden
    offered = {one.material for one in garden.supplies if one.kg_per_week > 0.0}
    prices = {one.test: one.price for one in garden.test_prices}
    out = []
    for row in table("lab_tests"):
        if row["subject"] == "material":
            subjects = [(one.id, one.name) for one in garden.materials if one.id in offered]
        else:
            subjects = [(bed.id, bed.name) for bed in garden.beds if not prepared.soils[bed.id].values]
        for key, name in subjects:
            measures = tuple(_measured(prepared, row, key))
            if measures:
                out.append(_test(row, key, name, measures, prices, garden))
    return tuple(out)


def _measured(prepared: Prepared, row: Mapping[str, str], key: str) -> list[str]:
    asked = row["measures"].split(";")
    if row["subject"] == "soil":
        return asked
    known = prepared.compositions[key]
    return [one for one in asked if one in known and known[one].distribution.sigma > 0.0]


def _test(
    row: Mapping[str, str], key: str, name: str, measures: tuple[str, ...], prices: Mapping[str, float], garden: Garden
) -> LabTest:
    own = prices.get(row["key"])
    price = float(row["value"]) if own is None else own
    printed = (
        say("test_prices.csv of the garden")
        if own is not None
        else say("published list, {currency}, one for one", currency=row["currency"])
    )
    return LabTest(row["key"], row["name"], row["subject"], key, name, measures, price, printed, row["source"])


def signal_of(test: LabTest, years: Years) -> Array:
    """Return what a test would say in every draw, on the scale on which it is normal, shape (n, quantities).

    Notes
    -----
    The laboratory's own error by Horwitz, and the part of the spread that is between loads: one sample speaks of one load.
    """
    if test.subject == "soil":
        return np.column_stack([_noisy(one, 0.1, years, test, name) for name, one in years.soils[test.about].items()])
    composition = years.compositions[test.about]
    columns = []
    for name in test.measures:
        estimate = composition[name]
        scale = estimate.distribution.kind
        values = to_scale(scale, np.clip(estimate.draws, *_ENDS.get(scale, (-np.inf, np.inf))))
        between = np.sqrt(coefficient("load_share_of_variance").value) * estimate.distribution.sigma
        error = float(np.hypot(_lab_error(name, estimate.median, scale), between))
        columns.append(_noisy(values, error, years, test, name))
    return np.column_stack(columns)


_ENDS = {"lognormal": (1e-12, np.inf), "logit": (1e-9, 1.0 - 1e-9)}


def _noisy(values: Array, error: float, years: Years, test: LabTest, name: str) -> Array:
    return np.asarray(values + error * scores(years.n, years.seed, "lab test", test.about, test.kind, name))


def _lab_error(name: str, median: float, scale: str) -> float:
    """Return the laboratory's standard deviation on the scale of a distribution."""
    if scale == "normal":
        return coefficient(PH_ERROR).value
    if name in ("EC", "bulk_density"):
        return coefficient(DENSITY_RSD).value
    rsd = horwitz_rsd(min(max(median, 1e-12), 1.0))
    return rsd / max(1.0 - median, 0.05) if scale == "logit" else rsd


def worth_of_tests(
    tests: Sequence[LabTest], benefit: Array, years: Years, progress: Callable[[str], None] = lambda _: None
) -> tuple[list[WorthOfTest], float]:
    """Return what each test is worth, the best for its price first, and what knowing everything would be worth.

    Parameters
    ----------
    benefit : of each plan that could be chosen in each season, in the garden's currency, shape (n, plans).
    """
    progress(f"weighing {len(tests)} tests")
    found = []
    for one in tests:
        worth = value_of_knowing(benefit, signal_of(one, years), seed=years.seed)
        found.append(WorthOfTest(one, worth, worth.value / one.price if one.price > 0.0 else np.inf))
    found.sort(key=lambda one: (-one.per_price, one.test.price))
    return found, value_of_certainty(benefit)
