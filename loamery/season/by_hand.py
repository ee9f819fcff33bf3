"""The rules a careful grower goes by, played week by week on the same garden.

1. Grounds, grain, clippings and manure go to compost with the same weight of leaves; where leaves run out, cardboard, then
   chips. A heap is built as soon as there is enough for one that heats and a place is free.
2. A crop that has stood two weeks gets a thin layer of clippings under chips, topped up when it has thinned.
3. Before planting, compost at the rate of the soil test: nitrogen the crop takes less what the soil gives, over the
   nitrogen of the label times the share that counts in the first season. Bought where none of one's own is ready.
4. Worms get the kitchen and vegetable trimmings, as much as they eat.
5. Raw manure touches no bed; ash stays away without a reason to lime.

Growers who test their materials may also hold every bed to the ceilings of the plan: `within_limits` plays the same rules so.

Nothing is fetched that is not used, a week in which the hours are used up fetches nothing more, and what must not go on a
bed does not: the rules are played at their best. Common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from loamery.blend.bounds import Bounds
from loamery.blend.ingredient import Ingredient
from loamery.blend.solve import solve_blend
from loamery.reference import coefficient
from loamery.season.decision import Decision
from loamery.season.mulch import cover_wanted
from loamery.season.on_beds import ceiling_contents
from loamery.season.prepare import Prepared
from loamery.season.problem import Problem, depth_m_per_kg_m2, make_problem
from loamery.season.recipes import Recipe
from loamery.season.stuff import Stuff
from loamery.season.work import batch_hours, collect_hours_per_kg, handling_hours_per_kg, spread_hours_per_kg
from loamery.worms.published import feed_kg_per_week

Array = NDArray[np.float64]
TO_HEAP, BROWNS = ("green", "manure"), ("leaves", "cardboard", "chips")
"""Groups that are composted, and what is mixed in, by the start of its kind, in this order."""
LEAST_KG = 1.0


@dataclass
class _Built:
    """One batch made by hand."""

    week: int
    place: int
    parts_kg: dict[str, float]
    volume_m3: float


@dataclass
class _Hand:
    """The season under way.

    Parameters
    ----------
    problem : the garden as arrays; only what is raw in it is used.
    offered : what is still to be had of each lot and week, kg.
    """

    problem: Problem
    offered: Array
    take: Array
    buy: Array
    hours: Array
    spread: dict[tuple[str, str], Array] = field(default_factory=dict)
    feed: Array = field(default_factory=lambda: np.zeros(0))
    built: list[_Built] = field(default_factory=list)
    free_from: list[list[int]] = field(default_factory=list)
    laid_m: dict[tuple[int, str], float] = field(default_factory=dict)
    fed_n: set[int] = field(default_factory=set)
    held: dict[str, Array] = field(default_factory=dict)
    loads: dict[tuple[int, str], float] = field(default_factory=dict)

    def room_kg(self, stuff: Stuff, use: str, bed: int) -> float:
        """Return how much of a stuff still fits below a bed's ceilings, kg; no end where nobody looks at them."""
        row, need = _row(self.problem, stuff.id, use), self.problem.needs[bed]
        rooms = [
            (ceiling.limit_kg_m2 - self.loads.get((bed, key), 0.0)) / float(self.held[key][row])
            for key, ceiling in need.ceilings.items()
            if key in self.held and self.held[key][row] > 0.0
        ]
        return max(min(rooms, default=np.inf), 0.0) * need.bed.area_m2

    def loads_with(self, stuff: Stuff, use: str, bed: int, kg: float) -> None:
        """Count what is laid against the bed's ceilings."""
        row, area = _row(self.problem, stuff.id, use), self.problem.needs[bed].bed.area_m2
        for key, held in self.held.items():
            self.loads[bed, key] = self.loads.get((bed, key), 0.0) + kg / area * float(held[row])

    def at_hand(self, stuff: Stuff, week: int) -> float:
        """Return what may be used of a material in a week: offered then, or before and still good, kg."""
        first = max(week - int(stuff.storage_weeks), 0)
        there = self.offered[self._lots(stuff), first : week + 1].sum(axis=0)
        hours = np.array([self.hours_left(when) for when in range(first, week + 1)])
        return float(np.minimum(there, np.maximum(hours, 0.0) / max(self.per_kg(stuff), 1e-9)).sum())

    def fetch(self, stuff: Stuff, kg: float, week: int) -> None:
        """Take kilograms of a material, the freshest first, and count the hours in the week they are fetched."""
        first = max(week - int(stuff.storage_weeks), 0)
        for when in range(week, first - 1, -1):
            for lot in self._lots(stuff):
                some = min(kg, float(self.offered[lot, when]))
                self.offered[lot, when] -= some
                self.take[lot, when] += some
                self.hours[when] += some * collect_hours_per_kg(self.problem, int(lot))
                kg -= some

    def hours_left(self, week: int) -> float:
        """Return the hours a week still has."""
        limit = self.problem.garden.info.hours_per_week
        return np.inf if limit is None else float(limit - self.hours[week])

    def _lots(self, stuff: Stuff) -> NDArray[np.int64]:
        index = next(at for at, one in enumerate(self.problem.raw) if one.id == stuff.id)
        return np.flatnonzero(self.problem.lot_material == index)

    def per_kg(self, stuff: Stuff) -> float:
        """Return the hours of fetching and handling a kilogram."""
        lots = self._lots(stuff)
        return max((collect_hours_per_kg(self.problem, int(lot)) for lot in lots), default=0.0)


