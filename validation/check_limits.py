"""Cumulative limits: the Maryland table is 40 CFR 503.13 Table 2 in lb/acre; a printed formula of Rhode Island is not.

Sources: COMAR 15.18.04.12 Table 2 (read), 40 CFR 503.13 Table 2 (read, with Cd and Pb from Rhode Island's repeat of
it), the same table of 1993 for Cr 3000 and Mo 18 kg/ha (recalled), 250-RICR-150-10-3 Appendix 7 (read).
"""

import pytest

from loamery.reference import table
from loamery.units import convert

OLD_503 = {"Cr": 3000.0, "Mo": 18.0}
"""Limits of the 1993 text that were withdrawn later; Maryland still prints them. Recalled, not re-read."""


def rows(key: str) -> dict[str, tuple[float, str]]:
    return {row["parameter"]: (float(row["value"]), row["unit"]) for row in table("limits") if row["key"] == key}


FEDERAL, MARYLAND = rows("us-503-table2"), rows("us-md-compost-cumulative")
PRINTED_LB_AC = {
    **{"As": 37, "Cd": 35, "Cr": 2680, "Cu": 1340, "Pb": 270},
    **{"Hg": 15, "Mo": 16, "Ni": 375, "Se": 90, "Zn": 2500},
}


def federal_lb_ac(element: str) -> float:
    kg_ha = FEDERAL[element][0] if element in FEDERAL else OLD_503[element]
    return convert(kg_ha, "kg/ha", "lb/ac")


@pytest.mark.parametrize("element", PRINTED_LB_AC)
def test_maryland_is_the_federal_table_in_pounds_per_acre(element: str):
    assert federal_lb_ac(element) == pytest.approx(PRINTED_LB_AC[element], rel=0.025)


@pytest.mark.parametrize("element", PRINTED_LB_AC)
def test_our_row_holds_the_printed_figure(element: str):
    value, unit_name = MARYLAND[element]
    if unit_name == "kg/ha":
        value = convert(value, "kg/ha", "lb/ac")
    assert value == pytest.approx(PRINTED_LB_AC[element], rel=0.005)


def compost_tons_per_acre(limit_kg_ha: float, mg_kg: float) -> float:
    return convert(limit_kg_ha, "kg/ha", "lb/ac") / (mg_kg * convert(1.0, "ppm", "lb/ton"))


def rhode_island_tons_per_acre(limit_kg_ha: float, mg_kg: float) -> float:
    return limit_kg_ha / (mg_kg * 0.002)


@pytest.mark.parametrize("element", FEDERAL)
def test_rhode_island_formula_takes_kg_ha_for_lb_ac(element: str):
    limit = FEDERAL[element][0]
    printed, right = rhode_island_tons_per_acre(limit, 10.0), compost_tons_per_acre(limit, 10.0)
    assert printed / right == pytest.approx(1.1209, rel=1e-3)  # 12 % too much compost: not reproduced, on purpose


def test_cumulative_and_concentration_tables_are_equal_in_number_and_not_in_unit():
    monthly = rows("us-503-table3")
    for element, (value, unit_name) in FEDERAL.items():
        assert unit_name == "kg/ha"
        assert monthly[element] == (value, "mg/kg")


def test_print_the_table(capsys: pytest.CaptureFixture[str]):
    with capsys.disabled():
        print("\ncumulative loading, lb/acre: Maryland as printed, 503.13 Table 2 converted")
        for element, printed in PRINTED_LB_AC.items():
            print(f"  {element:3s} {printed:6d} {federal_lb_ac(element):9.1f}")
