"""Power: grows with plots and differences, and is what simulated trials find."""

from __future__ import annotations

import numpy as np
import pytest
from made import readings, trial

from loamery.errors import InputError, UnknownName
from loamery.reference import coefficients, table
from loamery.trials.analyse import analyse
from loamery.trials.power import Layout, blocks_needed, detectable, plot_spread, power_of_pair


def test_power_grows_with_blocks_and_differences_and_falls_with_spread():
    base = power_of_pair(Layout(3, 4), 0.3, 0.18)
    assert power_of_pair(Layout(3, 6), 0.3, 0.18) > base
    assert power_of_pair(Layout(3, 4), 0.4, 0.18) > base
    assert power_of_pair(Layout(3, 4), 0.3, 0.25) < base
    assert power_of_pair(Layout(3, 4), 5.0, 0.05) == pytest.approx(1.0)


def test_blocks_needed_are_the_fewest():
    layout = Layout(3, 2)
    needed = blocks_needed(layout, 0.3, 0.18)
    assert needed is not None
    assert power_of_pair(Layout(3, needed), 0.3, 0.18) >= 0.8 > power_of_pair(Layout(3, needed - 1), 0.3, 0.18)
    assert blocks_needed(layout, 0.01, 0.3) is None


def test_the_smallest_difference_seen_has_the_power_wanted():
    layout = Layout(4, 5)
    assert power_of_pair(layout, detectable(layout, 0.2), 0.2) == pytest.approx(0.8, abs=1e-3)


def test_power_is_what_simulated_trials_find():
    """400 trials with a difference of 2.5 standard deviations: as many find it as foreseen, within three standard errors."""
    made, hits = trial(blocks=4), 0
    for seed in range(400):
        found = analyse(made, readings(made, {"compost": 2.5}, seed=seed))
        hits += any(one.treatment == "compost" for one in found.found)
    foreseen = power_of_pair(Layout(3, 4), 0.25, 0.10)
    assert hits / 400 == pytest.approx(foreseen, abs=3 * np.sqrt(foreseen * (1 - foreseen) / 400) + 0.02)


@pytest.mark.parametrize(("difference", "cv"), [(0.0, 0.2), (-1.0, 0.2), (0.2, 0.0), (0.2, float("nan"))])
def test_figures_that_make_no_sense_are_refused(difference: float, cv: float):
    with pytest.raises(InputError):
        power_of_pair(Layout(3, 4), difference, cv)


def test_the_spread_of_a_crop_is_that_of_its_trials_and_else_the_usual():
    assert plot_spread("tomato").key == plot_spread("Tomato").key == "trial_plot_cv_tomato"
    assert plot_spread("bean-snap").value == pytest.approx(0.09)  # 6, 9.5 and 15 % in three uniformity trials
    assert plot_spread("kale").key == plot_spread().key == "trial_plot_cv"
    with pytest.raises(UnknownName, match="kaale"):
        plot_spread("kaale")


def test_every_spread_by_crop_names_a_crop_that_exists():
    slugs = {row["slug"].replace("-", "_") for row in table("crops")}
    own = [key.removeprefix("trial_plot_cv_") for key in coefficients() if key.startswith("trial_plot_cv_")]
    assert own and set(own) <= slugs
