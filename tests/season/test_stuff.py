"""Materials, composts and castings per kilogram: nothing appears that was not put in."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.heap.published import finished_share
from loamery.reference import coefficient, table
from loamery.season.prepare import prepare
from loamery.season.stuff import Stuff, blended, castings_stuff, compost_stuff, raw_stuff
from tests.season.gardens import garden, material


def stuff(kind: str, *uses: str) -> Stuff:
    one = garden((material("a", kind, *uses),), (), ())  # type: ignore[arg-type]
    return raw_stuff(one.materials[0], prepare(one).compositions["a"])


@pytest.mark.parametrize("kind", [row["slug"] for row in table("materials")])
def test_every_material_can_be_spread_on_paper(kind: str) -> None:
    one = stuff(kind)
    assert one.dry.shape == (200,)
    assert np.all((one.dry > 0) & (one.dry <= 1))
    for key in ("carbon", "n_mineral", "n_organic", "p", "k", "salts"):
        values = getattr(one, key)
        assert np.all(np.isfinite(values) & (values >= 0)), key
        assert np.all(values <= one.dry + 1e-12), key
    assert np.all(one.density > 0)
    assert np.median(one.density) < 2500
    assert one.storage_weeks > 0
    assert one.mulch_depth_m >= 0


def test_only_what_is_stable_is_dug_in() -> None:
    for row in table("materials"):
        one = stuff(row["slug"], "mulch", "dig_in", "heap", "worm_bed")
        assert ("dig_in" in one.uses) == (row["group"] in ("compost", "meal", "mineral")), row["slug"]


def test_the_grower_s_storage_goes_before_the_published_one() -> None:
    one = garden((material("a", "grass-clippings", weeks=9),), (), ())
    assert raw_stuff(one.materials[0], prepare(one).compositions["a"]).storage_weeks == 9


def test_compost_holds_what_went_in_less_the_published_losses() -> None:
    parts = [(stuff("coffee-spent"), 0.4), (stuff("leaves-mixed"), 0.6)]
    compost, per_kg = compost_stuff("recipe-1", "Compost 1", parts)
    went_in = blended(parts)
    dry = float(np.median(went_in["dry"]))
    mass = dry * (1 - finished_share("dm").value) / (1 - coefficient("heap_finished_moisture").value)
    assert per_kg == pytest.approx(mass)
    for key, element in (("carbon", "C"), ("p", "P"), ("k", "K")):
        assert getattr(compost, key) * mass == pytest.approx(
            went_in[key] * (1 - finished_share(element).value), rel=1e-9
        )
    assert compost.nitrogen * mass == pytest.approx(
        (went_in["n_mineral"] + went_in["n_organic"]) * (1 - finished_share("N").value)
    )
    for element in compost.trace:
        assert compost.trace[element] * mass == pytest.approx(went_in[f"trace {element}"], rel=1e-9), "metals stay"
    assert np.median(compost.c_to_n) < np.median(went_in["carbon"] / (went_in["n_mineral"] + went_in["n_organic"]))
    assert not compost.is_raw_manure
    assert "dig_in" in compost.uses


def test_castings_hold_what_went_in_less_the_published_losses() -> None:
    feeds = [(stuff("coffee-spent"), 0.5), (stuff("veg-trimmings"), 0.5)]
    castings = castings_stuff(feeds)
    went_in = blended(feeds)
    dry = float(np.median(went_in["dry"]))
    mass = dry * coefficient("castings_yield").value / (1 - coefficient("heap_finished_moisture").value)
    assert castings.p * mass == pytest.approx(went_in["p"], rel=1e-9)
    assert castings.dry * mass == pytest.approx(went_in["dry"] * coefficient("castings_yield").value, rel=1e-9)
    kept = castings.nitrogen * mass / (went_in["n_mineral"] + went_in["n_organic"])
    assert kept == pytest.approx(1 - coefficient("worm_n_loss").value)


def test_raw_manure_is_known_for_what_it_is() -> None:
    assert stuff("manure-horse-straw").is_raw_manure
    assert not stuff("coffee-spent").is_raw_manure
