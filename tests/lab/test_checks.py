"""Each check on a report made so that exactly this is wrong with it, and on one where it is right."""

import pytest

from loamery.finding import Finding
from loamery.garden.report import Determination, LabReport
from loamery.lab.checks import check_report
from loamery.lab.published import kinds, own_published
from loamery.units import to_compound

D = Determination


def report(*rows: Determination) -> LabReport:
    return LabReport("made-up.csv", invented=True, determinations=rows)


def dry(key: str, value: float, fraction: str = "total", **more: object) -> Determination:
    plain = key in ("NH4_N", "NO3_N", "C", "ash", "organic_matter", "protein")
    return D(key, "none" if plain else fraction, value, "dry", **more)  # type: ignore[arg-type]


def wet(key: str, value: float) -> Determination:
    return D(key, "none" if key == "moisture" else "total", value, "as_received")


def bare(key: str, value: float, **more: object) -> Determination:
    return D(key, "none", value, "none", **more)  # type: ignore[arg-type]


def codes(found: tuple[Finding, ...]) -> list[str]:
    return [one.code for one in found]


def only(found: tuple[Finding, ...], code: str) -> Finding:
    kept = [one for one in found if one.code == code]
    assert len(kept) == 1, codes(found)
    return kept[0]


def potassium(excess: float) -> LabReport:
    return report(dry("K", 0.0062), dry("K", 0.0062 * (1 + excess), "extractable"))


def test_extractable_a_little_above_total_is_a_note():
    found = only(check_report(potassium(0.03), "coffee-spent"), "extractable_above_total")
    assert found.severity == "note"
    assert "within laboratory uncertainty" in found.text
    assert "3.0 %" in found.text
    assert found.sources


def test_extractable_far_above_total_is_a_warning():
    found = only(check_report(potassium(0.30), "coffee-spent"), "extractable_above_total")
    assert found.severity == "warning"
    assert "within laboratory uncertainty" not in found.text


def test_extractable_below_total_is_silent():
    assert "extractable_above_total" not in codes(check_report(potassium(-0.1)))


def test_extractable_and_total_on_different_bases_without_moisture_are_not_compared():
    both = report(wet("K", 0.002), dry("K", 0.0062, "extractable"))
    assert "extractable_above_total" not in codes(check_report(both))


def test_stated_deviation_replaces_the_default():
    sure = report(dry("K", 0.0062, sd=0.00001), dry("K", 0.0062 * 1.03, "extractable", sd=0.00001))
    assert only(check_report(sure), "extractable_above_total").severity == "warning"


@pytest.mark.parametrize("share", [0.0118, 0.015, 0.0205])
@pytest.mark.parametrize("ph", [5.4])
def test_common_spent_grounds_are_not_flagged(share: float, ph: float):
    sample = report(dry("N", share), bare("pH", ph), wet("moisture", 0.6))
    assert check_report(sample, "coffee-spent") == ()


def test_common_unused_grounds_are_not_flagged():
    assert check_report(report(bare("pH", 5.88)), "coffee-unused") == ()


def test_percent_reported_as_mg_per_kg_is_a_unit_slip():
    sample = report(dry("N", 2.05e-6), dry("K", 0.0062))
    found = only(check_report(sample, "coffee-spent"), "unit_slip")
    assert found.about == "N"
    assert found.severity == "warning"
    assert "2.05 %" in found.proposal
    assert "PS18" in found.sources


def test_grams_per_kg_reported_as_percent_is_a_unit_slip():
    found = only(check_report(report(dry("Mg", 0.019)), "coffee-spent"), "unit_slip")
    assert "0.19 %" in found.proposal


def test_metal_far_above_the_usual_may_be_contamination():
    found = only(check_report(report(dry("Pb", 2000e-6)), "leaves-mixed"), "unit_slip")
    assert "contamination" in found.text


def test_tenfold_potassium_of_spent_grounds_is_called_undecidable():
    found = check_report(report(dry("K", 0.0442)), "coffee-spent")
    slip = only(found, "unit_slip")
    assert slip.severity == "note"
    assert "scatter" in slip.text


def test_oxide_reported_as_element_is_caught():
    sample = report(dry("P", 0.00145 * to_compound("P", "P2O5")))
    found = only(check_report(sample, "coffee-spent"), "oxide_as_element")
    assert found.severity == "warning"
    assert "0.145 %" in found.proposal
    assert "not testable" in found.text


def test_wet_value_in_a_dry_column_is_caught():
    sample = report(dry("C", 0.49 * 0.38), dry("N", 0.0205), wet("moisture", 0.62))
    found = only(check_report(sample, "coffee-spent"), "wet_dry_slip")
    assert found.about == "C"
    assert "49 %" in found.proposal


