"""The heap's solver against solutions known from elsewhere; run ``python validation/check_heap_oracles.py`` for the table.

- Transient conduction: series solutions, Carslaw and Jaeger; Incropera ch. 5 (recalled); roots found here with scipy.
- Effectiveness factors of a first-order reaction: Aris (recalled).
- Critical size: Frank-Kamenetskii, 0.878, 2.00, 3.32 (recalled; recomputed in the reference notes).
- The same equations, written a second time in numpy, solved by scipy's BDF and by SUNDIALS' CVODE.
- Saturation pressure: CoolProp (IAPWS); moist air: psychrolib (ASHRAE).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import optimize, special
from scipy.integrate import solve_ivp

from loamery.heap import layout as at
from loamery.heap.heat_water import fill_carried, solve_stage
from loamery.heap.mesh import cell_shares, fill_geometry
from loamery.heap.model import heap_record, simulate
from loamery.heap.oxygen import solve_oxygen
from loamery.heap.parameters import parameter_values
from loamery.heap.physics import oxygen_density, saturation_pressure_pa, vapour_density
from loamery.heap.rhs import MOVING, HeapEquations, in_units
from loamery.heap.spec import HeapSpec
from validation.heap_cases import BALANCED, constant

Array = NDArray[np.float64]
Rates = Callable[[float, Array], Array]
SHAPES = ("layer", "bin", "pile")
SIZE, CELLS = 0.5, 160


class Body:
    """A plain body cut as the kernel cuts a heap, for its solvers to work on."""

    def __init__(self, shape: str, cells: int = CELLS) -> None:
        j = SHAPES.index(shape)
        volume = {0: SIZE, 1: math.pi * SIZE**2, 2: 2.0 / 3.0 * math.pi * SIZE**3}[j]
        size = {"depth_m": SIZE} if j == 0 else {"volume_m3": volume, "radius_m": SIZE}
        self.spec = HeapSpec(BALANCED, shape, weather=constant(0.0), **size)  # type: ignore[arg-type]
        self.h, self.p = heap_record(self.spec)[0], parameter_values({"latent_transport": 0.0})[0]
        self.work = np.zeros((at.WORK_ROWS, cells))
        self.work[at.VOLUME] = volume * cell_shares(j, cells)
        self.area, self.ring = np.zeros(cells + 1), np.zeros(cells)
        fill_geometry(self.work, self.h, self.area, self.ring)
        self.half = self.work[at.HALF_WIDTH].copy()
        self.faces = self.area[1:-1] / (self.half[:-1] + self.half[1:])
        self.volume = self.work[at.VOLUME].copy()


def conduct(shape: str, biot: float, fourier: float, steps: int = 400) -> float:
    """Return the temperature of the innermost cell, 1 at the start and 0 outside, by the kernel's implicit stages."""
    body, gamma = Body(shape), 1.0 - 1.0 / math.sqrt(2.0)
    w, p, k = body.work, body.p, 0.3
    w[at.FACE_HEAT, :-1] = k * body.faces
    film = biot * k / SIZE
    w[at.OUT_HEAT, -1] = body.area[-1] / (1.0 / film + body.half[-1] / k)
    holds = 2.0e6
    w[at.STAGE_DRY] = holds * body.volume / p["cp_solid"]
    outside, books = np.zeros(at.OUTSIDE), np.zeros(at.ACCOUNTS)
    fill_carried(w, p, outside)
    heat, dt = holds * body.volume, fourier * SIZE**2 * holds / k / steps
    temp = np.ones(CELLS)
    for _ in range(steps):
        w[at.TRY_TEMP], w[at.TRY_WATER], w[at.BASE_WATER], w[at.BASE_HEAT] = temp, 0.0, 0.0, heat
        assert solve_stage(w, p, outside, gamma * dt, 0.0, books)
        w[at.BASE_HEAT] = heat + (1.0 - gamma) / gamma * (w[at.TRY_HEAT] - heat)
        assert solve_stage(w, p, outside, gamma * dt, 0.0, books)
        heat = w[at.TRY_HEAT].copy()
        temp = heat / (holds * body.volume)
    return float(temp[0])


