"""What was done in a garden, day by day."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from loamery.garden import records as garden
from loamery.garden.fields import Record
from loamery.web.records.models.base import Entry, Keyed, link


def said(label: str) -> models.TextField:
    """Return a column for a text that may be empty."""
    return models.TextField(label, blank=True, default="")


class Load(Keyed):
    """One delivery of a material, weighed and dated."""

    record: ClassVar[type[Record]] = garden.Load
    donor = link("Donor")
    material = link("Material")
    on = models.DateField(_("day"), db_index=True)
    kg = models.FloatField(_("weight, kg"))
    price_per_kg = models.FloatField(_("price per kg"), default=0.0)
    photo = said(_("photo"))
    by = said(_("by"))
    note = said(_("note"))


class Batch(Keyed):
    """A heap really built."""

    record: ClassVar[type[Record]] = garden.Batch
    heap = link("Heap")
    built = models.DateField(_("built"))
    volume_m3 = models.FloatField(_("volume, m³"), null=True, blank=True)
    water_kg = models.FloatField(_("water added, kg"), default=0.0)
    emptied = models.DateField(_("emptied"), null=True, blank=True)
    compost_kg = models.FloatField(_("compost taken out, kg"), null=True, blank=True)
    photo = said(_("photo"))
    by = said(_("by"))
    note = said(_("note"))


class BatchPart(Entry):
    """How much of one material went into a heap."""

    record: ClassVar[type[Record]] = garden.BatchPart
    batch = link("Batch")
    material = link("Material")
    kg = models.FloatField(_("weight, kg"))


class Application(Entry):
    """Something spread on a bed or worked into it."""

    record: ClassVar[type[Record]] = garden.Application
    bed = link("Bed")
    on = models.DateField(_("day"), db_index=True)
    material = link("Material", optional=True)
    batch = link("Batch", optional=True)
    worm_bed = link("WormBed", optional=True)
    kg = models.FloatField(_("weight, kg"))
    use = models.TextField(_("how"))
    depth_m = models.FloatField(_("thickness, m"), null=True, blank=True)
    photo = said(_("photo"))
    by = said(_("by"))
    note = said(_("note"))


class Turning(Entry):
    """A heap mixed."""

    record: ClassVar[type[Record]] = garden.Turning
    batch = link("Batch")
    on = models.DateField(_("day"), db_index=True)
    by = said(_("by"))
    note = said(_("note"))


class Watering(Entry):
    """Water given to a heap, a bed or a worm bed."""

    record: ClassVar[type[Record]] = garden.Watering
    on = models.DateField(_("day"), db_index=True)
    batch = link("Batch", optional=True)
    bed = link("Bed", optional=True)
    worm_bed = link("WormBed", optional=True)
    kg = models.FloatField(_("water, kg (litres)"))
    by = said(_("by"))
    note = said(_("note"))


class Reading(Entry):
    """What thermometer, hand and nose said at a heap."""

    record: ClassVar[type[Record]] = garden.Reading
    batch = link("Batch")
    on = models.DateField(_("day"), db_index=True)
    depth_m = models.FloatField(_("depth, m"), null=True, blank=True)
    temp_c = models.FloatField(_("temperature, °C"), null=True, blank=True)
    feel = models.TextField(_("a handful feels"), null=True, blank=True)
    moisture_frac = models.FloatField(_("moisture, 0 to 1"), null=True, blank=True)
    smell = models.TextField(_("smell"), null=True, blank=True)
    photo = said(_("photo"))
    by = said(_("by"))
    note = said(_("note"))


class Feeding(Entry):
    """Food given to a worm bed."""

    record: ClassVar[type[Record]] = garden.Feeding
    worm_bed = link("WormBed")
    material = link("Material")
    on = models.DateField(_("day"), db_index=True)
    kg = models.FloatField(_("weight, kg"))
    by = said(_("by"))
    note = said(_("note"))


class Harvest(Entry):
    """What was picked from a bed."""

    record: ClassVar[type[Record]] = garden.Harvest
    bed = link("Bed")
    crop = models.TextField(_("crop"))
    on = models.DateField(_("day"), db_index=True)
    kg = models.FloatField(_("weight, kg"))
    by = said(_("by"))
    note = said(_("note"))


class Price(Entry):
    """What something cost on a day."""

    record: ClassVar[type[Record]] = garden.Price
    item = models.TextField(_("what"))
    on = models.DateField(_("day"), db_index=True)
    price_per_kg = models.FloatField(_("price per kg"))
    seen_at = said(_("seen at"))
    note = said(_("note"))
