"""Home tests: classes as firm as the readings, and stops where a test does not count."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from loamery.errors import GardenError, InputError, UnreadableFile
from loamery.say import is_told, told
from loamery.trials.home_tests import GUIDES, Dish, Warmth, germination, read_home_test, self_heating


def dishes(sample: str, sprouted: int, root_mm: float, count: int = 3) -> list[Dish]:
    return [
        Dish(sample=sample, seeds=20, sprouted=sprouted, root_mm=tuple(root_mm + 0.1 * at for at in range(sprouted)))
        for _ in range(count)
    ]


def test_a_clear_index_has_one_class_and_one_near_an_edge_two():
    water = dishes("water", 20, 30.0)
    assert [one["class"] for one in germination([*water, *dishes("fresh", 10, 10.0)])[0].classes] == ["harmful"]
    edge = germination([*water, *dishes("edge", 18, 26.0)])[0]
    assert [one["class"] for one in edge.classes] == ["doubtful", "harmless"] and edge.text.startswith("Between")


def test_the_band_holds_the_index_of_many_seeds_in_nine_of_ten_tests():
    """True index 100 (0.85/0.95)(24/30) = 71.6 %; 300 tests with chance in sprouting and in roots."""
    truth, held = 100 * (0.85 / 0.95) * (24 / 30), 0
    draw = np.random.default_rng(2)

    def lay(sample: str, share: float, root: float) -> list[Dish]:
        out = []
        for _ in range(3):
            sprouted = int(draw.binomial(20, share))
            out.append(
                Dish(
                    sample=sample,
                    seeds=20,
                    sprouted=sprouted,
                    root_mm=tuple(np.maximum(draw.normal(root, 6.0, sprouted), 0.5)),
                )
            )
        return out

    for _ in range(300):
        band = germination([*lay("water", 0.95, 30.0), *lay("compost", 0.85, 24.0)])[0].value
        held += band.low <= truth <= band.high
    assert 0.85 <= held / 300 <= 0.96


def test_poor_seed_makes_no_class():
    found = germination([*dishes("water", 12, 30.0), *dishes("compost", 12, 30.0)])[0]
    assert found.text == "No class can be given." and found.findings[0].code == "germination_control_poor"


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (dishes("compost", 10, 20.0), "no dish of plain water"),
        (dishes("water", 10, 20.0), "no dish but plain water"),
        ([Dish(sample="water", seeds=10, sprouted=12, root_mm=(1.0,) * 12)], "12 of 10"),
        ([Dish(sample="water", seeds=10, sprouted=5)], "no root lengths"),
        ([Dish(sample="water", seeds=10, sprouted=5, root_mm=(3.0,))], "1 roots measured"),
    ],
)
def test_dishes_that_cannot_be_compared_say_so(rows: list[Dish], words: str):
    with pytest.raises(InputError, match=words):
        germination(rows)


def warm(*rises: float, room: float = 20.0) -> list[Warmth]:
    return [Warmth(day=day, temp_c=room + rise, room_c=room) for day, rise in enumerate(rises)]


def test_self_heating_is_as_firm_as_two_thermometers():
    assert [one["class"] for one in self_heating(warm(0, 20, 35, 33, 20, 10)).classes] == ["II"]
    assert [one["class"] for one in self_heating(warm(0, 10, 20.4, 18, 9, 4)).classes] == ["IV", "III"]


@pytest.mark.parametrize(
    ("rows", "code"),
    [
        (warm(0, 10, 20, 30), "self_heating_still_rising"),
        (warm(0, 20, 10), "self_heating_too_short"),
        (warm(0, 5, 8, 7, 5, 3, room=12.0), "self_heating_room"),
    ],
)
def test_a_flask_read_wrongly_says_so(rows: list[Warmth], code: str):
    assert code in {one.code for one in self_heating(rows).findings}


def test_files_are_read_and_their_faults_told(tmp_path: Path):
    path = tmp_path / "dishes.csv"
    path.write_text("sample,seeds,sprouted,root_mm\nwater,20,2,30;31.5\n")
    assert read_home_test(path, Dish)[0].root_mm == (30.0, 31.5)
    path.write_text("sample,seeds,sprouted,root_mm\nwater,twenty,2,30;31\n")
    with pytest.raises(GardenError, match="row 2, column seeds"):
        read_home_test(path, Dish)
    with pytest.raises(UnreadableFile, match="no such file"):
        read_home_test(tmp_path / "none.csv", Dish)


@pytest.mark.parametrize("test", GUIDES)
def test_guides_warn(test: str):
    assert any(word in " ".join(GUIDES[test]).lower() for word in ("gloves", "do not touch"))


def test_home_tests_are_told_in_french():
    dishes = [Dish(sample="water", seeds=10, sprouted=3, root_mm=(5.0, 6.0, 7.0)), Dish(sample="a", seeds=10, sprouted=1, root_mm=(5.5,))]  # fmt: skip
    read = [Warmth(day=one, temp_c=20.5 + 4 * one, room_c=15.5) for one in range(4)]
    cooled = [Warmth(day=one, temp_c=21.5 if one else 40.5, room_c=20.0) for one in range(6)]
    tested = [*germination(dishes), self_heating(read), self_heating(read[:1]), self_heating(cooled)]
    words = [step for steps in GUIDES.values() for step in steps]
    words += [one.text for one in tested]
    words += [text for one in tested for met in one.findings for text in (met.text, met.because, met.proposal) if text]
    assert {met.code for one in tested for met in one.findings} >= {"germination_control_poor", "self_heating_room", "self_heating_too_short"}  # fmt: skip
    assert all(is_told(one, "fr") for one in words)
    assert told(tested[-1].text, "fr").startswith(("classe ", "Entre classe ")) and "stable" in told(
        tested[-1].text, "fr"
    )
