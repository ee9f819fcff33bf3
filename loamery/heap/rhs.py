"""The same equations written a second time, in plain numpy, as one right-hand side for a general solver of stiff systems.

Nothing here is used by the model. It is what the compiled kernel is checked and timed against: written from
docs/heap-model.md, with the fluxes as they stand there, without the kernel's stages, straightening or step control.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.heap import layout as at
from loamery.heap.model import heap_record, start_state
from loamery.heap.parameters import parameter_values
from loamery.heap.spec import HeapSpec

Array = NDArray[np.float64]
DAY_S, KELVIN = 86400.0, 273.15
MOVING = 9
"""Rows of the state that change between events; START does not."""


class HeapEquations:
    """The rates of change of one heap.

    Parameters
    ----------
    spec : the heap; turnings and waterings are left to the caller.
    cells : number of cells.
    """

    def __init__(self, spec: HeapSpec, cells: int) -> None:
        self.spec = spec
        self.p: Any = parameter_values(spec.changes)[0]
        self.h: Any = heap_record(spec)[0]
        self.share, self.start = start_state(spec, cells)
        self.dry_start = self.start[at.START]
        self.cells = cells
        self.weather = spec.weather.table

    def initial(self) -> Array:
        """Return the state at the start as one vector, cell by cell, shape (cells * MOVING,)."""
        return np.asarray(self.start[:MOVING].T.ravel())

    def __call__(self, time_s: float, vector: Array) -> Array:
        """Return the rates of change, per second, shape (cells * MOVING,)."""
        y = vector.reshape(self.cells, MOVING).T
        rate = np.zeros_like(y)
        out = self.outside(time_s)
        cell = self.cell(y, time_s)
        self.conductances(cell, out)
        self.decay(y, cell, rate)
        self.oxygen(cell, out, rate)
        self.ammonia(y, cell, rate)
        self.seep(y, cell, out, rate)
        self.heat_and_water(cell, out, rate)
        return np.asarray(rate.T.ravel())

    def outside(self, time_s: float) -> dict[str, float]:
        """Return the weather at one time (straight lines between days), rain as kg/m2/s."""
        w, last = self.weather, self.weather.shape[0] - 1
        day = min(max(time_s / DAY_S, 0.0), float(last))
        i = min(int(day), max(last - 1, 0))
        row = w[i] + (day - i) * (w[min(i + 1, last)] - w[i])
        rain = (w[min(i + 1, last), at.RAIN_SUM] - w[i, at.RAIN_SUM]) / DAY_S if day < last else 0.0
        air, p = float(row[at.AIR_C]), self.p
        film = p["convection_calm"] + p["convection_wind"] * row[at.WIND]
        surface = film + 4.0 * p["emissivity"] * p["stefan_boltzmann"] * (air + KELVIN) ** 3
        return {
            "air": air, "soil": float(row[at.SOIL_C]), "sun": float(row[at.SUN]), "rain": float(rain),
            "rho": float(row[at.HUMIDITY] * self.vapour(np.array(air))), "surface": float(surface),
            "film": float(film / (self.air_density(air) * p["air_cp"])),
        }  # fmt: skip

    def vapour(self, temp: Array) -> Array:
        """Return the density of saturated vapour, kg/m3 (eq. 15)."""
        p = self.p
        pressure = p["saturation_a"] * np.exp(
            (p["saturation_b"] - temp / p["saturation_d"]) * temp / (p["saturation_c"] + temp)
        )
        return np.asarray(pressure * p["molar_water"] / (p["gas_constant"] * (temp + KELVIN)))

    def air_density(self, temp: float) -> float:
        """Return the density of dry air, kg/m3."""
        return float(self.p["air_pressure"] * self.p["molar_air"] / (self.p["gas_constant"] * (temp + KELVIN)))

    def oxygen_density(self, temp: Array | float) -> Array:
        """Return the density of pure oxygen, kg/m3."""
        return np.asarray(
            self.p["air_pressure"] * self.p["molar_oxygen"] / (self.p["gas_constant"] * (np.asarray(temp) + KELVIN))
        )

    def cell(self, y: Array, time_s: float) -> dict[str, Array]:
        """Return what follows from the state in each cell (eq. 1-3, 16)."""
        p, h = self.p, self.h
        ash = h["ash_share"] * self.dry_start
        organic = y[at.FAST] + y[at.SLOW] + y[at.RECAL]
        dry, water = organic + ash, np.maximum(y[at.WATER], 1e-12)
        solid = organic / p["rho_organic"] + ash / p["rho_ash"]
        full = solid + water / p["rho_water"]
        settled = p["settle_share"] * (1.0 - np.exp(-time_s / (p["settle_days"] * DAY_S)))
        soft = p["soft_volume"] * (y[at.FAST] + y[at.SLOW]) * (1.0 - settled)
        loose = h["loose_m3_per_kg"] * (soft + y[at.RECAL] + ash)
        volume = np.maximum(loose, full / (1.0 - p["air_space_floor"]))
        air = 1.0 - full / volume
        temp = y[at.HEAT] / (dry * p["cp_solid"] + water * p["cp_water"])
        store = self.oxygen_density(p["oxygen_store_temp"])
        share = np.maximum(y[at.OXYGEN] / (store * air * volume), 0.0)
        rho = p["latent_transport"] * (1.0 - np.exp(-water / dry / p["sorption"])) * self.vapour(temp)
        return {"dry": dry, "water": water, "volume": volume, "air": air, "pores": 1.0 - solid / volume, "temp": temp,
                "share": share, "rho": rho}  # fmt: skip

    def conductances(self, c: dict[str, Array], out: dict[str, float]) -> None:
        """Add faces, diffusivities and exchanges to the cells (eq. 1, 4, 5, 14, 17, 18)."""
        p, h, n = self.p, self.h, self.cells
        below = np.concatenate([[0.0], np.cumsum(c["volume"])])
        if h["geometry"] == at.LAYER:
            faces, area = below / h["area_m2"], np.full(n + 1, h["area_m2"])
            height, ring = faces[-1], np.concatenate([[h["area_m2"]], np.zeros(n - 1)])
        elif h["geometry"] == at.BIN:
            height = below[-1] / (np.pi * h["radius_m"] ** 2)
            faces = h["radius_m"] * np.sqrt(below / below[-1])
            area, ring = 2.0 * np.pi * faces * height, np.pi * np.diff(faces**2)
        else:
            faces = np.cbrt(1.5 * below / np.pi)
            height, area, ring = faces[-1], 2.0 * np.pi * faces**2, np.pi * np.diff(faces**2)
        half = 0.5 * np.diff(faces)
        law = int(p["diffusion_model"])
        share = (c["air"] ** 2 / c["pores"] ** (2 / 3), c["air"] ** 2, c["air"] ** (10 / 3) / c["pores"] ** 2)[law]
        gas = share * p["gas_d0"] * ((c["temp"] + KELVIN) / KELVIN) ** 1.75
        conduct = p["conduct_base"] + (p["conduct_water"] * c["water"] + p["conduct_solid"] * c["dry"]) / c["volume"]
        permeability = h["particle_m"] ** 2 * c["air"] ** 3 / (p["permeability_constant"] * (1.0 - c["air"]) ** 2)
        warm = (c["temp"] * c["volume"]).sum() / c["volume"].sum() - out["air"]
        excess = 0.5 * (warm + np.sqrt(warm**2 + p["draught_least"] ** 2))
        drive = self.air_density(out["air"]) * p["gravity"] * excess / ((out["air"] + KELVIN) * p["air_viscosity"])
        speed = permeability * drive / (1.0 + permeability * drive / p["chimney_max"])
        share_in = p["chimney_bin"] if h["geometry"] == at.BIN else p["chimney"]
        fresh = p["buoyancy"] * h["vent"] * share_in * speed / height * c["volume"]
        crust = 1.0 if h["geometry"] == at.LAYER else p["crust_share"]
        c["air_in"], c["air_out"], c["through"] = fresh, (1.0 - crust) * fresh, np.cumsum(crust * fresh)
        c["air_out"][-1] += c["through"][-1]
        c["through"] = c["through"][:-1]
        c["wet"] = 1.0 - np.exp(-c["water"] / c["dry"] / p["sorption"])
        vapour = np.minimum(
            c["wet"] * self.vapour(c["temp"]) * p["gas_constant"] * (c["temp"] + KELVIN) / p["molar_water"],
            0.7 * p["air_pressure"],
        )
        c["swelling"] = (c["temp"] + KELVIN) / (out["air"] + KELVIN) * p["air_pressure"] / (p["air_pressure"] - vapour)
        islands = c["air"] / (c["air"] + p["island_air"])
        moist = p["gas_diffusion_vapour"] * p["vapour_tortuosity"] * (c["air"] + (c["pores"] - c["air"]) * islands)
        moist = moist * p["gas_d0"] * ((c["temp"] + KELVIN) / KELVIN) ** 1.75
        c["face_vapour"] = area[1:-1] / (half[:-1] / moist[:-1] + half[1:] / moist[1:])
        c["face_gas"] = area[1:-1] / (half[:-1] / gas[:-1] + half[1:] / gas[1:])
        c["face_heat"] = area[1:-1] / (half[:-1] / conduct[:-1] + half[1:] / conduct[1:])
        filled = 1.0 - c["air"] / c["pores"]
        full = (0.5 * (filled[:-1] + filled[1:])) ** 3
        c["face_liquid"] = area[1:-1] * p["liquid_diffusion"] * full / (half[:-1] + half[1:])
        path = half if h["geometry"] == at.LAYER else np.full(n, height / 3.0)
        c["out_ground"] = h["ground"] * ring / (1.0 / p["ground_exchange"] + path / conduct)
        c["area"], c["half"], c["ring"], c["conduct"] = area, half, ring, conduct
        c["height"] = np.array(height)
        c["air_heat"] = np.array(self.air_density(out["air"]) * p["air_cp"])
        for name in ("heat", "oxygen", "vapour", "ammonia"):
            c[f"out_{name}"] = np.zeros(n)
        top = np.zeros(n)
        top[-1] = area[-1]
        dried = 1.0 - c["wet"]
        if h["geometry"] == at.BIN:
            self._open(c, out, (gas, moist), top, (half, dried * half), h["wall_r"], h["wall_open"])
            third = np.full(n, height / 3.0)
            self._open(c, out, (gas, moist), ring, (third, third), h["cover_r"], h["cover_open"])
        else:
            self._open(c, out, (gas, moist), top, (half, dried * half), h["cover_r"], h["cover_open"])

    def _open(
        self,
        c: dict[str, Array],
        out: dict[str, float],
        through: tuple[Array, Array],
        area: Array,
        paths: tuple[Array, Array],
        cover_r: float,
        opening: float,
    ) -> None:
        (gas, moist), (path, dry_path) = through, paths
        c["out_heat"] += area / (1.0 / out["surface"] + cover_r + path / c["conduct"])
        if opening > 0.0:
            holes = 1.0 / (opening * out["film"])
            c["out_oxygen"] += area / (holes + path / gas)
            c["out_vapour"] += area / (holes + dry_path / moist)
            c["out_ammonia"] += area / (holes + path / (self.p["gas_diffusion_ammonia"] * gas))

    def decay(self, y: Array, c: dict[str, Array], rate: Array) -> None:
        """Set the rates of pools, activity and nitrogen, with their heat and water (eq. 6-11, 19)."""
        p, h = self.p, self.h
        temp, a = c["temp"], y[at.ACTIVITY]
        low, best, top = p["temp_min"], p["temp_opt"], p["temp_max"]
        span = best - low
        curve = (
            (temp - top)
            * (temp - low) ** 2
            / (span * (span * (temp - best) - (best - top) * (best + low - 2.0 * temp)))
        )
        warm = np.where((temp > low) & (temp < top), curve, 0.0)
        wet = 1.0 / (1.0 + np.exp(p["moisture_offset"] - p["moisture_slope"] * c["water"] / (c["water"] + c["dry"])))
        carbon = h["carbon_fast"] * y[at.FAST] + h["carbon_slow"] * y[at.SLOW] + h["carbon_recal"] * y[at.RECAL]
        free = y[at.N_AMM] / (y[at.N_AMM] + p["ammonium_half"] * c["dry"])
        supplied = y[at.N_ORG] / carbon * p["cn_biomass"] / p["assimilation"]
        enough = np.where(supplied >= 1.0, 1.0, free + (1.0 - free) * supplied)
        pace = warm * wet * a * enough / DAY_S
        fast, slow, recal = (p[k] * pace * y[row] for k, row in
                             (("k_fast", at.FAST), ("k_slow", at.SLOW), ("k_recalcitrant", at.RECAL)))  # fmt: skip
        air = c["share"] / (p["oxygen_half"] + c["share"]) if p["oxygen_limit"] > 0.5 else np.ones(self.cells)
        airless = p["anaerobic_share"] * (1.0 - air)
        both, kept = air + airless, 1.0 - p["humus_yield"]
        easy = h["carbon_fast"] * fast + h["carbon_slow"] * slow
        humus = p["humus_yield"] * both * easy / h["carbon_recal"]
        rate[at.FAST], rate[at.SLOW], rate[at.RECAL] = -both * fast, -both * slow, humus - both * recal
        rate[at.ACTIVITY] = p["activity_growth"] / DAY_S * warm * wet * air * a * (1.0 - a)
        c["used"] = air * (kept * (h["oxygen_fast"] * fast + h["oxygen_slow"] * slow) + h["oxygen_recal"] * recal)
        formed = p["water_per_matter"] * air * (kept * (fast + slow) + recal)
        lost = both * (fast + slow + recal) - humus
        rate[at.WATER] += formed
        rate[at.HEAT] += p["heat_per_oxygen"] * c["used"] + p["anaerobic_heat"] * airless * (fast + slow + recal)
        rate[at.HEAT] += (p["cp_water"] * formed - p["cp_solid"] * lost) * temp
        net = y[at.N_ORG] / carbon - p["assimilation"] / p["cn_biomass"]
        moved = np.where(net < 0.0, net * free, net) * both * (kept * easy + h["carbon_recal"] * recal)
        rate[at.N_ORG] -= moved
        rate[at.N_AMM] += moved

    def oxygen(self, c: dict[str, Array], out: dict[str, float], rate: Array) -> None:
        """Set the rate of oxygen (eq. 12)."""
        density = self.oxygen_density(c["temp"])
        between = self.oxygen_density(0.5 * (c["temp"][:-1] + c["temp"][1:]))
        used = c["used"] if self.p["oxygen_limit"] > 0.5 else 0.0
        rate[at.OXYGEN] = c["out_oxygen"] * density * (self.h["oxygen_outside"] - c["share"]) - used
        fresh = self.oxygen_density(out["air"])
        rate[at.OXYGEN] += fresh * (c["air_in"] * self.h["oxygen_outside"] - c["air_out"] * c["share"])
        _across(rate[at.OXYGEN], _passing(c["face_gas"] * between, fresh * c["through"], c["share"]))

    def ammonia(self, y: Array, c: dict[str, Array], rate: Array) -> None:
        """Add the movement of ammonia (eq. 20, 21)."""
        p = self.p
        kelvin = c["temp"] + KELVIN
        ph = self.h["ph_start"] + (p["ph_hot"] - self.h["ph_start"]) * y[at.ACTIVITY]
        fraction = 1.0 / (1.0 + 10.0 ** (p["pka_a"] + p["pka_b"] / kelvin - ph))
        henry = np.exp(p["henry_a"] + p["henry_b"] / kelvin + p["henry_c"] * kelvin)
        ratio = p["air_pressure"] / (henry * p["rho_water"] * p["gas_constant"] * kelvin)
        water = np.maximum(c["water"], 0.05 * c["dry"]) / p["rho_water"]
        gas = fraction * ratio / (p["ammonium_retardation"] * water) * y[at.N_AMM]
        rate[at.N_AMM] -= (c["out_ammonia"] + c["air_out"] * c["swelling"]) * gas
        flow = c["through"] * c["swelling"][:-1]
        _across(rate[at.N_AMM], _passing(p["gas_diffusion_ammonia"] * c["face_gas"], flow, gas))

    def seep(self, y: Array, c: dict[str, Array], out: dict[str, float], rate: Array) -> None:
        """Add rain, sun and seepage (eq. 17, 22)."""
        p, h = self.p, self.h
        plan, path = np.zeros(self.cells), c["half"].copy()
        plan[-1] = c["ring"].sum()
        if h["geometry"] == at.BIN:
            plan, path = c["ring"], np.full(self.cells, float(c["height"]) / 3.0)
        rain = out["rain"] * h["rain_share"] * plan
        rate[at.WATER] += rain
        inside = 1.0 / (1.0 + out["surface"] * (h["cover_r"] + path / c["conduct"]))
        rate[at.HEAT] += rain * p["cp_water"] * max(out["air"], 0.0) + p["absorptivity"] * out["sun"] * plan * inside
        sinks = float(c["height"]) if h["geometry"] == at.BIN else 2.0 * c["half"]
        holds = np.minimum(h["holds_kg_kg"] * c["dry"], p["drained_pores"] * p["rho_water"] * c["pores"] * c["volume"])
        leaving = np.maximum(y[at.WATER] - holds, 0.0) * p["drain_velocity"] / DAY_S / sinks
        down = c["area"][:-1] / c["area"][1:]
        down = {at.LAYER: np.ones(self.cells), at.BIN: np.zeros(self.cells)}.get(int(h["geometry"]), down)
        nitrogen = p["ammonium_leach_share"] * y[at.N_AMM] / (p["ammonium_retardation"] * c["water"])
        for row, carried in ((at.WATER, 1.0), (at.HEAT, p["cp_water"] * c["temp"]), (at.N_AMM, nitrogen)):
            rate[row] -= leaving * carried
            rate[row, :-1] += (down * leaving * carried)[1:]

    def heat_and_water(self, c: dict[str, Array], out: dict[str, float], rate: Array) -> None:
        """Add conduction, vapour, liquid and the exchange with air and ground (eq. 13, 16-18)."""
        p, temp = self.p, c["temp"]
        between = 0.5 * (temp[:-1] + temp[1:])
        vapour = _passing(c["face_vapour"], c["through"] * c["swelling"][:-1], c["rho"])
        wet = c["water"] / c["volume"]
        liquid = c["face_liquid"] * (wet[:-1] - wet[1:])
        heat = _passing(c["face_heat"], c["through"] * c["air_heat"], temp - out["air"])
        heat = heat + (p["latent_zero"] + p["cp_vapour"] * between) * vapour + p["cp_water"] * between * liquid
        _across(rate[at.WATER], vapour + liquid)
        _across(rate[at.HEAT], heat)
        there = p["latent_transport"] * out["rho"]
        leaving = c["out_vapour"] * (c["rho"] - there)
        leaving = leaving + c["air_out"] * c["swelling"] * c["rho"] - c["air_in"] * there
        rate[at.WATER] -= leaving
        rate[at.HEAT] -= (p["latent_zero"] + p["cp_vapour"] * temp) * leaving
        warm = c["out_heat"] + c["air_out"] * c["air_heat"]
        rate[at.HEAT] -= warm * (temp - out["air"]) + c["out_ground"] * (temp - out["soil"])

    def scales(self) -> Array:
        """Return a size for every entry of the state, so that one relative tolerance fits all, shape (cells * MOVING,)."""
        p = self.p
        scale = np.empty((MOVING, self.cells))
        holds = self.dry_start * p["cp_solid"] + self.start[at.WATER] * p["cp_water"]
        for row in range(MOVING):
            scale[row] = {at.ACTIVITY: 1.0, at.WATER: self.start[at.WATER], at.HEAT: 50.0 * holds, at.OXYGEN: self.start[at.OXYGEN],
                          at.N_ORG: 0.02 * self.dry_start, at.N_AMM: 0.002 * self.dry_start}.get(row, self.dry_start)  # fmt: skip
        return np.asarray(scale.T.ravel())


def _across(rate: Array, flux: Array) -> None:
    """Take a flux outwards through each inner face from one cell and give it to the next."""
    rate[:-1] -= flux
    rate[1:] += flux


def _passing(conductance: Array, flow: Array, value: Array) -> Array:
    """Return what diffuses and flows outwards through each inner face (eq. 5)."""
    back = np.maximum(conductance - 0.5 * flow, 0.0)
    return np.asarray((back + flow) * value[:-1] - back * value[1:])


def in_units(equations: HeapEquations) -> tuple[Callable[[float, Array], Array], Array, Array]:
    """Return the rates, the start and the scales with every entry of the state near 1, and time in days."""
    scale = equations.scales()

    def rates(day: float, z: Array) -> Array:
        return equations(day * DAY_S, z * scale) * (DAY_S / scale)

    return rates, equations.initial() / scale, scale
