"""What there is in a garden: donors, materials, beds, places for heaps and worms, tests, weather."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from loamery.garden import model as garden
from loamery.garden.fields import Record
from loamery.web.records.models.base import Entry, Keyed, link


class Donor(Keyed):
    """Who gives a material."""

    record: ClassVar[type[Record]] = garden.Donor
    name = models.TextField(_("name"))
    kind = models.TextField(_("kind"), blank=True)
    distance_km = models.FloatField(_("distance, km"), default=0.0)
    note = models.TextField(_("note"), blank=True)


class Material(Keyed):
    """A kind of stuff this garden uses."""

    record: ClassVar[type[Record]] = garden.Material
    name = models.TextField(_("name"))
    kind = models.TextField(_("what it is"))
    uses = models.JSONField(_("uses allowed"), default=list, blank=True)
    storage_weeks = models.FloatField(_("keeps, weeks"), null=True, blank=True)
    note = models.TextField(_("note"), blank=True)


class Supply(Entry):
    """What a donor can give of a material, week by week."""

    record: ClassVar[type[Record]] = garden.Supply
    donor = link("Donor")
    material = link("Material")
    kg_per_week = models.FloatField(_("kg per week"))
    first = models.DateField(_("first day"))
    last = models.DateField(_("last day"))
    price_per_kg = models.FloatField(_("price per kg"), default=0.0)
    note = models.TextField(_("note"), blank=True)


class Good(Entry):
    """Something that can be bought by the sack."""

    record: ClassVar[type[Record]] = garden.Good
    material = link("Material")
    sack_kg = models.FloatField(_("weight of a sack, kg"))
    price = models.FloatField(_("price of a sack"))
    most = models.PositiveSmallIntegerField(_("most sacks in a season"), default=20)
    note = models.TextField(_("note"), blank=True)


class Fertiliser(Keyed):
    """A fertiliser that could be bought, as its label says, and its price in the shop."""

    record: ClassVar[type[Record]] = garden.Fertiliser
    name = models.TextField(_("name"))
    n_percent = models.FloatField(_("N on the label, %"), default=0.0)
    p2o5_percent = models.FloatField(_("P2O5 on the label, %"), default=0.0)
    k2o_percent = models.FloatField(_("K2O on the label, %"), default=0.0)
    price_per_kg = models.FloatField(_("price per kg"))
    note = models.TextField(_("note"), blank=True)


class Store(Entry):
    """What lies in store on the first day of the season."""

    record: ClassVar[type[Record]] = garden.Store
    material = link("Material")
    kg = models.FloatField(_("weight, kg"))
    note = models.TextField(_("note"), blank=True)


class LabPrice(Entry):
    """What this garden's laboratory asks for a test."""

    record: ClassVar[type[Record]] = garden.LabPrice
    test = models.CharField(_("test"), max_length=60)
    price = models.FloatField(_("price of a sample"))
    note = models.TextField(_("note"), blank=True)


class Bed(Keyed):
    """A piece of soil."""

    record: ClassVar[type[Record]] = garden.Bed
    name = models.TextField(_("name"))
    area_m2 = models.FloatField(_("area, m²"))
    depth_m = models.FloatField(_("depth worked, m"), default=0.15)
    texture = models.TextField(_("texture"), default="loam")
    bulk_density_kg_m3 = models.FloatField(_("bulk density, kg/m³"), default=1200.0)
    note = models.TextField(_("note"), blank=True)


class Planting(Entry):
    """A crop on a share of a bed."""

    record: ClassVar[type[Record]] = garden.Planting
    bed = link("Bed")
    crop = models.TextField(_("crop"))
    planted = models.DateField(_("planted"))
    harvested = models.DateField(_("last harvest"))
    share = models.FloatField(_("share of the bed"), default=1.0)
    yield_kg_m2 = models.FloatField(_("yield expected, kg/m²"), null=True, blank=True)


class SoilValue(Entry):
    """One typed-in line of a soil test."""

    record: ClassVar[type[Record]] = garden.SoilValue
    bed = link("Bed")
    quantity = models.TextField(_("quantity"))
    value = models.FloatField(_("value"))
    unit = models.TextField(_("unit"))
    extractant = models.TextField(_("extractant"), blank=True)
    sampled_on = models.DateField(_("sampled on"), null=True, blank=True)
    lab = models.TextField(_("laboratory"), blank=True)


class Heap(Keyed):
    """A place where compost is made."""

    record: ClassVar[type[Record]] = garden.Heap
    name = models.TextField(_("name"))
    capacity_m3 = models.FloatField(_("holds, m³"))
    kind = models.TextField(_("kind"), default="bin")
    note = models.TextField(_("note"), blank=True)


class WormBed(Keyed):
    """A vermicompost box."""

    record: ClassVar[type[Record]] = garden.WormBed
    name = models.TextField(_("name"))
    area_m2 = models.FloatField(_("open surface, m²"))
    worms_kg = models.FloatField(_("worms, kg"), default=0.0)
    note = models.TextField(_("note"), blank=True)


class WeatherDay(Entry):
    """What was measured on one day."""

    record: ClassVar[type[Record]] = garden.WeatherDay
    day = models.DateField(_("day"))
    min_temp_c = models.FloatField(_("lowest, °C"))
    max_temp_c = models.FloatField(_("highest, °C"))
    rain_mm = models.FloatField(_("rain, mm"))
    wind_m_s = models.FloatField(_("wind, m/s"), null=True, blank=True)
    humidity_frac = models.FloatField(_("humidity, 0 to 1"), null=True, blank=True)
    sun_mj_m2 = models.FloatField(_("sun, MJ/m²"), null=True, blank=True)

    class Meta(Entry.Meta):
        """Each day once, in the order of time."""

        ordering: ClassVar[list[str]] = ["day"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *Entry.Meta.constraints,
            models.UniqueConstraint(
                fields=["garden", "day"], condition=models.Q(removed_at=None), name="one_weather_a_day"
            ),
        ]


class Report(Entry):
    """A laboratory file: what it is about, the answers to what its reading asked, and whether a person accepted it."""

    record: ClassVar[type[Record]] = garden.ReportEntry
    file = models.TextField(_("file"))
    material = link("Material", optional=True)
    bed = link("Bed", optional=True)
    sample = models.TextField(_("sample"), blank=True)
    answers = models.JSONField(_("answers"), default=dict, blank=True)
    accepted = models.BooleanField(_("accepted"), default=False)
