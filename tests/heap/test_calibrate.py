"""Calibration: readings made by the model itself with other numbers, few, noisy and wrong ones; files of readings."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from loamery.errors import InputError, UnreadableFile, Where
from loamery.heap.calibrate import FITTED, Calibration, calibrate
from loamery.heap.forecast import CELLS, depths_m
from loamery.heap.model import simulate
from loamery.heap.parameters import heap_parameters
from loamery.heap.readings import Reading, out_of_order, read_readings, typed_readings
from tests.heap.gardenstuff import MILD, START, plan

TRUTH = {"k_fast": 0.32, "activity_fresh": 0.02}


def made(noise_k: float = 1.5, days: tuple[int, ...] = (2, 4, 6, 8, 11, 14, 18, 23, 30)) -> list[Reading]:
    """Return readings of a heap that is not the default one."""
    heap = plan()
    run = simulate(heap.spec(heap.middle, MILD.weather(START, 40), TRUTH), 40, CELLS)
    depth, rng, out = depths_m(run.spec, CELLS), np.random.default_rng(3), []
    for day in days:
        for at in (0.15, 0.4):
            column = np.array([np.interp(day + 0.5, run.day, run.temp_c[:, c]) for c in range(CELLS)])
            temp = float(np.interp(at, depth[::-1], column[::-1]) + rng.normal(0.0, noise_k))
            out.append(Reading(START + timedelta(days=day), day + 0.5, at, temp, Where()))
    return out


@cache
def good() -> Calibration:
    """Return what the good readings tell, worked out once."""
    return calibrate(plan(), made(), MILD)


def wrong(temp_c: float = 5.0) -> Reading:
    return Reading(START + timedelta(days=9), 9.5, 0.4, temp_c, Where())


def test_good_readings_bring_the_course_nearer_and_the_band_over_the_truth() -> None:
    found = good()
    assert found.misfit_after < 0.7 * found.misfit_before
    assert found.misfit_after < 4.0
    moved = {one.name: one for one in found.moved}
    for name, truth in TRUTH.items():
        band = moved[name].after
        assert band.low < truth < band.high or abs(np.log(band.median / truth)) < 0.5
    k = moved["k_fast"]
    assert np.log(k.after.high / k.after.low) < np.log(k.before.high / k.before.low)
    assert len(found.words) >= 2


def test_a_wrong_reading_counts_little_and_is_named() -> None:
    found = calibrate(plan(), [*made(), wrong()], MILD)
    assert [one.temp_c for one in found.doubted] == [5.0]
    assert any("does not fit" in line for line in found.words)
    assert found.weights[-1] < 0.2 < np.median(found.weights)
    for name in FITTED:
        assert abs(np.log(found.values[name] / good().values[name])) < 0.35


def test_what_readings_tell_never_widens_what_was_known() -> None:
    # in no direction, not only number by number: the spread known before less the spread left has no negative part
    left = np.linalg.eigvalsh(good().scores_cov)
    assert left.min() > 0.0 and left.max() <= 1.0 + 1e-9
    assert left.min() < 0.7


def test_one_reading_leaves_the_published_ranges_nearly_as_they_were() -> None:
    one = made(0.0, (6,))[:1]
    found = calibrate(plan(), one, MILD)
    assert np.sqrt(np.diag(found.scores_cov)).max() <= 1.0 + 1e-9
    assert np.abs(found.scores_mean).max() < 1.5


def test_noise_without_sense_moves_no_number_out_of_its_range() -> None:
    rng = np.random.default_rng(1)
    silly = [
        Reading(START + timedelta(days=d), d + 0.5, 0.3, float(rng.uniform(-5, 90)), Where()) for d in range(1, 20)
    ]
    found = calibrate(plan(), silly, MILD)
    for name in FITTED:
        known = heap_parameters()[name]
        spread = known.high / known.low
        assert known.low / spread <= found.values[name] <= known.high * spread
    assert np.isfinite(found.scores_cov).all()


def test_readings_that_fit_nothing_are_said_to() -> None:
    found = calibrate(plan(), [wrong(100.0)], MILD)
    assert "none fits" in found.words[0] and not any("nan" in line for line in found.words)


def test_draws_follow_the_posterior() -> None:
    found = good()
    draws = [one["k_fast"] for one in found.draws(150, 1)]
    band = next(one.after for one in found.moved if one.name == "k_fast")
    assert np.median(draws) == pytest.approx(band.median, rel=0.15)
    assert all("k_slow" in one and "gas_d0" in one for one in found.draws(3, 1))


def test_a_file_of_readings(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text("date;depth_cm;temp_c\n2027-05-09;40;58,5\n2027-05-03;;31\n\n", encoding="utf-8")
    one, two = read_readings(path, START)
    assert (one.on, one.depth_m, one.temp_c) == (date(2027, 5, 3), None, 31.0)
    assert (two.day, two.depth_m, two.temp_c) == (8.5, pytest.approx(0.4), 58.5)
    path.write_text("date,depth_in,temp_f\n2027-05-09,10,131\n", encoding="utf-8")
    (only,) = read_readings(path, START)
    assert (only.depth_m, only.temp_c) == (pytest.approx(0.254), pytest.approx(55.0))
    (typed,) = typed_readings(["2027-05-09,40,58"], START)
    assert typed.temp_c == 58.0


def test_readings_out_of_order_are_named(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text("date,temp_c\n2027-05-03,31\n2027-05-12,50\n2027-05-05,44\n2027-05-14,52\n", encoding="utf-8")
    found = read_readings(path, START)
    assert [one.day for one in found] == sorted(one.day for one in found)
    assert [(one.on.day, one.where.row) for one in out_of_order(found)] == [(5, 4)]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "empty"),
        ("when,temp_c\n", "date, depth_cm"),
        ("date,depth_cm,temp_c\n", "no readings"),
        ("date,depth_cm,temp_c\n2027-05-09,40,hot\n", "row 2"),
        ("date,depth_cm,temp_c\n2027-05-09,40,580\n", "580"),
        ("date,depth_cm,temp_c\n2027-05-09,-4,58\n", "depth"),
        ("date,depth_cm,temp_c\n2026-05-09,40,58\n", "built"),
        ("date,depth_cm,temp_c\n9 May,40,58\n", "9 May"),
        ("date,depth_cm,temp_c\n2027-05-09,40\n", "number"),
    ],
)
def test_a_bad_file_is_refused_with_its_place(tmp_path: Path, text: str, told: str) -> None:
    path = tmp_path / "r.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=told):
        read_readings(path, START)


def test_a_missing_or_binary_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadableFile):
        read_readings(tmp_path / "none.csv", START)
    (tmp_path / "b.csv").write_bytes(b"\x00\xff\xfe\x01")
    with pytest.raises(UnreadableFile):
        read_readings(tmp_path / "b.csv", START)
    with pytest.raises(InputError):
        typed_readings(["2027-05-09"], START)
    with pytest.raises(InputError):
        calibrate(plan(), [], MILD)
