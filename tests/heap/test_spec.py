from __future__ import annotations

import math
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

import loamery.heap
from loamery.errors import InputError, UnknownName
from loamery.heap.model import ensemble, simulate
from loamery.heap.parameters import drawn_parameters, heap_parameters, parameter_values
from loamery.heap.spec import Stuff
from loamery.heap.weather import Weather
from tests.heap.test_model import BLEND, ONE


@pytest.mark.parametrize(
    "change",
    [{"moisture": 1.2}, {"moisture": 0.0}, {"moisture": math.nan}, {"n_dm": 0.0}, {"bulk_density_kg_m3": 0.0}, {"ph": 20.0},
     {"fast": 0.9}, {"c_dm": 0.2}, {"particle_m": 0.0}, {"ash_dm": 1.0}],
)  # fmt: skip
def test_impossible_stuff_is_refused_with_what_to_do(change: dict[str, float]) -> None:
    with pytest.raises(InputError) as caught:
        replace(BLEND, **change)
    assert "expected" in str(caught.value)
    assert "what to do" in str(caught.value)


@pytest.mark.parametrize(
    "change",
    [{"volume_m3": 0.0}, {"geometry": "cube"}, {"vent": 2.0}, {"start_temp_c": 300.0}, {"turn_days": (-1.0,)},
     {"waterings": ((3.0, math.nan),)}, {"geometry": "layer", "depth_m": 0.0}],
)  # fmt: skip
def test_impossible_heaps_are_refused(change: dict[str, object]) -> None:
    with pytest.raises(InputError):
        replace(ONE, **change)


def test_more_than_fits_is_refused_when_run() -> None:
    with pytest.raises(InputError, match="kg/m3"):
        simulate(replace(ONE, stuff=Stuff(0.3, 1390.0, 0.46, 0.016, 0.0, 0.28, 0.47, 0.25)), 5.0)


@pytest.mark.parametrize(
    "numbers", [{"days": -1.0}, {"days": math.nan}, {"days": 5.0, "cells": 1}, {"days": 5.0, "tolerance_k": 0.0}]
)
def test_impossible_runs_are_refused(numbers: dict[str, float]) -> None:
    with pytest.raises(InputError):
        simulate(ONE, **numbers)  # type: ignore[arg-type]


def test_no_heaps_is_refused() -> None:
    with pytest.raises(InputError):
        ensemble([], 10.0)


@pytest.mark.parametrize(
    "records",
    [{"temp_c": [10.0, math.nan]}, {"temp_c": [10.0, 12.0], "rain_mm": [1.0]}, {"temp_c": [10.0], "humidity": 80.0},
     {"temp_c": []}, {"temp_c": [10.0], "rain_mm": [-1.0]}],
)  # fmt: skip
def test_missing_or_impossible_weather_is_refused(records: dict[str, object]) -> None:
    with pytest.raises(InputError):
        Weather.daily(**records)  # type: ignore[arg-type]


def test_weather_that_ends_before_the_run_is_refused() -> None:
    short = replace(ONE, weather=Weather.daily([10.0] * 5))
    with pytest.raises(InputError, match="5 days"):
        simulate(short, 6.0)
    with pytest.raises(InputError, match="5 days"):
        ensemble([short], 6.0)


def test_normals_become_days() -> None:
    normals = Weather.from_normals([0.0, 2, 5, 9, 13, 16, 18, 18, 14, 9, 4, 1], [60.0] * 12, date(2026, 4, 1), 90)
    assert normals.table.shape == (91, 6)
    assert normals.table[44, 0] == pytest.approx(13.0, abs=0.3)
    assert normals.table[90, 3] == pytest.approx(90 * 60.0 / 30.4375, rel=1e-6)
    with pytest.raises(InputError):
        Weather.from_normals([1.0] * 11, [1.0] * 12, date(2026, 4, 1), 10)


def test_an_unknown_parameter_is_named() -> None:
    with pytest.raises(UnknownName, match="k_quick"):
        parameter_values({"k_quick": 1.0})
    with pytest.raises(InputError):
        parameter_values({"k_fast": math.inf})


def test_drawn_parameters_are_seeded_and_cover_their_ranges() -> None:
    draws = drawn_parameters(400, 3)
    assert draws == drawn_parameters(400, 3)
    k_fast = np.array([one["k_fast"] for one in draws])
    assert np.median(k_fast) == pytest.approx(heap_parameters()["k_fast"].value, rel=0.1)
    assert np.mean((k_fast > 0.10) & (k_fast < 0.40)) == pytest.approx(0.9, abs=0.05)
    assert {one["diffusion_model"] for one in draws} == {0.0, 1.0, 2.0}


def test_every_parameter_is_used_by_the_model() -> None:
    folder = Path(loamery.heap.__file__).parent
    code = "".join(one.read_text(encoding="utf-8") for one in folder.glob("*.py"))
    idle = [name for name in heap_parameters() if f"p.{name}" not in code and name not in CARBON_AND_OXYGEN]
    # read by name when a heap is described or started
    assert sorted(idle) == ["activity_compost", "activity_fresh", "air_oxygen", "field_capacity"]


CARBON_AND_OXYGEN = {f"{what}_{pool}" for what in ("carbon", "oxygen") for pool in ("fast", "slow", "recalcitrant")}


def test_the_document_names_every_equation_that_the_code_names() -> None:
    folder = Path(loamery.heap.__file__).parent
    document = (folder.parent.parent / "docs" / "heap-model.md").read_text(encoding="utf-8")
    told = {int(number) for number in re.findall(r"^(\d+)\. ", document, re.M)}
    code = "".join(one.read_text(encoding="utf-8") for one in folder.glob("*.py"))
    used = {int(number) for group in re.findall(r"\(eq\. ([\d, -]+)", code) for number in re.findall(r"\d+", group)}
    assert told == set(range(1, 27))
    assert used <= told
