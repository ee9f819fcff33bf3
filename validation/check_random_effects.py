"""Random-effects combination against a published meta-analysis and against statsmodels.

Published case: the 13 BCG vaccine trials (Colditz et al. 1994). The test suite of the R package metafor compares them
with Stata: equal-effects estimate -0.4303, Q 152.2330, DerSimonian-Laird estimate -0.7141 (read in the stored test
file); REML 0.3132 and Paule-Mandel 0.3181 for tau squared are recalled from its documentation. The counts are typed
from memory; that they are right is shown by Q and the equal-effects estimate.

Second case: nine laboratories' means of one material with their variances, as used in the documentation of
statsmodels (typed from memory; statsmodels computes the answer here, so only agreement counts).
"""

import numpy as np
import pytest

from loamery.lab.random_effects import paule_mandel, pool, reml

BCG = np.array(
    [
        (4, 119, 11, 128),
        (6, 300, 29, 274),
        (3, 228, 11, 209),
        (62, 13536, 248, 12619),
        (33, 5036, 47, 5761),
        (180, 1361, 372, 1079),
        (8, 2537, 10, 619),
        (505, 87886, 499, 87892),
        (29, 7470, 45, 7232),
        (17, 1699, 65, 1600),
        (186, 50448, 141, 27197),
        (5, 2493, 3, 2338),
        (27, 16886, 29, 17825),
    ],
    dtype=float,
)
LABS = (
    np.array([61.00, 61.40, 62.21, 62.30, 62.34, 62.60, 62.70, 62.84, 65.90]),
    np.array([0.2025, 1.2100, 0.0900, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225]),
)


def log_risk_ratios() -> tuple[np.ndarray, np.ndarray]:
    a, b, c, d = BCG.T
    return np.log(a / (a + b)) - np.log(c / (c + d)), 1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)


def der_simonian_laird(y: np.ndarray, v: np.ndarray) -> float:
    w = 1 / v
    mean = np.sum(w * y) / np.sum(w)
    return float((np.sum(w * (y - mean) ** 2) - (len(y) - 1)) / (np.sum(w) - np.sum(w**2) / np.sum(w)))


def estimates() -> list[tuple[str, float, float, str]]:
    y, v = log_risk_ratios()
    common = pool(list(y), list(v), 0.0, None).mean
    q = float(np.sum((y - common) ** 2 / v))
    return [
        ("equal effects", -0.4303, common, "read"),
        ("Q", 152.2330, q, "read"),
        ("DerSimonian-Laird mean", -0.7141, pool(list(y), list(v), der_simonian_laird(y, v), None).mean, "read"),
        ("REML tau²", 0.3132, reml(list(y), list(v)), "recalled"),
        ("Paule-Mandel tau²", 0.3181, paule_mandel(list(y), list(v)), "recalled"),
    ]


@pytest.mark.parametrize(("what", "printed", "ours", "read"), estimates())
def test_bcg(what: str, printed: float, ours: float, read: str):
    assert ours == pytest.approx(printed, abs=5e-5), what


@pytest.mark.parametrize("case", [log_risk_ratios(), LABS], ids=["BCG", "nine laboratories"])
def test_agrees_with_statsmodels(case: tuple[np.ndarray, np.ndarray]):
    from statsmodels.stats.meta_analysis import combine_effects

    y, v = case
    theirs = combine_effects(y, v, method_re="iterated", atol=1e-14)
    tau2 = paule_mandel(list(y), list(v))
    ours = pool(list(y), list(v), tau2, None)
    assert tau2 == pytest.approx(float(theirs.tau2), rel=1e-6)
    assert ours.mean == pytest.approx(float(theirs.mean_effect_re), rel=1e-8)
    assert ours.variance == pytest.approx(float(theirs.var_eff_w_re), rel=1e-6)


def test_print_the_table(capsys: pytest.CaptureFixture[str]):
    with capsys.disabled():
        print("\nBCG trials: published beside ours")
        for what, printed, ours, read in estimates():
            print(f"  {what:24s} {printed:10.4f} {ours:10.4f}  ({read})")