def series(shape: str, biot: float, fourier: float, at_share: float, terms: int = 12) -> float:
    """Return the series solution at a share of the size."""
    equations = {
        "layer": lambda z: z * math.sin(z) - biot * math.cos(z),
        "bin": lambda z: z * special.j1(z) - biot * special.j0(z),
        "pile": lambda z: z * math.cos(z) - (1.0 - biot) * math.sin(z),
    }
    grid = np.linspace(1e-3, (terms + 1) * math.pi, 20000)
    values = np.array([equations[shape](z) for z in grid])
    roots = [
        optimize.brentq(equations[shape], grid[i], grid[i + 1]) for i in np.flatnonzero(values[:-1] * values[1:] < 0)
    ]
    return sum(_term(shape, z, fourier, at_share) for z in roots[:terms])


def _term(shape: str, z: float, fourier: float, x: float) -> float:
    fade = math.exp(-z * z * fourier)
    if shape == "layer":
        return 4 * math.sin(z) / (2 * z + math.sin(2 * z)) * fade * math.cos(z * x)
    if shape == "bin":
        lead = 2 / z * special.j1(z) / (special.j0(z) ** 2 + special.j1(z) ** 2)
        return float(lead * fade * special.j0(z * x))
    return 4 * (math.sin(z) - z * math.cos(z)) / (2 * z - math.sin(2 * z)) * fade * math.sin(z * x) / (z * x)


CONDUCTION = [(shape, biot, fourier) for shape in SHAPES for biot, fourier in ((1.0, 0.5), (5.0, 0.1), (10.0, 0.5))]


@pytest.mark.parametrize(("shape", "biot", "fourier"), CONDUCTION)
def test_transient_conduction(shape: str, biot: float, fourier: float) -> None:
    centre = float(Body(shape).half[0]) / SIZE
    assert conduct(shape, biot, fourier) == pytest.approx(series(shape, biot, fourier, centre), abs=1e-3)


PRINTED = {  # Fo, centre, from the reference notes (first reading, section 11, and second reading, 9b)
    ("layer", 1.0, 0.5): 0.77253, ("bin", 1.0, 0.5): 0.54859, ("pile", 1.0, 0.5): 0.37078,
    ("layer", 10.0, 0.5): 0.45464, ("bin", 10.0, 0.5): 0.14580, ("pile", 10.0, 0.5): 0.03448,
}  # fmt: skip


@pytest.mark.parametrize(("key", "printed"), PRINTED.items())
def test_our_series_gives_the_printed_centre(key: tuple[str, float, float], printed: float) -> None:
    assert series(*key, 1e-6) == pytest.approx(printed, abs=1e-5)


def effectiveness(shape: str, thiele: float) -> float:
    """Return the uptake over the uptake at full outside oxygen, by the kernel's oxygen solver made first order."""
    body, half = Body(shape), 1e6
    w = body.work
    p = parameter_values({"oxygen_half": half})[0]
    diffusivity = 1e-6
    density = oxygen_density(0.0, p)
    w[at.AIR_SPACE] = 0.5
    w[at.FACE_GAS, :-1] = diffusivity * body.faces
    w[at.OUT_OXYGEN, -1] = body.area[-1] * diffusivity / body.half[-1]
    w[at.DEMAND] = thiele**2 / SIZE**2 * diffusivity * density * half * body.volume
    state, new, books = np.zeros((at.STATES, CELLS)), np.zeros((at.STATES, CELLS)), np.zeros(at.ACCOUNTS)
    assert solve_oxygen(state, new, w, body.h, p, 0.0, 1e15, books)
    used = (w[at.DEMAND] * w[at.OXYGEN_FACTOR]).sum()
    return float(used / (w[at.DEMAND].sum() * body.h["oxygen_outside"] / half))


