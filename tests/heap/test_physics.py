"""Laws of the heap at single points. The expected values were computed with scipy for the reference notes, not by us."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.heap import physics
from loamery.heap.exchange import fill_pore_shares
from loamery.heap.layout import AIR_SPACE, DIFFUSIVITY, PORE, WORK_ROWS
from loamery.heap.parameters import parameter_values

P = parameter_values()[0]


@pytest.mark.parametrize(
    ("temp_c", "response"), [(10, 0.016), (20, 0.141), (30, 0.367), (40, 0.653), (50, 0.917), (57, 1.0), (60, 0.978), (65, 0.802), (70, 0.329), (4, 0.0), (73, 0.0)],
)  # fmt: skip
def test_cardinal_temperature(temp_c: float, response: float) -> None:
    p = parameter_values({"temp_min": 5.0, "temp_opt": 57.0, "temp_max": 72.0})[0]
    assert physics.cardinal_temperature(float(temp_c), p) == pytest.approx(response, abs=6e-4)


@pytest.mark.parametrize(
    ("moisture", "response"), [(0.2, 0.029), (0.3, 0.147), (0.4, 0.503), (0.5, 0.856), (0.6, 0.972)]
)
def test_moisture(moisture: float, response: float) -> None:
    assert physics.moisture_response(moisture, P) == pytest.approx(response, abs=6e-4)


@pytest.mark.parametrize(("temp_c", "share"), [(20, 0.038), (40, 0.135), (55, 0.280), (60, 0.342), (70, 0.474)])
def test_ammonia_share_at_ph_8(temp_c: float, share: float) -> None:
    assert physics.ammonia_fraction(float(temp_c), 8.0, P) == pytest.approx(share, abs=6e-4)


@pytest.mark.parametrize(("temp_c", "ratio"), [(25, 6.73e-4), (40, 1.26e-3), (55, 2.23e-3)])
def test_ammonia_gas_over_water(temp_c: float, ratio: float) -> None:
    assert physics.ammonia_gas_over_water(float(temp_c), P) == pytest.approx(ratio, rel=5e-3)


@pytest.mark.parametrize(("model", "diffusivity"), [(0.0, 5.8e-7), (1.0, 4.5e-7), (2.0, 7.4e-8)])
def test_pore_diffusion_at_20_c(model: float, diffusivity: float) -> None:
    work = np.zeros((WORK_ROWS, 1))
    work[AIR_SPACE], work[PORE] = 0.15, 0.70
    fill_pore_shares(work, model)
    ours = work[DIFFUSIVITY, 0] * physics.oxygen_diffusivity_air(20.0, P)
    assert ours == pytest.approx(diffusivity, rel=0.015)


@pytest.mark.parametrize(
    ("size_m", "air", "permeability"), [(0.0005, 0.15, 7.8e-12), (0.002, 0.35, 2.7e-9), (0.005, 0.45, 5.0e-8)]
)
def test_permeability(size_m: float, air: float, permeability: float) -> None:
    p = parameter_values({"permeability_constant": 150.0})[0]
    assert physics.permeability_m2(size_m, air, p) == pytest.approx(permeability, rel=0.02)


def test_the_slope_of_saturation_is_its_derivative() -> None:
    above, below = (physics.saturation_pressure_pa(temp, P) for temp in (50.001, 49.999))
    assert physics.saturation_slope(50.0, P) == pytest.approx(
        (above - below) / 0.002 / physics.saturation_pressure_pa(50.0, P), rel=1e-6
    )


def test_conductivity_lies_in_the_range_read() -> None:
    assert physics.conductivity(300.0, 200.0, P) == pytest.approx(0.22, abs=1e-9)
