"""Plots by lot: whole blocks, no overlap, fair lots, and words where the beds are too small."""

from __future__ import annotations

import itertools
from collections import Counter

import pytest
from made import beds, head, treatments, trial

from loamery.errors import InputError
from loamery.garden.model import Bed
from loamery.trials.design import Trial
from loamery.trials.lay_out import bed_shapes, lay_out
from loamery.trials.power import seen_by


def overlaps(made: Trial) -> list[tuple[str, str]]:
    found = []
    for bed in made.beds:
        mine = sorted((one for one in made.plots if one.bed == bed.id), key=lambda one: one.x_m)
        found += [(a.id, b.id) for a, b in itertools.pairwise(mine) if b.x_m < a.x_m + a.length_m - 1e-9]
        found += [(mine[-1].id, "end")] if mine[-1].x_m + mine[-1].length_m > bed.length_m + 1e-9 else []
    return found


def test_every_block_holds_every_treatment_once_in_one_bed():
    made = trial(blocks=4)
    for block in range(1, 5):
        mine = [one for one in made.plots if one.block == block]
        assert Counter(one.treatment for one in mine) == {"none": 1, "compost": 1, "grounds": 1}
        assert len({one.bed for one in mine}) == 1
    assert overlaps(made) == []
    assert len({one.length_m for one in made.plots}) == 1


def test_a_long_bed_takes_several_blocks():
    made = lay_out(head(), treatments(), beds(1, 30.0), 4)
    assert {one.bed for one in made.plots} == {"bed-1"} and overlaps(made) == []


def test_without_blocks_every_treatment_stands_equally_often():
    made = trial(blocks=5, design="completely_random")
    assert Counter(one.treatment for one in made.plots) == {"none": 5, "compost": 5, "grounds": 5}
    assert len({one.id for one in made.plots}) == 15 and overlaps(made) == []


def test_the_same_seed_gives_the_same_lots_and_another_gives_others():
    first = [one.treatment for one in trial().plots]
    assert first == [one.treatment for one in trial().plots]
    assert any(first != [one.treatment for one in trial(seed=seed).plots] for seed in range(10, 15))


def test_lots_are_fair():
    """Over 600 lay-outs each treatment comes first in a block a third of the time, within four standard errors."""
    first = Counter(trial(blocks=2, seed=seed).plots[0].treatment for seed in range(600))
    assert all(abs(count - 200) < 4 * (600 * 2 / 9) ** 0.5 for count in first.values())


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"blocks": 1}, "1 block"),
        ({"count": 1, "control": ""}, "1 treatment"),
        ({"control": "lime"}, "control “lime”"),
        ({"blocks": 40}, "40 blocks on 4 beds"),
        ({"ends": "2027-04-01"}, "before"),
    ],
)
def test_what_cannot_be_laid_out_says_so(change: dict[str, object], words: str):
    with pytest.raises(InputError, match=words):
        trial(**change)  # type: ignore[arg-type]


def test_beds_too_small_say_what_would_fit():
    with pytest.raises(InputError) as told:
        lay_out(head(), treatments(), beds(4, 4.0), 10)
    assert "at most 4 blocks" in str(told.value)
    with pytest.raises(InputError, match="beds long enough for one block"):
        lay_out(head(), treatments(5), beds(1, 2.0), 2)


def test_a_bed_is_as_long_as_its_area_says_and_a_measured_one_as_measured():
    bed = Bed(id="a", name="A", area_m2=12.0)
    assert bed_shapes([bed], {})[0].length_m == pytest.approx(10.0)
    assert bed_shapes([bed], {"a": (1.0, 12.0)})[0].length_m == 12.0
    with pytest.raises(InputError, match="about the 12 m²"):
        bed_shapes([bed], {"a": (4.0, 1.0)})
    with pytest.raises(InputError, match="size for bed"):
        bed_shapes([bed], {"b": (4.0, 3.0)})


def test_across_beds_whole_blocks_come_first_and_the_rest_runs_on():
    short = beds(6, 5.0)  # each holds two plots of 2.25 m, or five of 0.7 m
    with pytest.raises(InputError, match="--across"):
        lay_out(
            head(),
            [*treatments(), *(t.model_copy(update={"id": f"x{n}"}) for n in range(4) for t in treatments()[:1])],
            short,
            3,
        )
    many = [*treatments(), *(t.model_copy(update={"id": f"x{n}"}) for n in range(4) for t in treatments()[:1])]
    made = lay_out(head(), many, short, 3, across=True)
    for block in range(1, 4):
        assert Counter(one.treatment for one in made.plots if one.block == block) == {one.id: 1 for one in many}
    assert overlaps(made) == [] and len({one.id for one in made.plots}) == 21
    told = seen_by(made)[-1]
    split = [block for block in range(1, 4) if len({one.bed for one in made.plots if one.block == block}) > 1]
    assert split and all(str(one) in told for one in split) and "more than one bed" in told


def test_where_whole_blocks_fit_across_changes_nothing():
    assert lay_out(head(), treatments(), beds(2, 12.0), 4, across=True) == lay_out(
        head(), treatments(), beds(2, 12.0), 4
    )
    assert not any("more than one bed" in one for one in seen_by(trial()))