def test_whole_dry_column_as_received_is_one_finding():
    share = 0.38
    truth = {"C": 0.49, "N": 0.0205, "P": 0.00145, "K": 0.0044, "Ca": 0.0012, "Mg": 0.0015}
    sample = report(*(dry(key, value * share) for key, value in truth.items()), wet("moisture", 0.62))
    found = only(check_report(sample, "coffee-spent"), "wet_dry_slip")
    assert found.about == "whole sample"
    assert "N 0.779 % → 2.05 %" in found.proposal
    assert "unit_slip" not in codes(check_report(sample, "coffee-spent"))


def test_right_sample_of_every_material_raises_no_slip():
    for kind in kinds():
        rows = []
        for key in ("C", "N", "P", "K", "Ca", "Mg"):
            known = own_published(kind, key)
            if known is not None:
                rows.append(dry(key, known.distribution.median))
        bad = {"unit_slip", "oxide_as_element", "wet_dry_slip", "outside_published_range", "lost_digit"}
        water = own_published(kind, "moisture")
        if water is not None:
            rows.append(wet("moisture", water.distribution.median))
        assert not bad & set(codes(check_report(report(*rows), kind))), kind


def test_ashing_in_a_wet_column_is_seen_without_a_material():
    sample = report(dry("ash", 0.076), dry("organic_matter", 0.304), wet("moisture", 0.62))
    found = only(check_report(sample), "wet_dry_slip")
    assert "20 %" in found.proposal and "80 %" in found.proposal


def test_columns_that_disagree_name_the_odd_one():
    rows = [dry("N", 0.02), wet("N", 0.0076), dry("P", 0.0015), wet("P", 0.00057), dry("K", 0.005), wet("K", 0.004)]
    found = only(check_report(report(*rows, wet("moisture", 0.62))), "wet_dry_disagree")
    assert found.about == "K"


def test_published_wet_dry_pairs_agree():
    # Fidanza et al. 2010 (FID10): OM 25.86/60.97, N 1.12/2.65, P .29/.69, K 1.04/2.44 %, rounded as printed.
    pairs = {"organic_matter": (25.86, 60.97), "N": (1.12, 2.65), "P": (0.29, 0.69), "K": (1.04, 2.44)}
    rows = []
    for key, (received, on_dry) in pairs.items():
        fraction = "none" if key == "organic_matter" else "total"
        rows += [D(key, fraction, received / 100, "as_received", raw_value=str(received))]
        rows += [D(key, fraction, on_dry / 100, "dry", raw_value=str(on_dry))]
    assert "wet_dry_disagree" not in codes(check_report(report(*rows)))


@pytest.mark.parametrize(("ash", "severity"), [(0.20, None), (0.23, "note"), (0.30, "warning")])
def test_ash_plus_organic(ash: float, severity: str | None):
    found = check_report(report(dry("ash", ash), dry("organic_matter", 0.80)))
    if severity is None:
        assert found == ()
    else:
        assert only(found, "ash_plus_organic").severity == severity


def test_implied_carbon_of_a_copied_table():
    # Poultry manure of a widely copied table: N 6.3 % with C:N 15 needs 94.5 % carbon.
    found = only(check_report(report(dry("N", 0.063), bare("CN", 15.0))), "implied_carbon")
    assert "94.5 %" in found.text


def test_implied_carbon_at_the_ceiling():
    assert "implied_carbon" not in codes(check_report(report(dry("N", 0.02), bare("CN", 28.9))))
    assert "implied_carbon" in codes(check_report(report(dry("N", 0.02), bare("CN", 29.1))))


def test_charcoal_may_hold_more_carbon():
    assert "implied_carbon" not in codes(check_report(report(dry("C", 0.8)), "biochar"))
    assert "implied_carbon" in codes(check_report(report(dry("C", 0.8)), "straw-wheat"))


def test_lost_digit_of_a_copied_table():
    # Cattle feedlot manure of the same table: N 1.3 % with C:N 1.8 needs 2.3 % carbon; 18 is meant.
    sample = report(dry("N", 0.013), bare("CN", 1.8))
    assert "C:N may be 18" in only(check_report(sample), "lost_digit").proposal
    assert codes(check_report(sample, "manure-cattle")).count("lost_digit") == 1


def test_printed_ratio_against_computed():
    right = [dry("C", 0.47), dry("N", 0.0205)]
    assert check_report(report(*right, bare("CN", 22.9, raw_value="22.9"))) == ()
    assert only(check_report(report(*right, bare("CN", 24.7, raw_value="24.7"))), "cn_mismatch").severity == "note"
    assert only(check_report(report(*right, bare("CN", 30.0, raw_value="30.0"))), "cn_mismatch").severity == "warning"


def test_rounding_of_a_printed_ratio_is_allowed_for():
    rows = [dry("C", 0.48), dry("N", 0.001, raw_value="0.1"), bare("CN", 563.0, raw_value="563")]
    assert "cn_mismatch" not in codes(check_report(report(*rows)))


