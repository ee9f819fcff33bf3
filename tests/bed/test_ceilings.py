"""How much a bed may take: phosphorus, potassium, salt, trace elements; and what salt costs."""

from __future__ import annotations

from datetime import date

import pytest

from loamery.bed.ceilings import most_sensitive, nutrient_ceiling, relative_yield, salt_ceiling, trace_ceilings
from loamery.bed.release import salt_rise
from loamery.bed.soil import SoilTest, soil_test
from loamery.garden.model import Bed, Planting, SoilValue
from loamery.reference import cite, coefficient, table
from loamery.units import to_si

BED = Bed(id="b", name="Bed", area_m2=5, depth_m=0.15, bulk_density_kg_m3=1200)
G = 1e-3


def soil(**values: tuple[float, str, str]) -> SoilTest:
    lines = [
        SoilValue(bed="b", quantity=key, value=value, unit=unit, extractant=how)
        for key, (value, unit, how) in values.items()
    ]
    return soil_test("b", lines, [])


def planted(*crops: str) -> tuple[Planting, ...]:
    return tuple(Planting(bed="b", crop=one, planted=date(2027, 5, 1), harvested=date(2027, 9, 1)) for one in crops)


@pytest.mark.parametrize(
    ("crop", "ds_m", "left"),
    [
        # Maas & Hoffman, Yr = 100 - b (ECe - a), with the values of Maas 1990: bean a 1.0 b 19, strawberry 1.0 and 33,
        # tomato 2.5 and 9.9
        ("bean-snap", 3.0, 0.62),
        ("strawberry", 2.0, 0.67),
        ("tomato", 4.0, 0.8515),
        ("tomato", 2.5, 1.0),
        ("tomato", 0.0, 1.0),
        ("strawberry", 1.0, 1.0),
        ("strawberry", 4.5, 0.0),
    ],
)
def test_yield_on_a_saline_soil(crop: str, ds_m: float, left: float) -> None:
    found = relative_yield(crop, to_si(ds_m, "dS/m"))
    assert found == pytest.approx(left, abs=1e-9)


def test_a_crop_without_published_tolerance_is_not_guessed() -> None:
    known = {row["slug"] for row in table("crop_values") if row["quantity"] == "ece_slope"}
    unknown = next(row["slug"] for row in table("crops") if row["slug"] not in known)
    assert relative_yield(unknown, 0.5) is None


def test_the_most_sensitive_crop_counts() -> None:
    found = most_sensitive(planted("tomato", "strawberry"))
    assert found is not None
    assert found[0] == "strawberry"
    assert most_sensitive(()) is None


def test_salt_may_rise_to_the_crop_s_threshold_and_no_further() -> None:
    """The ceiling, put back into the soil, is exactly the room that is left."""
    for now, crop, room in ((0.7, "strawberry", 0.3), (0.6, "bean-snap", 0.4), (0.0, "tomato", 0.5)):
        ceiling = salt_ceiling(BED, soil(EC=(now, "dS/m", "saturated paste")), planted(crop))
        rise = float(salt_rise(ceiling.limit_kg_m2, BED.depth_m, BED.bulk_density_kg_m3))
        assert rise == pytest.approx(to_si(room, "dS/m"), rel=1e-9), crop


def test_on_a_salty_bed_only_what_rain_washes_out_is_allowed() -> None:
    ceiling = salt_ceiling(BED, soil(EC=(6.0, "dS/m", "saturated paste")), planted("strawberry"))
    rise = float(salt_rise(ceiling.limit_kg_m2, BED.depth_m, BED.bulk_density_kg_m3))
    assert rise == pytest.approx(to_si(coefficient("ec_rise_floor").value, "dS/m"), rel=1e-9)
    assert "rain" in ceiling.because
    assert coefficient("ec_rise_floor").source in ceiling.sources


def test_without_crops_the_guide_holds() -> None:
    ceiling = salt_ceiling(BED, soil(), ())
    rise = float(salt_rise(ceiling.limit_kg_m2, BED.depth_m, BED.bulk_density_kg_m3))
    assert rise == pytest.approx(to_si(coefficient("ec_rise_per_application").value, "dS/m"), rel=1e-9)


@pytest.mark.parametrize("key", ["P", "K"])
def test_the_fuller_the_soil_the_lower_the_ceiling(key: str) -> None:
    values = {"P": (5, 20, 30, 50, 200), "K": (20, 40, 75, 120, 900)}[key]
    tests = [soil(**{key: (value, "mg/kg", "mehlich3")}) for value in values]
    classes = [one.nutrient_class(key) for one in tests]
    assert len(set(classes)) >= 4
    limits = [nutrient_ceiling(key, one, 20 * G).limit_kg_m2 for one in tests]
    assert limits == sorted(limits, reverse=True)


def test_a_very_high_soil_gets_back_what_is_carried_off_and_no_more() -> None:
    full = soil(P=(400, "mg/kg", "mehlich3"))
    ceiling = nutrient_ceiling("P", full, 2 * G)
    assert ceiling.limit_kg_m2 == pytest.approx(2 * G)
    assert nutrient_ceiling("P", full, 0.0).limit_kg_m2 == 0.0
    assert "very high" in ceiling.because


def test_a_bed_of_light_feeders_may_still_get_some() -> None:
    ceiling = nutrient_ceiling("P", soil(P=(20, "mg/kg", "mehlich3")), 0.1 * G)
    assert ceiling.limit_kg_m2 == pytest.approx(to_si(coefficient("ceiling_floor_p").value, "g/m2"))
    assert "at least" in ceiling.because


def test_an_untested_soil_is_taken_for_a_medium_one() -> None:
    assert nutrient_ceiling("P", soil(), 20 * G).limit_kg_m2 == pytest.approx(
        coefficient("ceiling_factor_p_medium").value * 20 * G
    )


def test_cumulative_loads_are_spread_over_the_years() -> None:
    # 40 CFR 503.13 Table 2: lead 300 kg/ha in all; 50 years (ours) leave 6 kg/ha, 0.6 g/m2, a year
    found = trace_ceilings("us-503-table2")
    years = coefficient("metal_years").value
    assert found["Pb"].limit_kg_m2 == pytest.approx(300 / 1e4 / years, rel=1e-12)
    assert found["Cd"].limit_kg_m2 == pytest.approx(39 / 1e4 / years, rel=1e-12)
    assert "300" in found["Pb"].because


def test_yearly_loads_are_taken_as_they_are() -> None:
    # 86/278/EEC annex I C: cadmium 0.15 kg/ha and year, over ten years; recalled
    assert trace_ceilings("eu-86-278-annual")["Cd"].limit_kg_m2 == pytest.approx(0.15 / 1e4, rel=1e-12)


@pytest.mark.parametrize("jurisdiction", [row["key"] for row in table("jurisdictions")])
def test_every_jurisdiction_holds_the_loads_of_cadmium_and_lead(jurisdiction: str) -> None:
    key = next(row["cumulative_limits"] for row in table("jurisdictions") if row["key"] == jurisdiction).split(";")[0]
    found = trace_ceilings(key)
    assert {"Cd", "Pb"} <= set(found)
    for one in found.values():
        assert one.limit_kg_m2 > 0
        assert cite(one.sources)


def test_no_such_limits_are_no_ceilings() -> None:
    assert trace_ceilings("nowhere") == {}
