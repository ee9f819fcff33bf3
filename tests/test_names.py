"""The glossary: one name, one unit, one distribution for each quantity."""

from __future__ import annotations

import pytest

from loamery.errors import UnknownName
from loamery.names import LABEL_TERMS, NUTRIENTS, quantities, quantity, trace_elements
from loamery.units import element_share, molar_mass, unit, units


def test_every_display_unit_measures_what_the_si_unit_does() -> None:
    for one in quantities().values():
        assert one.display_unit in units(), one.key
        assert unit(one.display_unit).si_unit == one.si_unit, one.key


def test_labels_are_unique_and_distributions_known() -> None:
    every = list(quantities().values())
    assert len({one.label.casefold() for one in every}) == len(every)
    assert {one.distribution for one in every} == {"lognormal", "logit", "normal"}
    assert all(quantity(one.key) is one for one in every)


def test_shares_are_logit_normal_and_reaction_is_normal() -> None:
    # models.md 0: concentrations log-normal, moisture and fractions logit-normal, pH normal
    assert {quantity(key).distribution for key in ("moisture", "ash", "organic_matter")} == {"logit"}
    assert {quantity(key).distribution for key in ("N", "P", "K", "Cd", "EC", "bulk_density")} == {"lognormal"}
    assert quantity("pH").distribution == "normal"


def test_formulas_and_oxides_hold_the_element_they_stand_for() -> None:
    for one in quantities().values():
        if one.formula:
            assert molar_mass(one.formula) > 0
        if one.oxide:
            assert 0 < element_share(one.formula, one.oxide) < 1, one.key


def test_label_terms_are_oxides_of_the_glossary() -> None:
    assert tuple(LABEL_TERMS) == NUTRIENTS
    assert LABEL_TERMS["P"] == quantity("P").oxide
    assert LABEL_TERMS["K"] == quantity("K").oxide


def test_basis_applies_to_concentrations_only() -> None:
    assert quantity("N").is_concentration
    assert not quantity("moisture").is_concentration
    assert not quantity("pH").is_concentration
    assert not quantity("EC").is_concentration


def test_trace_elements_cover_the_ten_metals_of_40_cfr_503() -> None:
    # 40 CFR 503.13 (1993, amended): As, Cd, Cu, Pb, Hg, Mo, Ni, Se, Zn; Cr was withdrawn in 1995
    assert {"As", "Cd", "Cu", "Pb", "Hg", "Mo", "Ni", "Se", "Zn", "Cr"} <= set(trace_elements())
    assert not {"N", "P", "K", "Fe", "Al"} & set(trace_elements())


def test_an_unknown_name_is_told_with_what_is_known() -> None:
    with pytest.raises(UnknownName) as told:
        quantity("Nitrogen")
    assert "“Nitrogen”" in str(told.value)
    assert "moisture" in told.value.expected
