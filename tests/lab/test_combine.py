"""Reports and published ranges into one composition: it narrows, covers, keeps together what belongs together."""

import math
import time
from itertools import pairwise

import numpy as np
import pytest

from loamery.errors import UnknownName
from loamery.garden.report import Determination, LabReport
from loamery.lab.combine import ALWAYS, compose
from loamery.lab.published import kinds, own_published
from loamery.lab.random_effects import load_variance
from loamery.reference import sources
from loamery.uncertain import Uncertain, to_scale

D = Determination
KIND = "coffee-spent"


def report(name: str, *rows: Determination, **more: object) -> LabReport:
    return LabReport(name, invented=True, determinations=rows, **more)  # type: ignore[arg-type]


def nitrogen(name: str, value: float = 0.02, **more: object) -> LabReport:
    return report(name, D("N", "total", value, "dry", **more))  # type: ignore[arg-type]


def width(kind: str, key: str, reports: list[LabReport], **more: object) -> float:
    made = compose(kind, reports, **more)[key].distribution  # type: ignore[arg-type]
    return made.quantile(1.645) / made.quantile(-1.645)


def test_no_report_gives_the_published_ranges_and_says_so():
    made = compose(KIND, [])
    assert [one.code for one in made.findings] == ["published_only"]
    assert made.findings[0].severity == "note"
    assert {one.origin for one in made.estimates.values()} <= {"published", "derived"}
    known = own_published(KIND, "N").distribution
    assert made["N"].distribution.mu == pytest.approx(known.mu, rel=1e-12)
    assert made["N"].distribution.sigma == pytest.approx(known.sigma, rel=1e-12)


def test_every_material_gets_the_quantities_the_models_need():
    for kind in kinds():
        made = compose(kind, [])
        for key in (*ALWAYS, "C", "CN", "organic_matter"):
            drawn = made.draws(key)
            assert drawn.shape == (1000,) and np.all(np.isfinite(drawn)), (kind, key)
            assert np.all(drawn > 0) or key == "pH", (kind, key)


def test_band_shrinks_as_agreeing_reports_arrive():
    reports = [nitrogen(f"lab {number}", value) for number, value in enumerate((0.0199, 0.0201, 0.02, 0.0198, 0.0202))]
    widths = [width(KIND, "N", reports[:count]) for count in range(6)]
    assert all(later < earlier for earlier, later in pairwise(widths)), widths
    assert widths[1] < 0.75 * widths[0]


def test_reports_do_not_erase_the_published_spread_between_loads():
    many = [nitrogen(f"lab {number}", 0.02) for number in range(40)]
    known = own_published(KIND, "N").distribution.sigma
    assert compose(KIND, many)["N"].distribution.sigma > 0.1 * known


def test_measured_carbon_narrows_carbon_and_the_ratio():
    both = [report("lab", D("C", "none", 0.49, "dry"), D("N", "total", 0.021, "dry"))]
    assert width(KIND, "C", both) < width(KIND, "C", [])
    assert width(KIND, "CN", both) < width(KIND, "CN", [])


def test_median_lies_between_report_and_publication():
    low, high = sorted((own_published(KIND, "N").distribution.median, 0.03))
    made = compose(KIND, [nitrogen("lab", 0.03)])["N"]
    assert low < made.median < high
    assert made.origin == "measured and published"
    assert made.median > 0.5 * (low + high)


def test_exact_weights_of_one_report():
    # One sample: weight omega2/(omega2 + v + tau2) with tau2 a quarter of the published variance.
    known = own_published(KIND, "N").distribution
    made = compose(KIND, [nitrogen("lab", 0.03, sd=0.0015)])["N"].distribution
    tau2, omega2 = 0.25 * known.sigma**2, 0.75 * known.sigma**2
    v = math.log1p(0.05**2)
    weight = omega2 / (omega2 + v + tau2)
    assert made.mu == pytest.approx(known.mu + weight * (math.log(0.03) - known.mu), rel=1e-9)
    assert made.sigma**2 == pytest.approx(omega2 * (1 - weight) + load_variance(tau2, 1), rel=1e-9)


def test_draws_follow_the_distribution():
    made = compose(KIND, [nitrogen("lab")], n=20000)["N"]
    logs = np.log(made.draws)
    assert float(np.mean(logs)) == pytest.approx(made.distribution.mu, abs=0.01)
    assert float(np.std(logs)) == pytest.approx(made.distribution.sigma, rel=0.03)


def coverage(reports_each: int, materials: int = 500) -> float:
    rng = np.random.default_rng(20261125)
    known = own_published(KIND, "N").distribution
    tau, omega = 0.5 * known.sigma, math.sqrt(0.75) * known.sigma
    error = 0.06
    held = 0
    for number in range(materials):
        mean = rng.normal(known.mu, omega)
        seen = np.exp(rng.normal(mean, tau, reports_each) + rng.normal(0, error, reports_each))
        reports = [nitrogen(f"lab {i}", float(value), sd=float(value) * error) for i, value in enumerate(seen)]
        truth = math.exp(rng.normal(mean, tau))
        low, high = np.quantile(compose(KIND, reports, seed=number, n=400).draws("N"), [0.05, 0.95])
        held += int(low <= truth <= high)
    return held / materials


