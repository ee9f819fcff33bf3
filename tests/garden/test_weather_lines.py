"""Measured weather: read in the order of time, converted, refused row by row."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loamery.errors import GardenError, UnreadableFile
from loamery.garden import read_garden
from loamery.garden.weather_lines import read_weather

HEAD = "day,min_temp_c,max_temp_c,rain_mm,wind_m_s,humidity_frac,sun_mj_m2\n"


def write(folder: Path, text: str) -> Path:
    path = folder / "weather.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_days_come_in_the_order_of_time(folder: Path) -> None:
    write(folder, HEAD + "2027-05-03,5,17,0,,,\n2027-05-01,4,14,0,1.8,0.6,19\n# a remark\n2027-05-02,6,11,7.4,,0.9,\n")
    days = read_garden(folder).weather
    assert [one.day for one in days] == [date(2027, 5, 1), date(2027, 5, 2), date(2027, 5, 3)]
    assert (days[0].mean_temp_c, days[0].wind_m_s, days[2].humidity_frac) == (9.0, 1.8, None)


def test_us_columns_are_converted(tmp_path: Path) -> None:
    path = write(tmp_path, "day,min_temp_f,max_temp_f,rain_in\n2027-05-01,32,212,1\n")
    with pytest.raises(GardenError, match="max_temp_f"):
        read_weather(path)
    (one,) = read_weather(write(tmp_path, "day,min_temp_f,max_temp_f,rain_in\n2027-05-01,32,50,0.5\n"))
    assert (one.min_temp_c, one.max_temp_c, one.rain_mm) == pytest.approx((0.0, 10.0, 12.7))


@pytest.mark.parametrize(
    ("row", "number", "column", "told"),
    [
        ("2027-05-02,9,4,0,,,", 3, "min_temp_c", "lowest 9 °C above highest 4 °C"),
        ("2027-05-01,3,9,0,,,", 3, "day", "first in row 2"),
        ("2027-05-02,3,,0,,,", 3, "max_temp_c", "nothing"),
        ("2027-05-02,3,95,0,,,", 3, "max_temp_c", "less than or equal to 60"),
        ("2027-05-02,3,9,-1,,,", 3, "rain_mm", "greater than or equal to 0"),
        ("2027-05-02,3,9,trace,,,", 3, "rain_mm", "trace"),
        ("2027-05-02,3,9,0,,65,", 3, "humidity_frac", "less than or equal to 1"),
        ("2027-05-02,3,9,0,,,300", 3, "sun_mj_m2", "less than or equal to 45"),
        ("2.5.2027,3,9,0,,,", 3, "day", "write dates as"),
        ("2027-05-02,3,9", 3, "rain_mm", "nothing"),
    ],
)
def test_a_row_that_cannot_be_used_is_named(tmp_path: Path, row: str, number: int, column: str, told: str) -> None:
    with pytest.raises(GardenError) as error:
        read_weather(write(tmp_path, HEAD + "2027-05-01,4,14,0,,,\n" + row + "\n"))
    (fault,) = error.value.faults
    assert (fault.where.file, fault.where.row, fault.where.column) == ("weather.csv", number, column)
    assert told in str(fault)


def test_all_faults_come_at_once(tmp_path: Path) -> None:
    with pytest.raises(GardenError) as error:
        read_weather(write(tmp_path, HEAD + "2027-05-01,9,4,0,,,\n2027-05-02,x,4,0,,,\n2027-05-01,1,4,0,,,\n"))
    assert sorted((one.where.row or 0) for one in error.value.faults) == [2, 3, 4]


def test_a_file_without_days(tmp_path: Path) -> None:
    with pytest.raises(GardenError, match="no days"):
        read_weather(write(tmp_path, HEAD))
    with pytest.raises(UnreadableFile):
        read_weather(tmp_path / "none.csv")
