"""The simulator's daily steps against scipy's solvers on the same equations in continuous time.

One material worked into a moist soil at a steady temperature, plenty of mineral nitrogen, no crop and no drainage: equations 7 to 10, 15
and 17 of docs/bed-model.md as a system of ordinary differential equations. Run ``python validation/check_bed_oracle.py`` for the table.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loamery.bed.kernels import usual_place
from loamery.bed.matter import Matter, matter_of
from loamery.bed.mineral import reaction_factor
from loamery.bed.parameters import Parameters, bed_parameters
from loamery.bed.place import Place
from loamery.bed.record import BedRun
from loamery.bed.simulate import WEEK, Portion, simulate_bed
from loamery.bed.warm import moisture_factor, warmth_factor
from loamery.bed.weather import BedWeather
from loamery.lab.combine import compose

pytestmark = pytest.mark.usefixtures("table")

TEMP_C, WEEKS, DOSE = 20.0, 26, 1.0


def soil() -> Place:
    """Return a moist loam rich in nitrate, so that nothing is short."""
    return replace(usual_place(), nitrate_kg_m2=np.array([[0.15]]))


def one_matter(kind: str) -> Matter:
    """Return a material without lag, ammonium or nitrate."""
    found = matter_of(compose(kind, ()), bed_parameters(1))
    none = np.zeros(1)
    return replace(found, lag_days=none, ammonium_n=none, nitrate_n=none)


def pace(place: Place, numbers: Parameters) -> float:
    """Return the days at 25 C and best moisture that a day is worth."""
    filled = float((place.field_capacity / place.porosity)[0, 0])
    return float(warmth_factor(TEMP_C, numbers["q10"])[0] * moisture_factor(filled, numbers["moisture_peak_wfps"])[0])


def peer(kind: str, rtol: float) -> np.ndarray:
    """Return scipy's net nitrogen and nitrate by week, kg per m2, shape (2, weeks)."""
    from scipy.integrate import solve_ivp

    one, place, numbers = one_matter(kind), soil(), bed_parameters(1)
    day = pace(place, numbers)
    rate = one.rate_per_day[:, 0] * day
    death, humus, ratio, kept = (
        float(numbers[key][0]) for key in ("bed_biomass_death", "bed_humus_share", "bed_biomass_cn", "bed_efficiency")
    )
    carbon, nitrogen = DOSE * float(one.carbon[0]) * one.pools[:, 0], DOSE * float(one.organic_n[0]) * one.pool_n[:, 0]
    per_carbon = nitrogen / np.maximum(carbon, 1e-15)
    soil_n, release = _soil_release(place, numbers)
    nitrify = float(numbers["bed_nitrification"][0]) * day * float(reaction_factor(place.ph[0, 0]))

    def rates(_: float, y: np.ndarray) -> np.ndarray:
        eaten, died = rate * y[:3], death * day * y[3]
        intake = eaten.sum() + (1.0 - humus) * died
        net = (eaten * per_carbon).sum() + (1.0 - humus) * died / ratio - kept * intake / ratio
        freed = release * day * y[4]
        give = max(net, 0.0) + freed
        # decomposers take ammonium first: in continuous time what is set free is taken at once, the rest comes from nitrate
        tied = max(-net, 0.0)
        ammonium = give - min(tied, give)
        turned = nitrify * y[5]
        return np.array(
            [
                *(-eaten),
                kept * intake - died,
                humus * died / ratio - freed,
                ammonium - turned,
                turned - (tied - min(tied, give)),
                net,
            ]
        )

    start = np.array([*carbon, 0.0, soil_n, float(place.ammonium_kg_m2[0, 0]), float(place.nitrate_kg_m2[0, 0]), 0.0])
    at = np.arange(1, WEEKS + 1) * float(WEEK)
    found = solve_ivp(rates, (0.0, at[-1]), start, "LSODA", at, rtol=rtol, atol=rtol * 1e-3)
    return np.asarray(found.y[[7, 6]])


def _soil_release(place: Place, numbers: Parameters) -> tuple[float, float]:
    from loamery.bed.day import start_state

    state = start_state(0, place, numbers, 1)
    return float(state.soil_n[0, 0]), float(state.soil_rate[0, 0])


def ours(kind: str, beds: int = 1, draws: int = 1) -> BedRun:
    """Return the simulator on the same case, copied to many beds and draws."""
    still = np.zeros((WEEK * WEEKS, 1))
    doses = np.zeros((1, WEEKS))
    doses[0, 0] = DOSE
    place = soil()
    many = Place(**{name: np.repeat(getattr(place, name), beds, axis=0) for name in Place.__dataclass_fields__})
    numbers = bed_parameters(1)
    wide = Parameters({key: np.repeat(value, draws) for key, value in numbers.values.items()}, draws)
    return simulate_bed(
        [Portion(one_matter(kind))], doses, many, BedWeather(still + TEMP_C, still, still), None, wide, watered=False
    )


def differences(kind: str) -> tuple[float, float]:
    """Return the largest difference of net nitrogen and of nitrate, as shares of the nitrogen given and of the nitrate there."""
    exact, run = peer(kind, 1e-10), ours(kind)
    net = np.cumsum(run.net_n[:, 0, 0, 0])
    given = DOSE * float(one_matter(kind).organic_n[0])
    nitrate = run.stock["nitrate"][1:, 0, 0]
    return float(np.abs(net - exact[0]).max() / given), float(np.abs(nitrate - exact[1]).max() / exact[1].max())


KINDS = ("coffee-spent", "straw-wheat", "grass-clippings", "compost-finished")


@pytest.mark.parametrize("kind", KINDS)
def test_daily_steps_stay_near_continuous_time(kind: str) -> None:
    net, nitrate = differences(kind)
    assert net < 0.002
    assert nitrate < 0.002


def main() -> None:
    """Print the differences."""
    print(f"{'Daily steps against LSODA at 1e-10':38s}{'net N, share of N given':>26s}{'nitrate, share':>18s}")
    for kind in KINDS:
        net, nitrate = differences(kind)
        print(f"{kind:38s}{net:26.2e}{nitrate:18.2e}")


if __name__ == "__main__":
    main()
