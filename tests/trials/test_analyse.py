"""What trials show and how it is worded, and no claim on bad input (validation/check_trial_truth.py counts false alarms)."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from made import readings, trial

from loamery.trials.analyse import analyse
from loamery.trials.conclude import conclude
from loamery.trials.folder import Reading


def test_a_large_difference_is_found_and_worded_with_its_limits():
    made = trial()
    told = conclude(analyse(made, readings(made, {"compost": 8.0})))
    assert told.verdict == "difference"
    assert "“Compost” gave" in told.lines[0] and "more" in told.lines[0] and "90" in told.lines[0]
    assert "does not say" in told.lines[-1]


def test_no_difference_is_never_called_proof_of_none():
    made = trial()
    told = conclude(analyse(made, readings(made)))
    assert told.verdict == "not_told_apart"
    assert "not proof" in told.lines[0] and "would have found a difference of" in told.lines[1]


def codes(told: object) -> set[str]:
    return {one.code for one in told.findings}  # type: ignore[attr-defined]


def refuse(rows: list[Reading], blocks: int = 4, **more: object) -> set[str]:
    """Return the codes of a conclusion that must claim nothing."""
    made = trial(blocks=blocks, **more)
    found = analyse(made, rows)
    told = conclude(found)
    assert told.verdict == "none" and found.effects == [] and found.found == []
    assert told.lines[0].startswith("No conclusion can be drawn")
    return codes(told)


def test_missing_plots_make_no_claim():
    rows = readings(trial(), {"compost": 8.0})
    assert refuse(rows[:-2]) == {"trial_missing_plots"}


def test_too_many_lost_plots_make_no_claim():
    rows = readings(trial(), {"compost": 8.0})
    lost = [Reading(plot=one.plot, lost="deer") for one in rows[:3]]
    assert "trial_too_many_lost" in refuse([*lost, *rows[3:]])


def test_one_block_makes_no_claim():
    made = trial(blocks=2)
    one = made.model_copy(update={"plots": tuple(plot for plot in made.plots if plot.block == 1)})
    told = conclude(analyse(one, readings(one, {"compost": 8.0})))
    assert told.verdict == "none" and codes(told) == {"trial_one_block"}


def test_no_repeats_make_no_claim():
    made = trial(blocks=2, design="completely_random")
    keep = {one.treatment: one for one in made.plots}
    thin = made.model_copy(update={"plots": tuple(keep.values())})
    told = conclude(analyse(thin, readings(thin)))
    assert told.verdict == "none" and "trial_no_repeats" in codes(told)


def test_equal_readings_make_no_claim():
    rows = [one.model_copy(update={"value": 4.0}) for one in readings(trial())]
    assert refuse(rows) == {"trial_all_equal"}


def test_nothing_read_makes_no_claim():
    assert "trial_missing_plots" in refuse([])


def test_sums_of_unequal_numbers_of_readings_make_no_claim():
    rows = readings(trial())
    again = [one.model_copy(update={"measured_on": date(2027, 8, 9)}) for one in rows[:5]]
    assert refuse([*rows, *again]) == {"trial_uneven_readings"}


def test_a_lost_plot_is_told_and_the_rest_analysed():
    rows = readings(trial(), {"compost": 8.0})
    rows[0] = Reading(plot=rows[0].plot, lost="deer")
    told = conclude(analyse(trial(), rows))
    assert told.verdict == "difference" and "trial_lost_plots" in codes(told)


def test_several_readings_are_added_or_averaged_and_divided_by_the_area():
    made = trial(several="mean")
    rows = readings(made)
    twice = [*rows, *(one.model_copy(update={"measured_on": date(2027, 8, 9), "value": 0.0}) for one in rows)]
    assert analyse(made, twice).means == pytest.approx(np.array(analyse(made, rows).means) / 2)
    per_area = made.model_copy(update={"trial": made.trial.model_copy(update={"per_m2": True})})
    area = made.plots[0].area_m2
    assert analyse(per_area, rows).means == pytest.approx(np.array(analyse(made, rows).means) / area)


def test_an_odd_plot_makes_the_lots_decide_and_is_named():
    made = trial(blocks=6, count=3)
    rows = readings(made, sd=0.2)
    rows[4] = rows[4].model_copy(update={"value": 400.0})
    found = analyse(made, rows)
    told = conclude(found)
    assert found.method == "lots" and found.ranks is not None and found.ranks.name == "Friedman"
    assert any(f"plot {rows[4].plot}" in one.because for one in told.findings)


def test_effects_in_proportion_to_good_blocks_are_noticed():
    """A treatment that doubles whatever the block gives is not additive."""
    made = trial(blocks=8)
    draw = np.random.default_rng(0)
    good = {block: 4.0**block / 16 for block in range(1, 9)}
    times = {"none": 1.0, "compost": 2.0, "grounds": 1.5}
    rows = [
        Reading(
            plot=one.id,
            measured_on=date(2027, 8, 1),
            value=good[one.block] * times[one.treatment] * np.exp(draw.normal(0, 0.02)),
        )
        for one in made.plots
    ]
    checks = {one.key: one.answer for one in analyse(made, rows).checks}
    assert checks["additive"] == "fails"


def test_blocks_as_a_draw_give_the_spread_they_were_made_with():
    made = trial(blocks=8)
    found = analyse(made, readings(made, seed=5))
    assert found.mixed is not None and found.mixed.sound
    assert found.mixed.plot_sd == pytest.approx(found.sd, rel=0.15)
    assert found.mixed.means == pytest.approx(found.means, rel=1e-6)
