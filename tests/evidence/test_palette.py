import itertools
import math

import pytest

from loamery.evidence.palette import _MARKS, ACCENT, DARK, INK, PAPER, SOFT, WARN, contrast, on_colour, swatches

# Simulation of full colour blindness in linear RGB: Machado, Oliveira & Fernandes 2009, IEEE TVCG 15:1291, severity 1.0
# (matrices recalled, not re-read). Normal sight is the identity.
SIGHTS = {
    "normal": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
TOLD_APART = 12.0  # CIE 1976 difference; about 2.3 is just noticeable (common practice, no source)


def _linear(colour: str) -> list[float]:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    return [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts]


def _lab(colour: str, sight: str) -> tuple[float, float, float]:
    rgb = _linear(colour)
    r, g, b = (min(max(sum(m * c for m, c in zip(row, rgb, strict=True)), 0.0), 1.0) for row in SIGHTS[sight])
    xyz = (
        (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505,
        0.2126 * r + 0.7152 * g + 0.0722 * b,
        (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089,
    )
    x, y, z = (one ** (1 / 3) if one > 0.008856 else 7.787 * one + 16 / 116 for one in xyz)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


@pytest.mark.parametrize("sight", SIGHTS)
def test_marks_are_told_apart_by_every_eye(sight: str) -> None:
    seen = [_lab(one, sight) for one in _MARKS]
    assert min(math.dist(a, b) for a, b in itertools.combinations(seen, 2)) > TOLD_APART


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
