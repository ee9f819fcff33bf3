"""Laws of the heap, each a small compiled function of numbers; equation numbers as in docs/heap-model.md."""

from __future__ import annotations

import math
from typing import Any

from loamery.heap.exponential import exponential
from loamery.heap.fast import fast

KELVIN = 273.15
DAY_S = 86400.0


@fast
def saturation_pressure_pa(temp_c: float, p: Any) -> float:
    """Return the pressure of saturated water vapour, Pa (eq. 15; Buck 1981, revised 1996)."""
    return p.saturation_a * exponential((p.saturation_b - temp_c / p.saturation_d) * temp_c / (p.saturation_c + temp_c))


@fast
def saturation_slope(temp_c: float, p: Any) -> float:
    """Return d ln(saturation pressure) / dT, 1/K (derivative of eq. 15)."""
    below = p.saturation_c + temp_c
    bracket = p.saturation_b - temp_c / p.saturation_d
    return (bracket * p.saturation_c / below - temp_c / p.saturation_d) / below


@fast
def vapour_density(temp_c: float, p: Any) -> float:
    """Return the density of saturated water vapour, kg/m3 (eq. 15)."""
    return saturation_pressure_pa(temp_c, p) * p.molar_water / (p.gas_constant * (temp_c + KELVIN))


@fast
def vapour_exponent_and_slope(temp_c: float, p: Any) -> tuple[float, float]:
    """Return the exponent of eq. 15 and the relative slope of the density of saturated water vapour, 1/K."""
    below, kelvin = 1.0 / (p.saturation_c + temp_c), 1.0 / (temp_c + KELVIN)
    least = temp_c / p.saturation_d
    bracket = p.saturation_b - least
    return bracket * temp_c * below, (bracket * p.saturation_c * below - least) * below - kelvin


@fast
def water_activity(water_per_dry: float, p: Any) -> float:
    """Return the activity of water in the material, 0 to 1 (eq. 16); below 0 only on the way to a solution."""
    return 1.0 - exponential(-max(water_per_dry, -p.sorption) / p.sorption)


@fast
def cardinal_temperature(temp_c: float, p: Any) -> float:
    """Return the temperature response, 0 to 1 (eq. 7; Rosso et al. 1993)."""
    low, best, top = p.temp_min, p.temp_opt, p.temp_max
    if temp_c <= low or temp_c >= top:
        return 0.0
    span = best - low
    below = span * (span * (temp_c - best) - (best - top) * (best + low - 2.0 * temp_c))
    return (temp_c - top) * (temp_c - low) ** 2 / below


@fast
def exponential_temperature(temp_c: float, p: Any) -> float:
    """Return the temperature response of the critical-size check, which grows without end (eq. 7)."""
    return exponential(p.temp_exponent * (min(temp_c, 200.0) - p.temp_reference))


@fast
def moisture_response(moisture: float, p: Any) -> float:
    """Return the moisture response, 0 to 1 (eq. 8; Haug 1993)."""
    return 1.0 / (1.0 + exponential(p.moisture_offset - p.moisture_slope * moisture))


@fast
def oxygen_density(temp_c: float, p: Any) -> float:
    """Return the density of pure oxygen gas at air pressure, kg/m3."""
    return p.air_pressure * p.molar_oxygen / (p.gas_constant * (temp_c + KELVIN))


@fast
def air_density(temp_c: float, p: Any) -> float:
    """Return the density of dry air, kg/m3."""
    return p.air_pressure * p.molar_air / (p.gas_constant * (temp_c + KELVIN))


@fast
def oxygen_diffusivity_air(temp_c: float, p: Any) -> float:
    """Return the diffusivity of oxygen in free air, m2/s, growing with absolute temperature to the power 1.75."""
    ratio = (temp_c + KELVIN) / KELVIN
    root = math.sqrt(ratio)
    return p.gas_d0 * ratio * root * math.sqrt(root)


@fast
def vapour_share(air_space: float, porosity: float, p: Any) -> float:
    """Return the diffusivity of vapour in moist pores over that in free air (eq. 4; Philip and de Vries 1957).

    Vapour condenses on one side of a water island and leaves it on the other, so water carries it on wherever air
    lies between: the way round stays short when oxygen's is long.
    """
    islands = air_space / (air_space + p.island_air)
    return p.vapour_tortuosity * (air_space + (porosity - air_space) * islands)


@fast
def draught_excess(excess_k: float, p: Any) -> float:
    """Return the excess temperature that drives the warm air, K (eq. 5): never quite none, for moist air is lighter."""
    return 0.5 * (excess_k + math.sqrt(excess_k * excess_k + p.draught_least * p.draught_least))


@fast
def beside_flow(conductance: float, flow: float) -> float:
    """Return the conductance that, with a flow taken from the cell it leaves, gives the mean of both cells at the face.

    Second order while diffusion outdoes half of the flow, first order and never below zero beyond (Spalding 1972).
    """
    return max(conductance - 0.5 * flow, 0.0)


@fast
def permeability_m2(particle_m: float, air_space: float, p: Any) -> float:
    """Return the air permeability, m2 (eq. 5; Kozeny-Carman)."""
    solid = 1.0 - air_space
    return particle_m * particle_m * air_space**3 / (p.permeability_constant * solid * solid)


@fast
def conductivity(water_kg_m3: float, dry_kg_m3: float, p: Any) -> float:
    """Return the thermal conductivity without vapour, W/m/K (eq. 14; a line inside the ranges of Ahn et al. 2009)."""
    return p.conduct_base + p.conduct_water * water_kg_m3 + p.conduct_solid * dry_kg_m3


@fast
def ammonia_fraction(temp_c: float, ph: float, p: Any) -> float:
    """Return the share of dissolved ammoniacal nitrogen that is ammonia (eq. 20; Emerson et al. 1975)."""
    pka = p.pka_a + p.pka_b / (temp_c + KELVIN)
    return 1.0 / (1.0 + exponential(math.log(10.0) * (pka - ph)))


@fast
def ammonia_gas_over_water(temp_c: float, p: Any) -> float:
    """Return ammonia per volume of gas over ammonia per volume of water (eq. 20; Clegg and Brimblecombe 1989)."""
    kelvin = temp_c + KELVIN
    mol_kg_atm = exponential(p.henry_a + p.henry_b / kelvin + p.henry_c * kelvin)
    return p.air_pressure / (mol_kg_atm * p.rho_water * p.gas_constant * kelvin)
