"""Small field trials: how they were laid out, and what was read on each plot."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from loamery.garden.fields import Record
from loamery.trials import record as trials
from loamery.web.records.models.base import Entry, Keyed, link
from loamery.web.records.models.done import said


class Trial(Keyed):
    """A trial as laid out; plots were marked by it."""

    record: ClassVar[type[Record]] = trials.TrialRecord
    question = said(_("what it is to find out"))
    design = models.TextField(_("how plots were drawn"), default="complete_blocks")
    seed = models.BigIntegerField(_("seed of the lots"))
    control = said(_("compared with"))
    starts = models.DateField(_("first day"))
    ends = models.DateField(_("last day"))
    measured = models.TextField(_("what is read"), default="yield")
    unit = models.TextField(_("unit"), default="kg")
    per_m2 = models.BooleanField(_("for each square metre"), default=True)
    several = models.TextField(_("several readings of a plot"), default="sum")
    crop = said(_("crop"))
    invented = models.BooleanField(_("made-up data"), default=False)
    treatments = models.JSONField(_("treatments"), default=list)
    beds = models.JSONField(_("beds"), default=list, blank=True)
    plots = models.JSONField(_("plots"), default=list, blank=True)

    def __str__(self) -> str:
        return str(self.question or self.key)


class TrialReading(Entry):
    """What was read on one plot on one day, or why nothing could be."""

    record: ClassVar[type[Record]] = trials.TrialReading
    trial = link("Trial")
    plot = models.TextField(_("plot"))
    treatment = said(_("treatment"))
    measured_on = models.DateField(_("day"), null=True, blank=True)
    value = models.FloatField(_("value"), null=True, blank=True)
    lost = said(_("why there is no reading"))
    note = said(_("note"))
