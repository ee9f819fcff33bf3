"""The map of a trial with many treatments: every plot once, every letter its own, every plot wide enough for its number."""

from __future__ import annotations

import re
from datetime import date

import pytest

from loamery.evidence.charts_trial import (
    LEAST_PX,
    MOST_PAIRS,
    WIDTH,
    effects_chart,
    map_chart,
    readings_chart,
    strips_of,
    treatment_swatches,
)
from loamery.trials.analyse import analyse
from loamery.trials.design import Head, Treatment, Trial, TrialBed
from loamery.trials.folder import Reading
from loamery.trials.lay_out import lay_out


def laid_out(treatments: int, length_m: float) -> Trial:
    head = Head(name="many", seed=7, starts=date(2027, 4, 1), ends=date(2027, 9, 30))
    named = [Treatment(id=f"t{one}", name=f"Kind {one}") for one in range(treatments)]
    return lay_out(head, named, [TrialBed(id="long", length_m=length_m, width_m=1.2)], 2)


@pytest.mark.parametrize(("treatments", "length_m", "pieces"), [(3, 12.0, 1), (40, 90.0, 3)])
def test_long_beds_are_drawn_in_pieces(treatments: int, length_m: float, pieces: int) -> None:
    made = laid_out(treatments, length_m)
    strips = strips_of(made)
    assert (len(strips) == 1) == (pieces == 1) and len(strips) >= pieces
    assert sum(one.length_m for one in strips) == pytest.approx(length_m)
    px = WIDTH / max(one.length_m for one in strips)
    assert min(one.length_m for one in made.plots) * px >= LEAST_PX * 0.9
    svg = map_chart(made, {"long": "Long bed"}).svg()
    assert all(svg.count(f">{one.id}<") == 1 for one in made.plots)


def test_letters_do_not_come_twice() -> None:
    letters = [one.letters for one in treatment_swatches(laid_out(60, 150.0)).values()]
    assert len(set(letters)) == 60 and letters[:3] == ["A", "B", "C"] and letters[25:28] == ["Z", "AA", "AB"]
    assert letters[52] == "BA"


PAGE_PX = 1000
"""About what a page holds in height."""


def test_charts_of_many_treatments_stay_on_a_page() -> None:
    made = laid_out(24, 60.0)
    read = [
        Reading(plot=one.id, measured_on=date(2027, 8, 1), value=10.0 + 0.37 * (at % 7) + 0.11 * at)
        for at, one in enumerate(made.plots)
    ]
    found = analyse(made, read)
    effects = effects_chart(found)
    for chart in (readings_chart(found), effects):
        assert float(re.findall(r' height="([0-9.]+)"', chart.svg())[0]) < PAGE_PX, chart.key
    assert len(effects.data) == 24 * 23 / 2 and f"The {MOST_PAIRS} clearest of {len(effects.data)}" in effects.caption
