"""One cell: every way a laboratory prints a number, a limit, a range or nothing."""

from __future__ import annotations

import pytest

from loamery.lab.cells import decimal_style, decimals, parse_cell, parse_number


@pytest.mark.parametrize(
    ("text", "style", "value"),
    [
        ("2.05", "point", 2.05),
        ("2,05", "comma", 2.05),
        ("2,05", "point", 2.05),  # two digits after the comma are no thousand
        ("1,234", "point", 1234.0),
        ("1.234", "comma", 1234.0),
        ("1.234", "point", 1.234),
        ("1,234", "comma", 1.234),
        ("0,123", "unknown", 0.123),
        ("1 234,5", "unknown", 1234.5),
        ("1\u202f234", "unknown", 1234.0),
        ("1'234.5", "unknown", 1234.5),
        ("1.234,5", "unknown", 1234.5),
        ("1,234.5", "unknown", 1234.5),
        ("1,234,567", "unknown", 1234567.0),
        ("1.2E-3", "point", 0.0012),
        ("1,2×10³", "comma", 1200.0),
        ("1.2 x 10^-3", "point", 0.0012),
        ("−0.5", "point", -0.5),
        ("5.4*", "point", 5.4),
        ("2.05²", "point", 2.05),  # a raised footnote mark, not a digit
        ("2.05 (a)", "point", 2.05),
        (".5", "point", 0.5),
    ],
)
def test_numbers(text, style, value):
    found = parse_cell(text, style)
    assert found.kind == "number"
    assert found.value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("<0.05", "below", 0.05),
        ("< 0,05", "below", 0.05),
        ("≤ 0.05", "below", 0.05),
        ("less than 0.05", "below", 0.05),
        ("ND", "below", None),
        ("n.d.", "below", None),
        ("BDL", "below", None),
        ("n.n.", "below", None),
        ("<LOD", "below", None),
        ("not detected", "below", None),
        ("ND (0.05)", "below", 0.05),
        ("0.05 U", "below", 0.05),
        ("trace", "trace", None),
        ("Tr.", "trace", None),
        (">58", "above", 58.0),
        ("", "blank", None),
        (" - ", "blank", None),
        ("–", "blank", None),
        ("n/a", "blank", None),
        ("not analysed", "blank", None),
        ("see note", "text", None),
        ("1.2.3", "text", None),
        ("1 2", "text", None),
        ("O.5", "text", None),
        ("(0.5)", "text", None),
        ("1e309", "text", None),
    ],
)
def test_words_and_limits(text, kind, value):
    found = parse_cell(text)
    assert (found.kind, found.value) == (kind, value)


@pytest.mark.parametrize("text", ["12-18", "12 – 18", "12 to 18", "12 bis 18", "18-12"])
def test_ranges(text):
    found = parse_cell(text)
    assert (found.kind, found.low, found.high) == ("range", 12.0, 18.0)


@pytest.mark.parametrize(
    "text", ["27-Apr", "Apr-27", "27. April", "27 avr", "2026-04-27", "4/27", "27.04.2026", "27-abr"]
)
def test_dates_hold_the_range_they_were(text):
    """27-Apr for 4-27 is in a published feedstock table (reference BCAF: "27-Apr for 4-27, 18-Dec for 12-18")."""
    found = parse_cell(text)
    assert (found.kind, found.low, found.high) == ("date", 4.0, 27.0)
    assert found.options[0] == "4-27"
    assert found.value is None


@pytest.mark.parametrize("text", ["1,234", "1.234", "12,345", "<1,234"])
def test_a_lone_group_of_three_is_ambiguous(text):
    found = parse_cell(text, "unknown")
    assert found.kind == "ambiguous"
    assert found.value is None
    assert found.high == pytest.approx(1000 * found.low, rel=1e-12)


def test_spread_unit_and_flag():
    assert parse_cell("2.05 ± 0.10").sd == pytest.approx(0.10)
    assert parse_cell("2.05 ± 0.10 %").unit == "%"
    assert parse_cell("2.05%").unit == "%"
    assert parse_cell("1300 mg/kg").unit == "mg/kg"
    assert parse_cell("0.12 J").flag == "J"
    assert parse_cell("0.62 % ± 5 %").kind == "text"  # a relative spread is not guessed


@pytest.mark.parametrize(
    ("texts", "style"),
    [
        (["2.05", "12"], "point"),
        (["2,05", "1.234"], "comma"),
        (["1,234.5"], "point"),
        (["1.234,5"], "comma"),
        (["1,234,567"], "point"),
        (["1.234", "12"], "unknown"),
        (["2.05", "2,05"], "mixed"),
        (["<0,05"], "comma"),
        (["EN 13650, 3.5"], "unknown"),
        (["12.10.2026"], "unknown"),
        (["1:2.5"], "unknown"),
    ],
)
def test_decimal_style_needs_a_sure_number(texts, style):
    assert decimal_style(texts) == style


def test_parse_number_gives_all_readings():
    assert parse_number("1,234", "mixed") == (1.234, 1234.0)
    assert parse_number("abc", "point") == ()
    assert parse_number("1e99", "point") == ()


def test_decimals():
    assert [decimals(text) for text in ("2.05", "2,1", "12", "<0.050")] == [2, 1, 0, 3]
