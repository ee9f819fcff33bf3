"""Water and warmth of a bed against FAO Irrigation and Drainage Paper 56 and textbook solutions.

The worked examples of FAO-56 were read as they stand in the unit tests of an open evapotranspiration library (examples 2, 3, 8,
15, 17, 18; marked read); example 20 is recalled; Table 2.6 was read as encoded in two open programs. Run-off: the curve number method,
worked examples of a homework page (CN 80) and of Ponce's online TR-55 (example 5-9, PONCE-CN), both read. Soil temperature: Ochsner, Rain or Shine, chapter 13.4 (read). Leaching: Burns
1975 (variables read, form recalled, figures computed by hand) and the mixing law. Run ``python validation/check_bed_water.py`` for the table.
"""

from __future__ import annotations

import numpy as np
import pytest

from loamery.bed.warm import damping_depth, follow, soil_wave
from loamery.bed.water import (
    bucket_day,
    burns_share,
    curve_number,
    hargreaves,
    leached_share,
    net_radiation,
    penman_monteith,
    run_off,
    sun_above_air,
    sun_from_span,
    vapour_pressure,
)

pytestmark = pytest.mark.usefixtures("table")

DAY_S = 86400.0
UCCLE = {
    "low_c": 12.3,
    "high_c": 21.5,
    "vapour_kpa": 1.409,
    "sun_mj_m2": 22.07,
    "above_mj_m2": 41.09,
    "height_m": 100.0,
}
BANGKOK = {"low_c": 25.6, "high_c": 34.8, "vapour_kpa": 2.85, "sun_mj_m2": 22.65, "above_mj_m2": 38.06, "height_m": 2.0}
LYON_ABOVE = float(sun_above_air(45.72, 196))


IN_MM = 25.4
MID_MONTH = (15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349)
TABLE_26 = {
    0: (36.2, 37.5, 37.9, 36.8, 34.8, 33.4, 33.9, 35.7, 37.2, 37.4, 36.3, 35.6),
    20: (26.8, 30.6, 34.7, 37.9, 39.3, 39.5, 39.3, 38.3, 35.8, 31.8, 27.7, 25.6),
    40: (15.0, 20.4, 27.2, 34.7, 39.7, 41.9, 40.8, 36.7, 30.0, 22.5, 16.3, 13.6),
    50: (8.9, 14.4, 22.2, 31.5, 38.5, 41.7, 40.2, 34.4, 25.7, 16.9, 10.2, 7.5),
    60: (3.3, 8.3, 16.6, 27.5, 36.5, 41.2, 39.2, 31.3, 20.6, 10.9, 4.4, 2.2),
}
"""FAO-56, Annex 2, Table 2.6: sun above the air in the middle of each month by latitude north, MJ per m2 and day."""


def retention_mm(number: float) -> float:
    """Return the retention of a curve number, S of NEH 630, eq. 10-13."""
    return 25400.0 / number - 254.0


def table_26(latitude: int) -> float:
    """Return by how much ours differs from a row of Table 2.6 at most, MJ per m2 and day."""
    return float(np.abs(sun_above_air(latitude, MID_MONTH) - np.array(TABLE_26[latitude])).max())


def lyon_sun() -> float:
    return float(sun_from_span(14.8, 26.6, LYON_ABOVE))


def lyon_penman() -> float:
    vapour = float(vapour_pressure(14.8))
    return float(penman_monteith(14.8, 26.6, vapour, 2.0, lyon_sun(), LYON_ABOVE, 200.0))


ROWS: list[tuple[str, float, float, float, str]] = [
    # what, printed, ours, half of the last printed digit (or a stated tolerance), read or recalled
    ("Sun above the air, 20 S, 3 Sept, MJ/m2/day (ex. 8)", 32.2, float(sun_above_air(-20.0, 246)), 0.05, "read"),
    *((f"FAO-56 Table 2.6, {one} N: most by which any month differs", 0.0, table_26(one), 0.11 if one < 60 else 0.21, "read") for one in TABLE_26),
    ("Run-off of 8 in on curve number 80, in", 5.625, float(run_off(8.0 * IN_MM, 80.0)) / IN_MM, 0.0005, "read"),
    ("First loss over 9 cm of rain on curve number 74 (Ponce, 5-9)", 0.198, 0.2 * retention_mm(74.0) / 90.0, 0.0005, "read"),
    ("Run-off of 6 in on curve number 75, in (TR-55 formula)", 3.28, float(run_off(6.0 * IN_MM, 75.0)) / IN_MM, 0.005, "recalled"),
    ("Curve number of rows on a soil of group B, 15 % clay", 78.0, float(curve_number(0.15, 0.0)), 0.05, "read"),
    ("  the same under a full litter (woods, good)", 55.0, float(curve_number(0.15, 1.0)), 0.05, "recalled"),
    ("Saturation pressure, mean of 15 and 24.5 C, kPa (ex. 3)", 2.39, float(np.mean(vapour_pressure([15.0, 24.5]))), 0.005, "read"),
    ("Vapour pressure at dew point 14.8 C, kPa (ex. 20)", 1.68, float(vapour_pressure(14.8)), 0.005, "read"),
    ("Sun at the ground, Lyon, MJ/m2/day (ex. 15)", 22.3, lyon_sun(), 0.1, "read"),
    ("Net radiation, Uccle, MJ/m2/day (ex. 18)", 13.28, float(net_radiation(**UCCLE)), 0.05, "read"),
    ("Penman-Monteith, Uccle, 6 July, mm/day (ex. 18)", 3.9, float(penman_monteith(**UCCLE, wind_m_s=2.078)), 0.05, "read"),
    ("Net radiation, Bangkok, MJ/m2/day (ex. 17)", 14.33, float(net_radiation(**BANGKOK)), 0.05, "read"),
    ("Penman-Monteith, Bangkok, April, mm/day (ex. 17)", 5.72, float(penman_monteith(**BANGKOK, wind_m_s=2.0, ground_mj_m2=0.14)), 0.02, "read"),
    ("Penman-Monteith, Lyon, July, mm/day (ex. 20)", 4.56, lyon_penman(), 0.02, "recalled"),
    ("Hargreaves, Lyon, July, mm/day (ex. 20)", 5.0, float(hargreaves(14.8, 26.6, LYON_ABOVE)), 0.05, "recalled"),
    ("Damping depth of a day, D 0.5e-6 m2/s, cm (Ochsner)", 11.7, 100 * float(damping_depth(0.5e-6, DAY_S)), 0.05, "read"),
    ("Swing of 7 K at the surface, at 10 cm, K (Ochsner)", 3.0, 7.0 * float(np.exp(-0.10 / damping_depth(0.5e-6, DAY_S))), 0.05, "read"),
    ("Annual over daily damping depth (Ochsner)", 19.1, float(damping_depth(1.0, 365.0) / damping_depth(1.0, 1.0)), 0.05, "read"),
    ("Leached of surface nitrate, P 20 cm, Vm 25 %, h 30 cm (Burns)", 0.689, float(burns_share(20.0, 0.25, 30.0)), 0.0005, "computed"),
    ("The same by Scotter's rewriting exp(-z theta / I)", 0.687, float(np.exp(-30.0 * 0.25 / 20.0)), 0.0005, "computed"),
]  # fmt: skip