def play_by_hand(prepared: Prepared, problem: Problem, *, within_limits: bool = False) -> tuple[Problem, Decision]:
    """Return the season of a careful grower as a problem with the heaps made by hand, and the amounts.

    Parameters
    ----------
    prepared : the garden with its reports read. problem : as it was stated for the plan.
    within_limits : stop on each bed where the plan would have to stop: ceilings of P, K, salt and trace elements.
    """
    weeks = problem.calendar.weeks
    hand = _Hand(
        problem,
        problem.lot_kg.copy(),
        np.zeros_like(problem.lot_kg),
        np.zeros((len(problem.goods), weeks)),
        np.zeros(weeks + 60),
    )
    hand.feed = np.zeros((len(problem.raw), len(problem.garden.worm_beds), weeks))
    if within_limits:
        keys = dict.fromkeys(key for need in problem.needs for key in need.ceilings)
        hand.held = {key: ceiling_contents(problem, key) for key in keys}
    hand.free_from = [[0] * len(place.heaps) for place in problem.places]
    for week in range(weeks):
        _by_soil_test(hand, week)
        _feed_worms(hand, week)
        _build_heap(hand, week)
        _mulch(hand, week)
    made = make_problem(
        prepared.garden,
        problem.calendar,
        problem.needs,
        problem.raw,
        [_recipe(prepared, hand, at) for at in range(len(hand.built))],
    )
    return made, _decided(made, hand)


def _by_soil_test(hand: _Hand, week: int) -> None:
    """Work in compost before planting, at the nitrogen rate of the soil test by the label."""
    problem = hand.problem
    composts = [one for one in problem.raw if one.group == "compost" and "dig_in" in one.uses]
    for bed, need in enumerate(problem.needs):
        first = min((problem.calendar.week_of(one.planted) for one in need.plantings), default=-1)
        if bed in hand.fed_n or week > max(first, 0) or (first < 0 and not need.plantings):
            continue
        asked_n = float(need.n_demand_kg_m2[-1] - need.n_soil_kg_m2[-1])
        for stuff in composts:
            if asked_n <= 0.0 or not problem.allowed[_row(problem, stuff.id, "dig_in"), bed, week]:
                continue
            label_n = float(np.median(stuff.nitrogen)) * coefficient("hand_compost_n_share").value
            rate = min(asked_n / label_n, coefficient("compost_rate_max").value)
            room = hand.room_kg(stuff, "dig_in", bed)
            wanted = min(rate * need.bed.area_m2, _affordable(hand, stuff, week), room)
            bought = _buy(hand, stuff, week, wanted - hand.at_hand(stuff, week))
            kg = min(wanted, hand.at_hand(stuff, week) + bought)
            if kg >= LEAST_KG:
                _lay(hand, stuff, "dig_in", bed, week, kg, bought)
                hand.fed_n.add(bed)
                break


