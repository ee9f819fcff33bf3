"""A trial as plain records: treatments, beds, plots, and what is measured."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from loamery.garden.fields import Day, Id, Positive, Record
from loamery.say import say

Design = Literal["complete_blocks", "completely_random"]
DESIGNS: tuple[Design, ...] = ("complete_blocks", "completely_random")
DESIGN_WORDS: dict[Design, str] = {
    "complete_blocks": say("Randomised complete blocks"),
    "completely_random": say("Completely randomised"),
}


class Treatment(Record):
    """What is done to a plot."""

    id: Id
    name: str = Field(description="in a few words, e.g. 3 cm of compost")


class Head(Record):
    """What a trial says of itself."""

    name: Id = Field(description="file name of the trial without ending")
    question: str = Field(default="", description="what it is to find out, in one sentence")
    design: Design = "complete_blocks"
    seed: Annotated[int, Field(ge=0, le=2**63 - 1)] = Field(description="the same seed gives the same lay-out")
    control: str = Field(default="", description="treatment the others are compared with; empty compares all")
    starts: Day = Field(description="readings before this day do not count")
    ends: Day = Field(description="readings after this day do not count")
    measured: str = Field(default="yield", description="what is read on every plot")
    unit: str = Field(default="kg", description="its unit")
    per_m2: bool = Field(default=True, description="divide each plot's reading by its area")
    several: Literal["sum", "mean"] = Field(default="sum", description="what several readings of a plot make")
    crop: str = Field(
        default="", description="crop on the plots, a slug of crops.csv; how uneven its plots usually are"
    )
    invented: bool = Field(default=False, description="true for made-up data; shown on every sheet")


class TrialBed(Record):
    """A bed as a rectangle."""

    id: Id
    length_m: Positive
    width_m: Positive


class Plot(Record):
    """A rectangle across a bed that gets one treatment."""

    id: str = Field(description="block and place, e.g. 203")
    block: Annotated[int, Field(ge=1)]
    bed: Id
    treatment: Id
    x_m: Annotated[float, Field(ge=0)] = Field(description="where it begins along the bed")
    length_m: Positive
    width_m: Positive

    @property
    def area_m2(self) -> float:
        """Return the area of the plot, m2."""
        return self.length_m * self.width_m


class Trial(Record):
    """A whole trial as laid out."""

    trial: Head
    treatments: tuple[Treatment, ...] = Field(min_length=2)
    beds: tuple[TrialBed, ...] = ()
    plots: tuple[Plot, ...] = ()

    @property
    def blocks(self) -> int:
        """Return how many blocks there are, or how often each treatment stands."""
        if self.trial.design == "complete_blocks":
            return len({one.block for one in self.plots})
        return len(self.plots) // len(self.treatments)

    def treatment(self, key: str) -> Treatment:
        """Return a treatment by id."""
        return next(one for one in self.treatments if one.id == key)

    @property
    def unit(self) -> str:
        """Return the unit in which results are told."""
        return f"{self.trial.unit}/m²" if self.trial.per_m2 else self.trial.unit
