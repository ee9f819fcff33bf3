import itertools

import pytest

from loamery.evidence import charts_compare, charts_explained, charts_heap, charts_layers, charts_material
from loamery.evidence.palette import (
    _MARKS,
    ACCENT,
    DARK,
    INK,
    PAPER,
    SOFT,
    SOIL,
    WARN,
    contrast,
    on_colour,
    swatches,
)
from tests.evidence.seeing import SHARMA, SIGHTS, ciede2000, lab, nearest

PLAIN, LETTERED = 10.0, 8.0
"""Least CIEDE2000 difference of colours side by side: where nothing else tells them apart, and where each bears its letters. About 1 can just be seen
(common practice, no source)."""
DARK_ACCENT = "#57b197"
"""What the accent becomes on a dark screen, in sheet.css."""
ALONE = {
    "good and bad": (ACCENT, WARN),
    "good and bad, dark": (DARK_ACCENT, WARN),
    "a bed: materials, soil, taken": (ACCENT, SOIL, WARN),
    "a bed, dark": (DARK_ACCENT, SOIL, WARN),
    "plan and rules of the hand": charts_explained.SIDE_COLOURS,
    "uses": tuple(charts_material.USE_COLOURS.values()),
    "uses, dark": tuple(DARK.get(one, one) for one in charts_material.USE_COLOURS.values()),
    "faults of a layer": tuple(charts_layers.COLOURS.values()),
    "layers thin to thick": charts_layers.RISING,
    "N, P, K": tuple(one[1] for one in charts_compare.TERMS.values()),
}


@pytest.mark.parametrize("sight", SIGHTS)
def test_marks_are_told_apart_by_every_eye(sight: str) -> None:
    assert nearest(_MARKS, sight)[0] > LETTERED, nearest(_MARKS, sight)
    assert nearest(_MARKS[:8], sight)[0] > PLAIN, nearest(_MARKS[:8], sight)


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("what", ALONE)
def test_colours_side_by_side_are_told_apart_by_every_eye(what: str, sight: str) -> None:
    assert nearest(ALONE[what], sight)[0] > PLAIN, nearest(ALONE[what], sight)


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("scale", [charts_heap.HEAT_COLOURS, charts_heap.OXYGEN_COLOURS])
def test_steps_of_a_scale_are_told_apart_and_its_ends_most(scale: tuple[str, ...], sight: str) -> None:
    seen = [lab(one, sight) for one in scale]
    steps = [ciede2000(one, other) for one, other in itertools.pairwise(seen)]
    assert min(steps) > LETTERED, steps
    assert ciede2000(seen[0], seen[-1]) > 2 * LETTERED  # cold is not taken for hot, nor air for none


@pytest.mark.parametrize(("one", "other", "difference"), SHARMA)
def test_the_difference_is_the_published_one(
    one: tuple[float, ...], other: tuple[float, ...], difference: float
) -> None:
    assert ciede2000(one, other) == pytest.approx(difference, abs=5e-5)  # type: ignore[arg-type]
    assert ciede2000(other, one) == pytest.approx(difference, abs=5e-5)  # type: ignore[arg-type]


def test_a_bad_pair_is_caught() -> None:
    # a green and a brown of one lightness, side by side in these charts until they were looked at this way
    assert nearest(("#62743a", "#7a5a34"), "deutan")[0] < PLAIN < nearest(("#62743a", "#7a5a34"), "normal")[0]


def test_letters_on_marks_and_words_on_paper_meet_aa() -> None:
    # WCAG 2.2 success criterion 1.4.3 asks for 4.5:1 (recalled).
    assert min(contrast(one, on_colour(one)) for one in _MARKS) >= 4.5
    assert min(contrast(one, PAPER) for one in (INK, SOFT, ACCENT, WARN)) >= 4.5
    assert min(contrast(DARK[one], DARK[PAPER]) for one in (INK, SOFT)) >= 4.5


def test_contrast_of_black_on_white_is_21() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0, abs=1e-9)


def test_letters_are_unique_and_stable() -> None:
    things = [("grounds", "Spent coffee grounds"), ("grass", "Grass clippings"), ("grain", "Brewer's grain")]
    things += [("recipe-1", "Compost 1"), ("castings of grounds", "Castings of spent coffee grounds")]
    things += [(f"m{number}", f"Material {number}") for number in range(30)]
    looks = swatches(things)
    letters = [one.letters for one in looks.values()]
    assert len(set(letters)) == len(things)
    assert letters[:4] == ["Gr", "Ga", "Gi", "C1"]
    assert swatches(things) == looks