def test_ratio_outside_the_material():
    found = only(check_report(report(dry("C", 0.45), dry("N", 0.03)), "straw-wheat"), "cn_out_of_range")
    assert found.severity == "warning"
    assert "15" in found.text


def test_mineral_nitrogen_above_total():
    wrong = report(dry("N", 0.02), dry("NH4_N", 0.015), dry("NO3_N", 0.02))
    assert only(check_report(wrong), "mineral_n_above_total").severity == "warning"
    kjeldahl = report(dry("N", 0.02, method="TKN"), dry("NH4_N", 0.015), dry("NO3_N", 0.02))
    assert "mineral_n_above_total" not in codes(check_report(kjeldahl))


def test_sums_above_all():
    assert "sum_above_100" in codes(check_report(report(dry("C", 0.55), dry("N", 0.3), dry("Ca", 0.3))))
    assert "sum_above_100" not in codes(check_report(report(dry("C", 0.5), dry("N", 0.03), dry("Ca", 0.3))))
    assert only(check_report(report(dry("K", 1.3))), "sum_above_100").severity == "stop"
    solids = report(wet("moisture", 0.6), wet("ash", 0.2), D("organic_matter", "none", 0.8, "as_received"))
    assert "sum_above_100" in codes(check_report(solids))


@pytest.mark.parametrize(("ph", "severity"), [(56.0, "stop"), (-1.0, "stop"), (2.0, "warning"), (6.5, None)])
def test_ph_scale(ph: float, severity: str | None):
    found = check_report(report(bare("pH", ph)))
    assert [one.severity for one in found] == ([] if severity is None else [severity])
    if ph == 56.0:
        assert "5.6" in found[0].proposal


def test_phosphorus_above_bone_mineral():
    # North Carolina and Texas tables head bone meal "P" 22 to 28 %: oxide under an element's name.
    found = only(check_report(report(dry("P", 0.25))), "p_above_bone")
    assert found.severity == "stop"
    assert "10.91 %" in found.proposal
    assert "p_above_bone" not in codes(check_report(report(dry("P", 0.13))))


def test_oxides_above_ash():
    assert "oxides_above_ash" in codes(check_report(report(dry("ash", 0.02), dry("K", 0.04))))
    assert "oxides_above_ash" not in codes(check_report(report(dry("ash", 0.06), dry("K", 0.04))))


def test_protein_and_nitrogen():
    assert "protein_nitrogen" not in codes(check_report(report(dry("protein", 0.1034), dry("N", 0.0165))))
    assert "protein_nitrogen" in codes(check_report(report(dry("protein", 0.1034), dry("N", 0.0228))))


def test_replicates():
    apart = report(dry("N", 0.02, replicates=(0.017, 0.023)))
    assert only(check_report(apart), "replicates_disagree").severity == "warning"
    assert check_report(report(dry("N", 0.02, replicates=(0.0195, 0.0205)))) == ()


def test_impossible_values():
    assert "outside_published_range" in codes(check_report(report(bare("EC", 370.0))))
    assert "outside_published_range" in codes(check_report(report(D("bulk_density", "none", 2.0, "as_received"))))


def test_unexplained_value_is_a_note():
    found = only(check_report(report(dry("C", 0.30)), "coffee-spent"), "outside_published_range")
    assert found.severity == "note"


def test_soil_is_not_held_against_materials():
    soil = LabReport("soil.csv", subject="soil", determinations=(dry("N", 0.002), dry("ash", 0.95)))
    assert check_report(soil, "coffee-spent") == ()


def test_every_finding_has_evidence_and_known_sources():
    from loamery.reference import sources

    samples = [potassium(0.3), report(dry("P", 0.25), dry("ash", 0.1), dry("organic_matter", 0.5), bare("pH", 56.0))]
    samples.append(report(dry("N", 2.05e-6), bare("CN", 1.8), dry("C", 0.2), dry("protein", 0.3)))
    for sample in samples:
        for one in check_report(sample, "coffee-spent"):
            assert one.because and one.text.endswith(".")
            assert one.sources and set(one.sources) <= set(sources()), one


def test_faults_planted_in_the_demo_garden_are_caught():
    grain = check_report(report(dry("N", 4.1e-6), wet("moisture", 0.76)), "brewers-grain")
    assert "4.1 %" in only(grain, "unit_slip").proposal
    grass = check_report(report(dry("P", 0.0092), dry("K", 0.029), dry("N", 0.036)), "grass-clippings")
    assert "0.4015 %" in only(grass, "oxide_as_element").proposal
    rows = [dry("N", 0.015), wet("N", 0.00495), dry("P", 0.003), wet("P", 0.00099), dry("K", 0.0045), wet("K", 0.0045)]
    manure = check_report(report(*rows, wet("moisture", 0.67)), "manure-horse-straw")
    pair = only(manure, "wet_dry_disagree")
    assert pair.about == "K"
    assert "33.0 %" in pair.proposal and "K 1.364 % dry" in pair.proposal
