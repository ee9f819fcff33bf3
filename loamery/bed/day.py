"""One day of a bed: weather into soil, decay, mineral nitrogen, water, acid and salt, one after the other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.bed.crop import Crop
from loamery.bed.decomposers import Decay, Portions, Stock, decay_day
from loamery.bed.mineral import MineralDay, mineral_day, nitrogen_kg_mol, surface_ammonium_day
from loamery.bed.parameters import Parameters
from loamery.bed.place import Place, buffer_capacity
from loamery.bed.salt import SaltDay, own_conductivity, salt_day
from loamery.bed.warm import follow, moisture_factor, warmth_factor
from loamery.bed.water import Bucket, bucket_day, curve_number, leached_share, run_off
from loamery.bed.weather import BedWeather
from loamery.reference import coefficient
from loamery.units import to_si

Array = NDArray[np.float64]
PH_ENDS = (3.0, 10.0)


@dataclass(frozen=True)
class Switches:
    """Parts of the physics that can be switched off, to show what they do.

    Parameters
    ----------
    demand : decomposers need nitrogen. scarcity : they can run out of it; without, the soil always has enough.
    buffer : the soil holds its pH against acid; without, only the floor of the buffer functions is left.
    """

    demand: bool = True
    scarcity: bool = True
    buffer: bool = True


@dataclass(eq=False)
class State:
    """A bed on one morning; arrays of shape (beds, draws), kg per m2 unless named otherwise.

    Parameters
    ----------
    soil_n, soil_carbon : the soil's own organic nitrogen, and the carbon that humus added to it.
    ammonium, nitrate : of the root zone. wanted : what the crop still lacks of its course, kg N per m2.
    depletion_mm : water lacking to field capacity. temp_c : of the soil at 10 cm.
    acid_mol, alkali_mol : summed since the start, mol per m2. ph : of the worked soil. salts : soluble, worked soil;
    salts_still : their part in water that does not move, of which `still_share` is; salts_least : what its minerals keep dissolved.
    buffer_mol_m2, soil_rate, salt_to_ec : mol per m2 and pH; 1/day at 25 °C; S/m for a kilogram of salts per m2.
    decomposer_cn : carbon to nitrogen ratio of decomposers. surface_ph, thickness : of each portion: its own pH, and metres of layer for a kilogram of carbon per m2.
    """

    stock: Stock
    soil_n: Array
    soil_carbon: Array
    ammonium: Array
    nitrate: Array
    wanted: Array
    depletion_mm: Array
    temp_c: Array
    acid_mol: Array
    alkali_mol: Array
    ph: Array
    salts: Array
    salts_still: Array
    salts_least: Array
    still_share: Array
    buffer_mol_m2: Array
    soil_rate: Array
    salt_to_ec: Array
    decomposer_cn: Array
    surface_ph: Array
    thickness: Array
    started: bool = False

    @property
    def ec_si(self) -> Array:
        """Return the conductivity of the saturated paste, S/m."""
        return self.salts * self.salt_to_ec


def start_state(portions: int, place: Place, numbers: Parameters, draws: int) -> State:
    """Return beds on the first morning: at field capacity, with the nitrogen and salt their soil tests tell.

    Notes
    -----
    A bed without a test of its salt has what its minerals keep in solution; a test below that shows that they keep less.
    """
    shape = (place.beds, draws)

    def full(value: Array | float) -> Array:
        return np.array(np.broadcast_to(value, shape), dtype=np.float64)

    carbon = place.carbon_frac * place.soil_kg_m2
    soil_n = carbon / coefficient("bed_soil_cn").value
    per_percent = numbers["soil_n_supply_per_percent_som"] * to_si(1.0, "g/m2")
    supply = per_percent * place.organic_matter_frac / to_si(1.0, "%") / numbers["bed_soil_n_days"]
    buffer = buffer_capacity(place.carbon_frac, place.clay_frac, numbers["phbc_scale"]) * place.soil_kg_m2
    own = full(own_conductivity(place.ph, numbers))
    tested = full(place.ec_si)
    least = np.where(tested > 0, np.minimum(own, tested), own) / place.salt_to_ec
    salts = np.maximum(tested / place.salt_to_ec, least)
    still = full(1.0 - numbers["bed_salt_mobile"])
    return State(
        stock=Stock.empty(portions, place.beds, draws),
        soil_n=full(soil_n),
        soil_carbon=full(carbon),
        ammonium=full(place.ammonium_kg_m2),
        nitrate=full(place.nitrate_kg_m2),
        wanted=full(0.0),
        depletion_mm=full(0.0),
        temp_c=full(0.0),
        acid_mol=full(0.0),
        alkali_mol=full(0.0),
        ph=full(place.ph),
        salts=salts,
        salts_still=salts * still,
        salts_least=least,
        still_share=still,
        buffer_mol_m2=full(buffer),
        soil_rate=full(supply / np.maximum(soil_n, 1e-9)),
        salt_to_ec=full(place.salt_to_ec),
        decomposer_cn=full(numbers["bed_biomass_cn"]),
        surface_ph=np.full((portions, place.beds, draws), 7.0),
        thickness=np.zeros((portions, place.beds, draws)),
    )


def day_of(
    state: State, day: int, fixed: Portions, place: Place, weather: BedWeather, crop: Crop, numbers: Parameters,
    watered: bool, physics: Switches,
) -> Mapping[str, Array]:  # fmt: skip
    """Let one day pass over the beds, in place, and return its flows by name, shape (beds, draws).

    Notes
    -----
    The order of the steps is that of docs/bed-model.md: warmth, water, decay, mineral nitrogen, acid, salt.
    """
    cover_m = _mulch_m(state, fixed)
    warmth = _warm(state, weather.temp_c[day], cover_m, numbers)
    lost_mm = _run_off(weather.rain_mm[day], place, cover_m, numbers)
    water = _water(state, day, weather.rain_mm[day] - lost_mm, place, weather, crop, cover_m, watered)
    filled = np.clip(
        (place.field_capacity - water.depletion / (1000.0 * place.root_depth_m)) / place.porosity, 0.0, 1.0
    )
    pace = warmth * moisture_factor(filled, numbers["moisture_peak_wfps"])
    leach = leached_share(water.drained, place.held_mm, numbers["bed_leach_efficiency"])
    soil_release = state.soil_n * -np.expm1(-state.soil_rate * pace)
    soil_respired = state.soil_carbon * -np.expm1(-state.soil_rate * pace)
    fertile = state.ammonium + state.nitrate + (0.0 if physics.scarcity else AMPLE)
    decay = decay_day(state.stock, fixed, numbers, pace, fertile, soil_release, demand=physics.demand)
    state.soil_n += decay.humus_nitrogen - soil_release
    state.soil_carbon += decay.humus_carbon - soil_respired
    wet_mm = weather.rain_mm[day] + water.given
    lost, entered = surface_ammonium_day(state.stock.ammonium, numbers, state.surface_ph, weather.temp_c[day], wet_mm)
    state.stock.ammonium -= lost + entered
    state.ammonium += entered.sum(axis=0)
    borrowed = 0.0 if physics.scarcity else np.maximum(decay.taken - _reachable(state, decay, soil_release), 0.0)
    asked, wanted = _asked(state, crop, day, numbers)
    mineral = mineral_day(
        state.ammonium + borrowed, state.nitrate, decay.given + soil_release, decay.taken, asked, numbers, pace, warmth,
        filled, state.ph, leach,
    )  # fmt: skip
    _settle(state, mineral, decay, lost, wanted, crop, day, physics)
    salts = _salts(state, water, place, numbers)
    return {
        **_nitrogen_flows(decay, mineral, soil_release, lost, borrowed),
        "respired": decay.respired + soil_respired,
        "rain_mm": weather.rain_mm[day],
        "run_off_mm": lost_mm,
        "watered_mm": water.given,
        "used_mm": water.used,
        "drained_mm": water.drained,
        "salts_leached": salts.leached,
        "salts_dissolved": salts.dissolved,
        "net": decay.net,
    }


AMPLE = 1e3
"""Nitrogen that is never short, kg per m2, for runs without scarcity."""


def _reachable(state: State, decay: Decay, soil_release: Array) -> Array:
    return np.asarray(state.ammonium + state.nitrate + decay.given + soil_release)


def _nitrogen_flows(
    decay: Decay, mineral: MineralDay, soil_release: Array, lost: Array, borrowed: Array | float
) -> dict[str, Array]:
    return {
        "given": decay.given,
        "tied": decay.taken,
        "soil_release": soil_release,
        "nitrified": mineral.nitrified,
        "taken_ammonium": mineral.taken_ammonium,
        "taken_nitrate": mineral.taken_nitrate,
        "gas": mineral.gas,
        "leached": mineral.leached,
        "volatilised": lost.sum(axis=0),
        "borrowed": np.asarray(borrowed + 0.0 * decay.given),
    }


def _mulch_m(state: State, fixed: Portions) -> Array:
    layer = state.stock.carbon.sum(axis=0) * state.thickness * fixed.surface
    return np.asarray(layer.sum(axis=0))


def _warm(state: State, air_c: Array, cover_m: Array, numbers: Parameters) -> Array:
    """Let the soil follow the air and return how fast decay runs in it by warmth alone."""
    if not state.started:
        state.temp_c = state.temp_c + air_c
        state.started = True
    full = np.minimum(cover_m / coefficient("bed_mulch_full").value, 1.0)
    days = numbers["bed_soil_temp_days"] * (1.0 + coefficient("bed_mulch_slows").value * full)
    state.temp_c = follow(state.temp_c, air_c, days)
    return warmth_factor(state.temp_c, numbers["q10"])


def _run_off(rain_mm: Array, place: Place, cover_m: Array, numbers: Parameters) -> Array:
    covered = np.minimum(cover_m / coefficient("bed_mulch_full").value, 1.0)
    return run_off(rain_mm, curve_number(place.clay_frac, covered), numbers["bed_retention_scale"])


def _water(
    state: State, day: int, soaked_mm: Array, place: Place, weather: BedWeather, crop: Crop, cover_m: Array,
    watered: bool,
) -> Bucket:  # fmt: skip
    damp = np.exp(-coefficient("bed_mulch_evaporation").value * cover_m)
    bare = coefficient("bed_kc_bare").value * np.maximum(damp, coefficient("bed_mulch_evaporation_least").value)
    leaves = crop.cover[:, day, None]
    factor = bare * (1.0 - leaves) + crop.water_factor[:, day, None] * leaves
    readily = coefficient("bed_depletion_share").value * place.available_mm
    asked = factor * weather.asked_mm[day]
    growing = watered * (leaves > 0)
    water = bucket_day(state.depletion_mm, soaked_mm, asked, place.available_mm, readily, growing)
    state.depletion_mm = water.depletion
    return water


def _asked(state: State, crop: Crop, day: int, numbers: Parameters) -> tuple[Array, Array]:
    """Return what the crop takes up at most that day, and what it would need to be on its course."""
    course = (crop.nitrogen_kg_m2[:, day + 1] - crop.nitrogen_kg_m2[:, day])[:, None]
    wanted = state.wanted + course
    return np.minimum(wanted, numbers["bed_catch_up"] * course), wanted


def _settle(
    state: State, mineral: MineralDay, decay: Decay, lost: Array, wanted: Array, crop: Crop, day: int, physics: Switches
) -> None:
    """Write the evening's nitrogen, acid and pH into the state."""
    state.ammonium, state.nitrate = mineral.ammonium, mineral.nitrate
    state.wanted = wanted - mineral.taken_ammonium - mineral.taken_nitrate
    bases = (crop.base_mol_m2[:, day + 1] - crop.base_mol_m2[:, day])[:, None]
    acid = mineral.acid_mol + lost.sum(axis=0) / nitrogen_kg_mol() + bases
    state.acid_mol = state.acid_mol + acid
    state.alkali_mol = state.alkali_mol + decay.alkalinity
    buffer = state.buffer_mol_m2 if physics.buffer else UNBUFFERED * state.buffer_mol_m2
    state.ph = np.clip(state.ph + (decay.alkalinity - acid) / buffer, *PH_ENDS)


UNBUFFERED = 0.01
"""Share of the buffer left when it is switched off."""


def _salts(state: State, water: Bucket, place: Place, numbers: Parameters) -> SaltDay:
    """Let drainage carry salts out of the worked soil and minerals dissolve, in place."""
    held = 1000.0 * place.field_capacity * place.depth_m
    day = salt_day(state.salts, state.salts_still, water.drained, held, state.salts_least, numbers)
    state.salts, state.salts_still = day.salts, day.still
    return day
