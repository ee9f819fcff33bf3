"""Legal limits: a non-detect above the limit and a thing not measured never pass."""

import pytest

from loamery.errors import UnknownName
from loamery.garden.report import Determination, LabReport
from loamery.lab.combine import compose
from loamery.lab.limits import LimitAnswer, judge_limits, limit_findings, limit_rows
from loamery.reference import table

D = Determination
CCME = "ca-ccme-2005-a"
EU = "eu-2019-1009-pfc3a"


def sample(*rows: Determination, name: str = "a.csv") -> LabReport:
    return LabReport(name, invented=True, determinations=rows)


def metal(key: str, mg_kg: float, basis: str = "dry", **more: object) -> Determination:
    return D(key, "total", mg_kg * 1e-6, basis, **more)  # type: ignore[arg-type]


def below(key: str, mg_kg: float) -> Determination:
    return D(key, "total", None, "dry", censored="below", limit=mg_kg * 1e-6)


def count(key: str, per_g: float, below_limit: bool = False) -> Determination:
    if below_limit:
        return D(key, "none", None, "none", censored="below", limit=per_g * 1000)
    return D(key, "none", per_g * 1000, "none")


def answer(source: object, key: str, parameter: str) -> LimitAnswer:
    return next(one for one in judge_limits(source, key) if one.parameter == parameter)  # type: ignore[arg-type]


@pytest.mark.parametrize(("value", "expected"), [(149.0, "passes"), (150.0, "passes"), (151.0, "fails")])
def test_lead_of_category_a(value: float, expected: str):
    found = answer(sample(metal("Pb", value)), CCME, "Pb")
    assert found.answer == expected
    assert found.limit == 150
    assert found.ratio == pytest.approx(value / 150)


def test_as_received_value_is_judged_dry():
    wet = sample(metal("Pb", 90, "as_received"), D("moisture", "none", 0.5, "as_received"))
    assert answer(wet, CCME, "Pb").answer == "fails"
    assert answer(sample(metal("Pb", 90, "as_received")), CCME, "Pb").answer == "unknown"


def test_basis_not_stated_is_unknown():
    assert answer(sample(metal("Pb", 1, "not_stated")), CCME, "Pb").answer == "unknown"


def test_not_measured_is_unknown():
    assert {one.answer for one in judge_limits(sample(), CCME)} == {"unknown"}


def test_reporting_limit_above_the_legal_limit_never_passes():
    assert answer(sample(below("Cd", 5.0)), CCME, "Cd").answer == "unknown"
    assert answer(sample(below("Cd", 1.0)), CCME, "Cd").answer == "passes"


def test_nor_does_it_pass_as_part_of_a_composition():
    # Spent grounds hold hundredths of a mg/kg of cadmium: the published range must not turn "<5" into a pass of 3.
    assert answer(compose("coffee-spent", [sample(below("Cd", 5.0))]), CCME, "Cd").answer == "unknown"
    assert answer(compose("coffee-spent", [sample(below("Cd", 0.5))]), CCME, "Cd").answer == "passes"


@pytest.mark.parametrize(
    "row",
    [row for row in table("limits") if row["unit"] == "mg/kg" and row["parameter"] != "PAH16" and float(row["value"])],
)
def test_every_row_with_a_coarse_non_detect_is_unknown(row: dict[str, str]):
    answers = judge_limits(sample(below(row["parameter"], 1.5 * float(row["value"]))), row["key"])
    assert "passes" not in {one.answer for one in answers if one.parameter == row["parameter"]}


def test_composition_that_straddles_may_pass():
    found = answer(compose("leaves-mixed", [sample(metal("Pb", 120))]), CCME, "Pb")
    assert found.answer == "unknown"
    assert "may pass" in found.text
    assert found.band.low < 150 < found.band.high


def test_composition_fails_or_passes_when_its_band_is_clear():
    high = [sample(metal("Pb", 2000 + number), name=f"{number}") for number in range(4)]
    assert answer(compose("leaves-mixed", high), CCME, "Pb").answer == "fails"
    low = [sample(metal("Pb", 2 + number / 10), name=f"{number}") for number in range(4)]
    assert answer(compose("leaves-mixed", low), CCME, "Pb").answer == "passes"


def test_published_ranges_alone_never_pass():
    answers = judge_limits(compose("coffee-spent", []), CCME)
    assert {one.answer for one in answers} == {"unknown"}


def test_whole_element_can_prove_a_form_but_not_condemn_it():
    assert answer(sample(metal("Cr", 1.0)), EU, "CrVI").answer == "passes"
    assert answer(sample(metal("Cr", 60.0)), EU, "CrVI").answer == "unknown"
    assert answer(sample(metal("As", 10.0)), EU, "As").answer == "passes"
    assert answer(sample(metal("As", 60.0)), EU, "As").answer == "unknown"


def test_hygiene_counts():
    key = "us-503-hygiene"
    assert answer(sample(count("fecal_coliform", 500)), key, "fecal_coliform").answer == "passes"
    assert answer(sample(count("fecal_coliform", 1900)), key, "fecal_coliform").answer == "fails"
    assert answer(sample(count("fecal_coliform", 1000)), key, "fecal_coliform").answer == "fails"
    assert answer(sample(count("salmonella", 3 / 4, below_limit=True)), key, "salmonella").answer == "passes"


def test_absent_in_25_g():
    assert answer(sample(count("salmonella", 1 / 25, below_limit=True)), EU, "salmonella").answer == "passes"
    assert answer(sample(count("salmonella", 3 / 4, below_limit=True)), EU, "salmonella").answer == "unknown"
    assert answer(sample(count("salmonella", 1.0)), EU, "salmonella").answer == "fails"


def test_loadings_and_process_times_are_not_judged_from_a_sample():
    assert judge_limits(sample(metal("Cd", 1)), "us-503-table2") == ()
    assert {row["applies_to"] for row in limit_rows("us-503-hygiene")} == {"hygiene"}


def test_unknown_limit():
    with pytest.raises(UnknownName, match="moon"):
        judge_limits(sample(), "moon")


def test_findings_carry_code_severity_source_and_caution():
    found = limit_findings(judge_limits(sample(metal("Pb", 200), below("Cd", 9), metal("Zn", 1)), CCME))
    by = {one.about: one for one in found}
    assert (by["Pb"].code, by["Pb"].severity) == ("limit_exceeded", "stop")
    assert (by["Cd"].code, by["Cd"].severity) == ("limit_unknown", "warning")
    assert (by["Zn"].code, by["Zn"].severity) == ("limit_met", "note")
    assert "local codes" in by["Pb"].caution
    assert all(one.sources and one.because for one in found)


def test_json():
    out = answer(sample(metal("Pb", 200)), CCME, "Pb").as_dict()
    assert out["answer"] == "fails" and out["parameter"] == "Pb" and out["sources"]