@pytest.mark.parametrize("reports_each", [0, 1, 2, 5])
def test_bands_hold_the_truth(reports_each: int):
    assert 0.85 <= coverage(reports_each) <= 0.95


def test_same_seed_same_draws_whatever_the_order():
    reports = [nitrogen("b", 0.021), nitrogen("a", 0.019), nitrogen("c", 0.02)]
    first, second = compose(KIND, reports, seed=7), compose(KIND, reports[::-1], seed=7)
    for key in first.estimates:
        assert np.array_equal(first.draws(key), second.draws(key)), key
    assert not np.array_equal(first.draws("N"), compose(KIND, reports, seed=8).draws("N"))


def test_one_quantity_s_draws_do_not_depend_on_the_others():
    alone = compose(KIND, [nitrogen("a")])
    more = compose(KIND, [report("a", D("N", "total", 0.02, "dry"), D("K", "total", 0.005, "dry"))])
    assert np.array_equal(alone.draws("N"), more.draws("N"))


def wet_report(moisture_sd: float) -> LabReport:
    rows = [D(key, "total", value, "as_received", sd=value * 1e-4) for key, value in (("P", 0.0005), ("Mg", 0.0005))]
    return report("wet", *rows, D("moisture", "none", 0.62, "as_received", sd=moisture_sd))


def test_figures_of_one_sample_share_its_moisture():
    loose = compose(KIND, [wet_report(0.06)], n=20000)
    sharp = compose(KIND, [wet_report(1e-5)], n=20000)

    def together(made: object) -> float:
        return float(np.corrcoef(np.log(made.draws("P")), np.log(made.draws("Mg")))[0, 1])  # type: ignore[attr-defined]

    assert abs(together(sharp)) < 0.03
    assert together(loose) > 0.10


def test_uncertain_moisture_widens_what_was_converted_with_it():
    assert width(KIND, "P", [wet_report(0.06)]) > width(KIND, "P", [wet_report(0.001)])


def test_as_received_report_means_the_same_as_its_dry_form():
    share = 0.38
    wet = report(
        "lab", D("N", "total", 0.02 * share, "as_received"), D("moisture", "none", 1 - share, "as_received", sd=1e-6)
    )
    dry = report("lab", D("N", "total", 0.02, "dry"), D("moisture", "none", 1 - share, "as_received", sd=1e-6))
    assert compose(KIND, [wet])["N"].median == pytest.approx(compose(KIND, [dry])["N"].median, rel=1e-3)


@pytest.mark.parametrize("kind", ["coffee-spent", "wood-ash", "biochar", "compost-finished", "leaves-mixed"])
def test_parts_stay_coherent_in_every_draw(kind: str):
    rows = [D("ash", "none", 0.3, "dry"), D("P", "total", 0.002, "dry"), D("P", "extractable", 0.0021, "dry")]
    for reports in ([], [report("lab", *rows)]):
        made = compose(kind, reports)
        assert np.allclose(made.draws("ash") + made.draws("organic_matter"), 1.0, atol=1e-12)
        assert np.allclose(made.draws("CN"), made.draws("C") / made.draws("N"), rtol=1e-12)
        book = own_published(kind, "C").distribution.median / own_published(kind, "organic_matter").distribution.median
        ceiling = 0.95 if kind == "biochar" else max(0.58, 1.2 * book)
        assert np.all(made.draws("C") <= ceiling * made.draws("organic_matter"))
        if reports:
            assert np.all(made.draws("P:extractable") <= made.draws("P"))


def test_carbon_follows_measured_organic_matter():
    rich = compose("compost-finished", [report("lab", D("organic_matter", "none", 0.7, "dry"))])
    poor = compose("compost-finished", [report("lab", D("organic_matter", "none", 0.25, "dry"))])
    assert rich.median("C") > 1.5 * poor.median("C")
    assert rich["C"].origin == "derived"


def test_ratio_and_nitrogen_give_carbon():
    made = compose(KIND, [report("lab", D("N", "total", 0.02, "dry"), D("CN", "none", 25.0, "none"))])
    assert made["C"].origin == "measured and published"
    assert made.median("C") == pytest.approx(0.49, rel=0.03)


def censored(name: str, limit: float) -> LabReport:
    return report(name, D("Cd", "total", None, "dry", censored="below", limit=limit))


def test_non_detect_moves_the_estimate_down_and_keeps_the_limit():
    before = compose("leaves-mixed", [])
    after = compose("leaves-mixed", [censored("lab", 2e-7)])
    assert after.median("Cd") < 0.5 * before.median("Cd")
    assert after["Cd"].detection_limit == pytest.approx(2e-7)
    high = compose("leaves-mixed", [censored("lab", 1e-3)])
    assert high.median("Cd") == pytest.approx(before.median("Cd"), rel=0.1)