def _affordable(hand: _Hand, stuff: Stuff, week: int) -> float:
    """Return how much of a stuff the hours of a week allow to be fetched and spread, kg."""
    return max(hand.hours_left(week), 0.0) / (hand.per_kg(stuff) + spread_hours_per_kg())


def _buy(hand: _Hand, stuff: Stuff, week: int, lacking: float) -> float:
    """Buy whole sacks of what is lacking, as far as there are any, and return how much was bought, kg."""
    bought = 0.0
    for good, one in enumerate(hand.problem.goods):
        if one.material == stuff.id and lacking > 0.0:
            had = round(float(hand.buy[good].sum()) / one.sack_kg)
            sacks = min(int(np.ceil(lacking / one.sack_kg)), one.most - had)
            hand.buy[good, week] += sacks * one.sack_kg
            hand.hours[week] += sacks * one.sack_kg * handling_hours_per_kg()
            bought += sacks * one.sack_kg
            lacking -= sacks * one.sack_kg
    return bought


def _lay(hand: _Hand, stuff: Stuff, use: str, bed: int, week: int, kg: float, bought: float = 0.0) -> None:
    hand.fetch(stuff, max(kg - bought, 0.0), week)
    shape = (len(hand.problem.needs), hand.problem.calendar.weeks)
    hand.spread.setdefault((stuff.id, use), np.zeros(shape))[bed, week] += kg
    hand.hours[week] += kg * spread_hours_per_kg()
    hand.loads_with(stuff, use, bed, kg)


def _feed_worms(hand: _Hand, week: int) -> None:
    feeds = [
        one for one in hand.problem.raw if "worm_bed" in one.uses and one.kind.startswith(("veg", "kitchen", "food"))
    ]
    for box, worm_bed in enumerate(hand.problem.garden.worm_beds):
        room = feed_kg_per_week(worm_bed)
        for stuff in feeds:
            kg = min(room, hand.at_hand(stuff, week))
            if kg > 0.0:
                hand.fetch(stuff, kg, week)
                hand.feed[hand.problem.raw.index(stuff), box, week] += kg
                room -= kg


def _build_heap(hand: _Hand, week: int) -> None:
    """Build a heap of equal weights of greens and browns once there is enough for one that heats and a place is free."""
    problem = hand.problem
    active = int(np.ceil(coefficient("heap_active_weeks").value))
    for place, group in enumerate(problem.places):
        free = [at for at, when in enumerate(hand.free_from[place]) if when <= week]
        if not free or hand.hours_left(week) < coefficient("hours_per_batch").value:
            continue
        parts = _equal_weights(hand, week, group.capacity_m3)
        volume = sum(kg / float(np.median(one.density)) for one, kg in parts)
        if volume < min(coefficient("heap_min_volume").value, group.capacity_m3):
            continue
        for stuff, kg in parts:
            hand.fetch(stuff, kg, week)
        hand.built.append(_Built(week, place, {one.id: kg for one, kg in parts}, volume))
        hand.free_from[place][free[0]] = week + active
        work = batch_hours(problem.calendar.weeks)[week]
        hand.hours[: work.size] += work


def _equal_weights(hand: _Hand, week: int, capacity_m3: float) -> list[tuple[Stuff, float]]:
    """Return what is at hand in equal weights, as much as a heap holds."""
    raw = [one for one in hand.problem.raw if "heap" in one.uses]
    greens = [(one, hand.at_hand(one, week)) for one in raw if one.group in TO_HEAP]
    browns = [(one, hand.at_hand(one, week)) for start in BROWNS for one in raw if one.kind.startswith(start)]
    ratio = coefficient("hand_brown_per_green").value
    green_kg, brown_kg = sum(kg for _, kg in greens), sum(kg for _, kg in browns)
    use_green = min(green_kg, brown_kg / ratio)
    parts = [(one, kg * use_green / green_kg) for one, kg in greens if kg > 0.0]
    room = ratio * use_green
    for one, kg in browns:
        some = min(kg, room)
        parts += [(one, some)] if some > 0.0 else []
        room -= some
    volume = sum(kg / float(np.median(one.density)) for one, kg in parts)
    scale = min(capacity_m3 / volume, 1.0) if volume > 0.0 else 0.0
    return [(one, kg * scale) for one, kg in parts if kg * scale >= LEAST_KG]