@pytest.mark.parametrize("row", ROWS, ids=[row[0] for row in ROWS])
def test_a_published_figure(row: tuple[str, float, float, float, str]) -> None:
    _, printed, ours, tolerance, _ = row
    assert ours == pytest.approx(printed, abs=tolerance)


def test_the_filter_follows_the_exact_wave_of_a_year() -> None:
    """A soil that closes 1 - exp(-1/5) of its distance each day lags 5 days and keeps 99.6 % of a year's swing (computed)."""
    days = np.arange(3 * 365)
    air = 10.0 * np.sin(2.0 * np.pi * days / 365.0)
    soil = np.zeros(days.size)
    for day in range(1, days.size):
        soil[day] = float(follow(soil[day - 1], air[day], 5.0))
    year = soil[-365:]
    assert year.max() == pytest.approx(9.96, abs=0.03)
    assert int(np.argmax(year)) - int(np.argmax(air[-365:])) in (4, 5)


def test_at_ten_centimetres_the_filter_and_the_wave_of_a_loam_agree() -> None:
    """At 10 cm, D 0.2 to 0.7e-6 m2/s, a year's wave is damped to 0.93 to 0.96 and lags 2.2 to 4.1 days."""
    at = np.arange(365) * DAY_S
    for diffusivity, lag in ((0.2e-6, 4.1), (0.7e-6, 2.2)):
        deep = soil_wave(0.10, at, 0.0, 10.0, diffusivity, 365 * DAY_S)
        assert deep.max() / 10.0 == pytest.approx(np.exp(-0.10 / damping_depth(diffusivity, 365 * DAY_S)), rel=1e-4)
        assert 365 / (2 * np.pi) * 0.10 / float(damping_depth(diffusivity, 365 * DAY_S)) == pytest.approx(lag, abs=0.05)


def test_bucket_figures() -> None:
    """FAO-56 eq. 82 to 84 (recalled): 0.28, 0.12, 0.7 m, p 0.4 give TAW 112 and RAW 44.8 mm; stress halves ET halfway."""
    total, readily = 1000 * (0.28 - 0.12) * 0.7, 0.4 * 1000 * (0.28 - 0.12) * 0.7
    assert (total, readily) == pytest.approx((112.0, 44.8))
    half = bucket_day(0.5 * (total + readily), 0.0, 6.0, total, readily, 0.0)
    assert float(half.used) == pytest.approx(3.0)


def test_rain_below_the_first_loss_does_not_run_off_and_no_more_runs_off_than_fell() -> None:
    rain = np.array([0.0, 5.0, 14.0, 40.0, 500.0])
    lost = run_off(rain, 78.0)
    assert np.all(lost[:3] == 0.0) and lost[3] > 0.0
    assert np.all(lost <= rain)
    assert float(run_off(40.0, curve_number(0.35, 1.0))) < 0.5 * float(run_off(40.0, curve_number(0.35, 0.0)))


def test_leaching_of_one_storm() -> None:
    """84 mm held, 25 mm of rain on a full soil less 4 mm used: 21 mm drain; 6 g N/m2 lose 1.2 to 1.33 g (computed)."""
    day = bucket_day(4.0, 25.0, 0.0, 1e6, 1e6, 0.0)
    share = float(leached_share(day.drained, 84.0))
    assert float(day.drained) == pytest.approx(21.0)
    assert pytest.approx(0.2) == 21.0 / (21.0 + 84.0)
    assert 6.0 * share == pytest.approx(1.33, abs=0.01)


def test_a_season_lies_between_burns_and_mixing() -> None:
    """100 mm through 84 mm of soil water: Burns 0.43, full mixing 0.70; our default stands between."""
    from loamery.bed.parameters import bed_parameters

    ours = float(leached_share(100.0, 84.0, bed_parameters(1)["bed_leach_efficiency"][0]))
    assert 0.43 < ours < 0.70


def main() -> None:
    """Print the published figures beside ours."""
    print(f"{'Water and warmth':66s} {'printed':>8s} {'ours':>8s}  read")
    for what, printed, ours, _, read in ROWS:
        print(f"{what:66s} {printed:8.3g} {ours:8.4g}  {read}")


if __name__ == "__main__":
    main()
