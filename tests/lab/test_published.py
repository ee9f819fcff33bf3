"""Published ranges of the reference materials as distributions."""

import math

import numpy as np
import pytest

from loamery.errors import UnknownName
from loamery.lab.published import book_sigma, kinds, own_published, published, published_rows
from loamery.reference import family, source
from loamery.uncertain import to_scale

NEEDED = ("moisture", "ash", "organic_matter", "C", "N", "P", "K", "Ca", "Mg", "S", "pH", "EC", "bulk_density")


@pytest.mark.parametrize("key", NEEDED)
def test_every_material_has_a_usable_distribution(key: str):
    for kind in kinds():
        found = published(kind, key)
        assert found is not None, kind
        assert found.distribution.sigma > 0
        assert math.isfinite(found.distribution.mu)
        assert all(source(one) for one in found.sources)


def test_suspect_rows_are_left_out():
    # 7.42 % is the residual moisture of a dried sample of grounds, not that of grounds as collected.
    suspect = [row for row in family("material_values") if row["note"].startswith("suspect:")]
    assert any(row["typical"] == "7.42" for row in suspect)
    assert all(row.typical != pytest.approx(0.0742) for row in published_rows("coffee-spent", "moisture"))


def test_common_nitrogen_of_spent_grounds_lies_inside_the_band():
    band = published("coffee-spent", "N").distribution.band()
    assert band.low < 0.0118 and band.high > 0.0205
    assert band.low == pytest.approx(0.0118, rel=0.10)


def test_median_is_the_median_of_the_published_medians():
    found = own_published("coffee-spent", "P")
    typical = [row.typical for row in found.rows]
    assert found.distribution.median == pytest.approx(float(np.median(typical)), rel=1e-12)


def test_row_without_stated_basis_gives_way_to_rows_that_state_it():
    rows = published_rows("coffee-spent", "N")
    assert any(not row.stated for row in rows)
    assert all(row.stated for row in own_published("coffee-spent", "N").rows)


def test_single_book_value_gets_the_default_spread():
    found = own_published("cardboard", "N")
    assert len(found.rows) == 1 and found.rows[0].low is None
    assert found.distribution.sigma == pytest.approx(math.sqrt(math.log1p(0.4**2)), rel=1e-9)


def test_extremes_of_a_hundred_analyses_are_not_taken_for_the_band():
    # Heckman & Kluchinski 1996, n = 100: N 0.66/0.94/1.62 %.
    row = next(one for one in published_rows("leaves-mixed", "N") if one.source == "HK96")
    assert row.analyses == 100
    found = own_published("leaves-mixed", "K")  # 0.09/0.36/0.88 %, the only row
    width = (math.log(0.88) - math.log(0.09)) / 2 / 2.4989
    assert found.distribution.sigma == pytest.approx(width, rel=1e-3)


def test_as_received_rows_are_turned_to_dry_by_the_published_moisture():
    row = next(
        row
        for row in family("material_values")
        if row["basis"] == "as_received" and row["quantity"] == "N" and not row["note"].startswith("suspect:")
    )
    water = own_published(row["slug"], "moisture").distribution.median
    values = [float(row[side]) / 100 / (1 - water) for side in ("low", "typical", "high") if row[side]]
    turned = [
        [one for one in (made.low, made.typical, made.high) if one is not None]
        for made in published_rows(row["slug"], "N")
    ]
    assert any(one == pytest.approx(values, rel=1e-12) for one in turned)


def test_ash_and_organic_matter_are_one_quantity():
    for kind in kinds():
        ash, organic = published(kind, "ash").distribution, published(kind, "organic_matter").distribution
        assert ash.median + organic.median == pytest.approx(1.0, abs=1e-9), kind
        assert ash.sigma == pytest.approx(organic.sigma, rel=1e-9)


def test_conductivity_of_another_extract_is_not_mixed_in():
    # Spent grounds: 3.7 dS/m in the saturation extract must not meet 0.4 to 2.5 in 1:5.
    assert published("coffee-spent", "EC").high == pytest.approx(0.25)


def test_missing_quantity_is_borrowed_and_said_so():
    found = published("manure-horse", "EC")
    assert found.standing == "group"
    assert published("biochar", "Ca").standing == "all materials"


def test_traits_are_never_borrowed():
    # Food scraps are not used as mulch (depth 0): the depth of another green material must not stand in.
    assert published("food-scraps", "mulch_depth_max") is None


def test_nothing_published_anywhere_is_none():
    assert published("coffee-spent", "sand") is None


def test_unknown_material():
    with pytest.raises(UnknownName, match="tofu"):
        published("tofu", "N")


def test_spread_of_a_share_stays_below_one():
    sigma = book_sigma("organic_matter", 0.98)
    assert 1 / (1 + math.exp(-(float(to_scale("logit", 0.98)) + 1.645 * sigma))) < 0.995