def _mulch(hand: _Hand, week: int) -> None:
    """Lay clippings thinly under chips where a crop wants cover, and top up what has thinned."""
    problem = hand.problem
    wanted = cover_wanted(problem)[:, week]
    every = int(coefficient("hand_looks_weeks").value)
    layers = (("grass", coefficient("hand_thin_layer").value), ("chips", coefficient("hand_chips_layer").value))
    for bed, need in enumerate(problem.needs):
        if not wanted[bed]:
            continue
        for start, depth in layers:
            stuff = next((one for one in problem.raw if one.kind.startswith(start) and "mulch" in one.uses), None)
            if stuff is None or not problem.allowed[_row(problem, stuff.id, "mulch"), bed, week]:
                continue
            if (bed, start) in hand.laid_m and (start != "chips" or week % every):
                continue
            depth = min(depth, stuff.mulch_depth_m) - _standing(hand, stuff, bed, week)
            kg = depth * need.bed.area_m2 / depth_m_per_kg_m2(stuff)
            kg = min(kg, hand.at_hand(stuff, week), _affordable(hand, stuff, week), hand.room_kg(stuff, "mulch", bed))
            if kg >= LEAST_KG:
                _lay(hand, stuff, "mulch", bed, week, kg)
                hand.laid_m[bed, start] = depth


def _standing(hand: _Hand, stuff: Stuff, bed: int, week: int) -> float:
    """Return how deep a material lies on a bed, m."""
    laid = hand.spread.get((stuff.id, "mulch"))
    if laid is None:
        return 0.0
    left = hand.problem.spreads[_row(hand.problem, stuff.id, "mulch")].left
    return float((laid[bed] * left[:, week]).sum() * depth_m_per_kg_m2(stuff) / hand.problem.needs[bed].bed.area_m2)


def _row(problem: Problem, stuff: str, use: str) -> int:
    return next(row for row, one in enumerate(problem.spreads) if one.stuff.id == stuff and one.use == use)


def _recipe(prepared: Prepared, hand: _Hand, number: int) -> Recipe:
    """Return what one batch was built of, wetted until a handful is as damp as a wrung-out sponge."""
    built = hand.built[number]
    names = {one.id: one.name for one in hand.problem.raw}
    total = sum(built.parts_kg.values())
    shares = tuple((key, kg / total) for key, kg in built.parts_kg.items())
    moisture = 1.0 - sum(share * float(np.median(_stuff(hand, key).dry)) for key, share in shares)
    low, high = (coefficient(f"moisture_preferred_{end}").value for end in ("low", "high"))
    wanted = 0.5 * (low + high)
    water = max(wanted - moisture, 0.0) / (1.0 - wanted)
    ingredients = [Ingredient.from_composition(prepared.compositions[key], name=key) for key, _ in shares]
    near = {key: (max(share - 1e-3, 0.0), min(share + 1e-3, 1.0)) for key, share in shares}
    blend = solve_blend(ingredients, Bounds(shares=near), total_kg=total, water=False, robust=False)
    return Recipe(
        id=f"recipe-hand-{number + 1}",
        name=" + ".join(names[key].lower() for key, _ in sorted(shares, key=lambda one: -one[1])),
        shares=shares,
        water_kg_kg=water,
        density_kg_m3=(1.0 + water) * total / built.volume_m3,
        blend=blend,
    )


def _stuff(hand: _Hand, key: str) -> Stuff:
    return next(one for one in hand.problem.raw if one.id == key)


def _decided(problem: Problem, hand: _Hand) -> Decision:
    """Return what was done by hand as the amounts of a plan."""
    beds, weeks = len(problem.needs), problem.calendar.weeks
    spread = np.zeros((len(problem.spreads), beds, weeks))
    for (stuff, use), kg in hand.spread.items():
        spread[_row(problem, stuff, use)] = kg
    build = np.zeros((len(problem.recipes), len(problem.places), weeks))
    for row, one in enumerate(hand.built):
        build[row, one.place, one.week] = sum(one.parts_kg.values())
    start = (build > 0.0).astype(float)
    return Decision(take=hand.take, buy=hand.buy, spread=spread, build=build, start=start, feed=hand.feed)