def theory(shape: str, phi: float) -> float:
    """Return the published effectiveness factor."""
    if shape == "layer":
        return math.tanh(phi) / phi
    if shape == "bin":
        return float(2 * special.i1(phi) / (phi * special.i0(phi)))
    return 3 / phi**2 * (phi / math.tanh(phi) - 1)


THIELE = [(shape, phi) for shape in SHAPES for phi in (0.5, 1.0, 2.0, 5.0)]


@pytest.mark.parametrize(("shape", "phi"), THIELE)
def test_effectiveness_factor(shape: str, phi: float) -> None:
    assert effectiveness(shape, phi) == pytest.approx(theory(shape, phi), abs=1e-3)


def runs_away(shape: str, delta: float) -> bool:
    """Return whether a body with a source exp(theta) runs away, by the kernel's implicit stages."""
    body = Body(shape, 60)
    w, p, n = body.work, body.p, 60
    w[at.FACE_HEAT, :-1] = body.faces
    w[at.OUT_HEAT, -1] = body.area[-1] / body.half[-1]
    w[at.STAGE_DRY] = body.volume / p["cp_solid"]
    outside, books = np.zeros(at.OUTSIDE), np.zeros(at.ACCOUNTS)
    fill_carried(w, p, outside)
    temp, dt = np.zeros(n), 0.05 * SIZE**2
    for _ in range(4000):
        source = delta / SIZE**2 * np.exp(temp) * body.volume
        w[at.TRY_TEMP], w[at.TRY_WATER], w[at.BASE_WATER] = temp, 0.0, 0.0
        w[at.BASE_HEAT] = temp * body.volume + dt * source
        solve_stage(w, p, outside, dt, 0.0, books)
        change = float(np.abs(w[at.TRY_TEMP] - temp).max())
        temp = w[at.TRY_TEMP].copy()
        if temp.max() > 5.0:
            return True
        if change < 1e-9:
            return False
    return False


@cache
def critical(shape: str) -> float:
    """Return the least source that runs away (bisection)."""
    low, high = 0.5, 5.0
    while high - low > 2e-3:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if runs_away(shape, middle) else (middle, high)
    return 0.5 * (low + high)


FRANK_KAMENETSKII = {"layer": 0.878458, "bin": 2.0, "pile": 3.321992}


@pytest.mark.parametrize(("shape", "published"), FRANK_KAMENETSKII.items())
def test_critical_value(shape: str, published: float) -> None:
    assert critical(shape) == pytest.approx(published, rel=0.02)


SAME = {
    "layer": HeapSpec(BALANCED, "layer", depth_m=0.3, weather=constant(18.0)),
    "bin": HeapSpec(BALANCED, "bin", volume_m3=0.2, wall_r=0.3, wall_open=0.1, weather=constant(18.0)),
    "pile": HeapSpec(BALANCED, "pile", volume_m3=0.5, weather=constant(18.0)),
}
SPAN = 12.0


def by_bdf(rates: Rates, start: Array, days: Array) -> Array:
    """Return scipy's solution, shape (times, entries)."""
    found = solve_ivp(rates, (0.0, SPAN), start, "BDF", days, rtol=1e-6, atol=1e-9)
    assert found.success
    return np.asarray(found.y.T)


def by_cvode(rates: Rates, start: Array, days: Array) -> Array:
    """Return the solution of SUNDIALS, shape (times, entries)."""
    from sksundae.cvode import CVODE

    def filled(day: float, z: Array, out: Array) -> None:
        out[:] = rates(day, z)

    found = CVODE(filled, method="BDF", rtol=1e-6, atol=1e-9, max_num_steps=100_000).solve(days, start)
    assert found.success
    return np.asarray(found.y)


SOLVERS = {"BDF": by_bdf, "CVODE": by_cvode}