def test_non_detect_alone_is_an_even_interval():
    rows = D("CrVI", "total", None, "dry", censored="below", limit=1e-6)
    made = compose("leaves-mixed", [report("lab", rows)], n=20000)["CrVI"]
    share = np.histogram(made.draws, bins=10, range=(0, 1e-6))[0] / 20000
    assert np.all(np.abs(share - 0.1) < 0.01)
    assert "between 0" in made.equation


def test_many_reports_with_non_detects_find_the_truth():
    rng = np.random.default_rng(3)
    values = np.exp(rng.normal(math.log(5e-7), 0.3, 12))
    reports = [
        report(f"lab {i}", D("Cd", "total", float(v), "dry", sd=float(v) * 0.1))
        if v > 4.5e-7
        else censored(f"lab {i}", 4.5e-7)
        for i, v in enumerate(values)
    ]
    assert 2 < sum(one.determinations[0].censored == "below" for one in reports) < 9
    made = compose("leaves-mixed", reports)
    assert made.median("Cd") == pytest.approx(5e-7, rel=0.25)


def test_reports_far_apart_are_said_to_disagree():
    codes = [one.code for one in compose(KIND, [nitrogen("a", 0.01), nitrogen("b", 0.04)]).findings]
    assert "reports_disagree" in codes
    assert "reports_disagree" not in [
        one.code for one in compose(KIND, [nitrogen("a", 0.019), nitrogen("b", 0.021)]).findings
    ]


def test_basis_not_stated_is_left_out_and_said():
    made = compose(KIND, [report("a", D("N", "total", 0.05, "not_stated"))])
    assert made["N"].origin == "published"
    assert "basis_not_stated" in [one.code for one in made.findings]


def test_figure_off_by_a_power_of_ten_is_neither_used_nor_corrected():
    made = compose(KIND, [report("a", D("N", "total", 2.05e-6, "dry"), D("P", "total", 0.0015, "dry"))])
    assert made["N"].origin == "published" and made["P"].origin == "measured and published"
    found = next(one for one in made.findings if one.code == "set_aside")
    assert found.about == "N" and "0.000205 %" in found.because
    assert made.median("N") == pytest.approx(own_published(KIND, "N").distribution.median, rel=0.05)


def test_lead_a_hundred_times_the_usual_is_never_set_aside():
    made = compose("leaves-mixed", [report("a", D("Pb", "total", 2000e-6, "dry"))])
    assert made["Pb"].origin == "measured and published"
    assert "set_aside" not in [one.code for one in made.findings]
    assert made.median("Pb") > 500e-6


@pytest.mark.parametrize("row", [D("K", "total", 1.3, "dry"), D("P", "total", 0.25, "dry")])
def test_impossible_figure_is_set_aside(row: Determination):
    made = compose("bone-meal-raw", [report("a", row)])
    assert made[row.quantity].origin == "published"
    assert "set_aside" in [one.code for one in made.findings]


def test_soil_report_is_left_out():
    made = compose(KIND, [report("soil", D("N", "total", 0.001, "dry"), subject="soil")])
    assert made["N"].origin == "published"
    assert "soil_report_left_out" in [one.code for one in made.findings]


def test_conductivity_of_another_extract_is_not_pulled_to_the_published_one():
    paste = report("a", D("EC", "none", 0.37, "none", method="saturated paste"))
    plain = report("a", D("EC", "none", 0.37, "none", method="1:5 water"))
    assert compose(KIND, [paste])["EC"].origin == "measured"
    assert compose(KIND, [plain])["EC"].origin == "measured and published"


def test_every_estimate_can_be_followed():
    made = compose(KIND, [wet_report(0.01), nitrogen("a")])
    known = set(sources())
    for one in made.estimates.values():
        assert one.equation and one.inputs and set(one.sources) <= known, one.key


def test_unknown_material():
    with pytest.raises(UnknownName, match="tofu"):
        compose("tofu", [])


def test_scales_are_those_of_the_glossary():
    made = compose(KIND, [])
    assert isinstance(made["moisture"].distribution, Uncertain)
    assert made["moisture"].distribution.kind == "logit"
    assert made["moisture"].basis == "as_received" and made["N"].basis == "dry" and made["pH"].basis == "none"
    assert float(to_scale("logit", made["moisture"].median)) == pytest.approx(made["moisture"].distribution.mu)


def test_fast_enough():
    reports = [nitrogen(f"lab {i}") for i in range(5)] + [wet_report(0.01), censored("nd", 1e-6)]
    compose(KIND, reports)
    start = time.perf_counter()
    for _ in range(10):
        compose(KIND, reports)
    assert (time.perf_counter() - start) / 10 < 0.05
