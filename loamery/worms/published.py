"""Published factors for a worm bed; the worm model replaces them."""

from __future__ import annotations

from loamery.garden.model import WormBed
from loamery.reference import coefficient
from loamery.units import to_si


def feed_kg_per_week(worm_bed: WormBed) -> float:
    """Return the most fresh material a worm bed takes in a week, kg as received.

    Source
    ------
    Half the worms' own mass a day at most, and stocking per area where the worms were not weighed (Ndegwa et al.
    2000; coefficients.csv).
    """
    worms_kg = worm_bed.worms_kg or coefficient("worm_stocking").value * worm_bed.area_m2
    per_day = coefficient("worm_feed_ceiling").value * worms_kg
    return per_day * to_si(1.0, "week") / to_si(1.0, "day")


def castings_share() -> float:
    """Return the dry castings left from a kilogram of dry feed, kg/kg."""
    return coefficient("castings_yield").value


def lead_time_weeks() -> float:
    """Return the weeks from feeding to castings that can be taken out."""
    return coefficient("worm_lead_weeks").value


def nitrogen_lost_share() -> float:
    """Return the share of the feed's nitrogen that a worm bed loses."""
    return coefficient("worm_n_loss").value