@cache
def same_equations(shape: str, solver: str) -> dict[str, float]:
    """Return the root mean square difference to a solver over the run, relative to the range; 8 cells, 12 days."""
    spec, cells = SAME[shape], 8
    equations = HeapEquations(spec, cells)
    rates, start, scale = in_units(equations)
    run = simulate(spec, SPAN, cells, tolerance_k=0.005, longest_step_days=0.02)
    other = SOLVERS[solver](rates, start, run.day) * scale
    state = other.reshape(run.day.size, cells, MOVING).transpose(0, 2, 1)
    temp = np.array([equations.cell(one, 86400.0 * day)["temp"] for one, day in zip(state, run.day, strict=True)])
    pairs = {"temperature": (run.temp_c, temp)}
    pairs |= {name: (run.state(row), state[:, row]) for name, row in (
        ("fast", at.FAST), ("slow", at.SLOW), ("organic N", at.N_ORG), ("ammoniacal N", at.N_AMM), ("water", at.WATER),
        ("activity", at.ACTIVITY), ("oxygen", at.OXYGEN))}  # fmt: skip
    return {name: float(np.sqrt(np.mean((a - b) ** 2)) / np.abs(b).max()) for name, (a, b) in pairs.items()}


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("solver", SOLVERS)
def test_same_equations_by_another_solver(shape: str, solver: str) -> None:
    assert max(same_equations(shape, solver).values()) < 1e-3


@pytest.mark.parametrize("temp_c", [1.0, 10.0, 20.0, 40.0, 55.0, 65.0, 75.0, 85.0])
def test_saturation_pressure(temp_c: float) -> None:
    from CoolProp.CoolProp import PropsSI

    ours = saturation_pressure_pa(temp_c, parameter_values()[0])
    assert ours == pytest.approx(PropsSI("P", "T", temp_c + 273.15, "Q", 1, "Water"), rel=1.5e-3)


@pytest.mark.parametrize("temp_c", [5.0, 20.0, 40.0, 60.0])
def test_vapour_density_and_moist_air(temp_c: float) -> None:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    p = parameter_values()[0]
    ratio = psychrolib.GetSatHumRatio(temp_c, 101325.0)
    pressure = 101325.0 * ratio / (0.621945 + ratio)
    theirs = pressure * 0.01801528 / (8.314462618 * (temp_c + 273.15))
    assert vapour_density(temp_c, p) == pytest.approx(theirs, rel=6e-3)
    ours = p["latent_zero"] + p["cp_vapour"] * temp_c
    assert ours == pytest.approx(
        psychrolib.GetSatAirEnthalpy(temp_c, 101325.0) / ratio - 1006 * temp_c / ratio, rel=6e-3
    )


def table() -> str:
    """Return ours beside theirs."""
    lines = ["transient conduction, centre cell       ours      series"]
    for shape, biot, fourier in CONDUCTION:
        there = series(shape, biot, fourier, float(Body(shape).half[0]) / SIZE)
        lines.append(
            f"  {shape:6s} Bi {biot:4.0f} Fo {fourier:.1f}          {conduct(shape, biot, fourier):8.5f}  {there:8.5f}"
        )
    lines.append("effectiveness factor                    ours      theory")
    lines += [
        f"  {shape:6s} phi {phi:3.1f}                  {effectiveness(shape, phi):8.5f}  {theory(shape, phi):8.5f}"
        for shape, phi in THIELE
    ]
    lines.append("critical value                          ours      published")
    lines += [
        f"  {shape:6s}                          {critical(shape):8.3f}  {there:8.3f}"
        for shape, there in FRANK_KAMENETSKII.items()
    ]
    lines.append("the same equations by another solver, root mean square difference over the largest value")
    lines += [
        f"  {solver} {shape:6s} " + ", ".join(f"{k} {v:.1e}" for k, v in same_equations(shape, solver).items())
        for shape in SHAPES
        for solver in SOLVERS
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    print(table())
