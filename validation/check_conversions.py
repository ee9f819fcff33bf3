"""Conversion factors against molmass, pint and a printed table.

Sources: atomic weights of the library molmass (IUPAC CIAAW); unit definitions of the library pint; table of Virginia
Tech SPES-201 (read in a stored copy; it differs from IUPAC in the fourth figure, hence 0.1 % tolerance).
"""

from functools import cache

import pytest

from loamery.names import quantities
from loamery.units import charge_mass, element_share, molar_mass, to_compound, unit, units

OXIDES = [(one.key, one.oxide) for one in quantities().values() if one.oxide]
IONS = [("N", "NO3"), ("N", "NH4"), ("N", "NH3"), ("S", "SO4"), ("P", "PO4"), ("Ca", "CaCO3")]
PINT_NAMES = {
    "1": "dimensionless",
    "%": "percent",
    "g/kg": "g/kg",
    "g/100g": "g/(100*g)",
    "mg/kg": "mg/kg",
    "mg/g": "mg/g",
    "mg/100g": "mg/(100*g)",
    "ug/g": "ug/g",
    "ug/kg": "ug/kg",
    "ng/g": "ng/g",
    "ppm": "ppm",
    "kg/t": "kg/metric_ton",
    "g/t": "g/metric_ton",
    "lb/ton": "lb/US_ton",
    "lb/100lb": "lb/(100*lb)",
    "dS/m": "dS/m",
    "mS/cm": "mS/cm",
    "S/m": "S/m",
    "mS/m": "mS/m",
    "uS/cm": "uS/cm",
    "kg/m3": "kg/m**3",
    "g/L": "g/L",
    "kg/L": "kg/L",
    "g/cm3": "g/cm**3",
    "g/mL": "g/mL",
    "t/m3": "metric_ton/m**3",
    "lb/ft3": "lb/ft**3",
    "lb/yd3": "lb/yd**3",
    "m": "m",
    "cm": "cm",
    "mm": "mm",
    "um": "um",
    "in": "inch",
    "ft": "ft",
    "km": "km",
    "mi": "mile",
    "m2": "m**2",
    "ft2": "ft**2",
    "ha": "hectare",
    "kg": "kg",
    "g": "g",
    "t": "metric_ton",
    "lb": "lb",
    "oz": "oz",
    "ton": "US_ton",
    "m3": "m**3",
    "L": "L",
    "ft3": "ft**3",
    "yd3": "yd**3",
    "gal": "gallon",
    "kg/m2": "kg/m**2",
    "g/m2": "g/m**2",
    "kg/ha": "kg/hectare",
    "t/ha": "metric_ton/hectare",
    "lb/ft2": "lb/ft**2",
    "s": "s",
    "h": "hour",
    "day": "day",
    "week": "week",
    "year": "julian_year",
}
INTERNATIONAL_ACRE = "(4046.8564224*m**2)"
PRINTED = [
    # Virginia Tech SPES-201: factor as printed, ours.
    ("P → P2O5", 2.2910, to_compound("P", "P2O5")),
    ("K → K2O", 1.2051, to_compound("K", "K2O")),
    ("Ca → CaO", 1.3992, to_compound("Ca", "CaO")),
    ("Mg → MgO", 1.6578, to_compound("Mg", "MgO")),
    ("MgCO3 → CaCO3", 1.1867, molar_mass("CaCO3") / molar_mass("MgCO3")),
]


@cache
def registry():  # type: ignore[no-untyped-def]
    import pint

    return pint.UnitRegistry()


@pytest.mark.parametrize(("element", "compound"), OXIDES + IONS)
def test_element_share_agrees_with_molmass(element: str, compound: str):
    from molmass import Formula

    key = "N" if element in ("NH4_N", "NO3_N") else element
    whole = Formula(compound)
    theirs = sum(item.mass for item in whole.composition().values() if item.symbol == key) / whole.mass
    assert element_share(key, compound) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize("element", ["Ca", "Mg", "K", "Na", "Al"])
def test_charge_mass_agrees_with_molmass(element: str):
    from molmass import Formula

    charge = {"Ca": 2, "Mg": 2, "K": 1, "Na": 1, "Al": 3}[element]
    assert charge_mass(element) == pytest.approx(Formula(element).mass / charge / 1000, rel=1e-12)


@pytest.mark.parametrize("name", PINT_NAMES)
def test_unit_agrees_with_pint(name: str):
    ours = unit(name)
    base = PINT_NAMES.get(ours.si_unit, "dimensionless" if ours.dimension == "fraction" else ours.si_unit)
    theirs = registry().parse_expression(f"1.0*{PINT_NAMES[name]}")
    assert theirs.to(base).magnitude == pytest.approx(ours.factor, rel=1e-12)


@pytest.mark.parametrize(("name", "expression"), [("ac", "{a}"), ("lb/ac", "lb/{a}"), ("ton/ac", "US_ton/{a}")])
def test_acre_units_are_those_of_the_international_acre(name: str, expression: str):
    # pint's acre is the US survey acre (4 ppm larger); the definition of the international one is put in by hand.
    theirs = registry().parse_expression("1.0*" + expression.format(a=INTERNATIONAL_ACRE))
    assert theirs.to_base_units().magnitude == pytest.approx(unit(name).factor, rel=1e-12)


def test_every_unit_with_a_physical_meaning_is_checked():
    left = set(units()) - set(PINT_NAMES) - {"ac", "lb/ac", "ton/ac"}
    by_definition = {
        *("ppb", "ratio", "pH", "mmho/cm", "umho/cm", "cmol(+)/kg", "meq/100g", "mmol(+)/kg", "C", "1/day", "1/year"),
        *("lb/1000ft2", "lb/100ft2", "MPN/g", "MPN/4 g", "CFU/g"),
    }
    assert left <= by_definition, left - by_definition


@pytest.mark.parametrize(("what", "printed", "ours"), PRINTED)
def test_printed_table(what: str, printed: float, ours: float):
    assert ours == pytest.approx(printed, rel=1e-3), what


def test_print_the_table(capsys: pytest.CaptureFixture[str]):
    with capsys.disabled():
        print("\nfactors: Virginia Tech SPES-201 as printed, ours, difference")
        for what, printed, ours in PRINTED:
            print(f"  {what:16s} {printed:8.4f} {ours:10.6f} {100 * (ours / printed - 1):+7.3f} %")
