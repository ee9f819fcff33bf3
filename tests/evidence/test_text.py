from datetime import date

import pytest

from loamery.evidence.text import Units, buckets_text, day_text, hours_text, listing, plural, sentence, share_text
from loamery.finding import Band
from loamery.words import band_text, number, quantity_text, range_text


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.0, 3, "0"),
        (2.0500, 3, "2.05"),
        (12.0, 3, "12"),
        (1850.0, 3, "1\u00a0850"),
        (1234567.0, 3, "1\u00a0230\u00a0000"),
        (0.000123, 2, "0.00012"),
        (-0.0794, 2, "−0.079"),
        (0.5, 3, "0.5"),
        (9.996, 3, "10"),
        (float("nan"), 3, "not known"),
        (float("inf"), 3, "not known"),
    ],
)
def test_numbers_have_sensible_digits(value: float, digits: int, text: str) -> None:
    assert number(value, digits) == text


def test_no_number_is_printed_with_an_exponent() -> None:
    assert not any("e" in number(10.0**power, 3) for power in range(-9, 10))


def test_bands_read_low_to_high_with_one_digit_less_than_the_median() -> None:
    assert band_text(Band(2.05, 1.8049, 2.3311, "%")) == "2.05\u00a0% (1.8 to 2.3)"
    assert range_text(Band(1, -0.44, 5.5)) == "−0.44 to 5.5"
    assert band_text(Band(6.2, 6.2, 6.2, "pH")) == "6.2"


def test_units_are_written_as_people_write_them() -> None:
    assert quantity_text(3.0, "g/m2") == "3\u00a0g/m²"
    assert quantity_text(25.4, "ratio") == "25.4"


@pytest.mark.parametrize(("buckets", "text"), [(0.5, "½"), (1.0, "1"), (5.5, "5½"), (22.0, "22"), (0.0, "0")])
def test_buckets_are_whole_and_half(buckets: float, text: str) -> None:
    assert buckets_text(buckets) == text


@pytest.mark.parametrize(
    ("hours", "text"),
    [(1.0, "1\u00a0hour"), (2.3, "2.3\u00a0hours"), (0.76, "45\u00a0minutes"), (0.001, "5\u00a0minutes")],
)
def test_hours_below_one_are_minutes(hours: float, text: str) -> None:
    assert hours_text(hours) == text


def test_amounts_follow_the_system_of_units() -> None:
    # 1 lb is 0.45359237 kg and 1 US gallon 3.785411784 L (NIST SP 811, appendix B, recalled).
    metric, us = Units("metric"), Units("us")
    assert metric.mass(10.0) == "10\u00a0kg"
    assert us.mass(10.0) == "22\u00a0lb"
    assert us.litres(20.0) == "5.3\u00a0gal"
    assert metric.mass(4160.4) == "4\u00a0160\u00a0kg"
    assert metric.mass(1e-14) == "0\u00a0kg"
    shown = us.rate(Band(10.0, 5.0, 20.0, "g/m2"))
    assert shown.unit == "lb/1000ft2"
    assert shown.median == pytest.approx(10.0 * 0.2048161436, abs=1e-6)
    assert us.band(Band(593.2764, 300.0, 800.0, "kg/m3")).median == pytest.approx(1000.0, abs=0.01)
    assert us.band(Band(2.0, 1.0, 3.0, "%")) == Band(2.0, 1.0, 3.0, "%")


def test_words() -> None:
    assert day_text(date(2027, 4, 5)) == "5\u00a0April 2027"
    assert share_text(0.589) == "59\u00a0%"
    assert plural(1, "batch", "batches") == "1\u00a0batch"
    assert plural(3, "batch", "batches") == "3\u00a0batches"
    assert listing(["a", "b", "c"]) == "a, b and c"
    assert listing([]) == "none"
    assert sentence("keep it dry") == "Keep it dry."
    assert sentence("") == ""
