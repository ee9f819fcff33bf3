"""The season: which material goes where in which week, what that delivers, and what it asks of people."""

from loamery.season.make import plan_season
from loamery.season.plan import SeasonPlan

__all__ = ["SeasonPlan", "plan_season"]
