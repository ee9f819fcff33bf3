"""The garden, and what every record of it has: its garden, whether it was removed, and the number a phone gave it."""

from __future__ import annotations

import json
from functools import cached_property
from pathlib import Path
from typing import Any, ClassVar

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from loamery.garden.fields import Record
from loamery.garden.model import Climate, Info


class Garden(models.Model):
    """One garden: what garden.toml says, and how it stands on this page."""

    slug = models.SlugField(max_length=60, unique=True)
    name = models.TextField(_("name"))
    place = models.TextField(_("place"), blank=True)
    invented = models.BooleanField(default=False)
    jurisdiction = models.TextField(_("rules that apply"))
    units = models.TextField(_("units"), default="metric")
    currency = models.TextField(_("currency"), default="CAD", blank=True)
    season_start = models.DateField(_("season starts"))
    season_weeks = models.PositiveSmallIntegerField(_("weeks planned"), default=26)
    seed = models.BigIntegerField(default=1)
    draws = models.PositiveIntegerField(default=1000)
    bucket_l = models.FloatField(_("size of a bucket, litres"), default=20.0)
    hours_per_week = models.FloatField(_("hands available, hours per week"), null=True, blank=True)
    hour_worth = models.FloatField(_("worth of an hour of work"), null=True, blank=True)
    whole_buckets = models.JSONField(_("uses planned in whole buckets"), default=list, blank=True)
    climate = models.JSONField(default=dict)
    today_is = models.DateField(null=True, blank=True, help_text="pinned day of an invented garden; else the real day")
    is_public = models.BooleanField(_("evidence page open to everybody"), default=False)
    version = models.PositiveBigIntegerField(default=1, editable=False)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    removed_at = models.DateTimeField(null=True, editable=False)

    def __str__(self) -> str:
        return str(self.name)

    @property
    def folder(self) -> Path:
        """Return where its report files and photos are, laid out as in a garden folder."""
        return Path(settings.DATA) / "gardens" / str(self.pk)

    @property
    def info(self) -> Info:
        """Return what garden.toml says of the garden."""
        return Info.model_validate({name: getattr(self, name) for name in Info.model_fields})

    def state(self) -> dict[str, Any]:
        """Return the garden's own settings as the history keeps them, ready for JSON."""
        return {**self.info.model_dump(mode="json"), "climate": self.climate, "is_public": self.is_public}

    @property
    def normals(self) -> Climate:
        """Return the climate of the place."""
        return Climate.model_validate(self.climate)


class Alive(models.Manager):
    """Only what was not removed."""

    def get_queryset(self) -> Any:
        """Return the rows that stand."""
        return super().get_queryset().filter(removed_at=None)


class Entry(models.Model):
    """A record of a garden; its columns are the fields of a record of the garden folder."""

    record: ClassVar[type[Record]]
    garden = models.ForeignKey(Garden, on_delete=models.CASCADE, related_name="+", editable=False)
    removed_at = models.DateTimeField(null=True, editable=False)
    sent_as = models.UUIDField(null=True, editable=False)

    every = models.Manager()
    objects = Alive()

    class Meta:
        """In the order of writing; a phone's record is taken once."""

        abstract = True
        ordering: ClassVar[list[str]] = ["pk"]
        base_manager_name = "every"
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["garden", "sent_as"], name="%(class)s_sent_once")
        ]

    def __str__(self) -> str:
        named = [getattr(self, name, None) for name in ("name", "key")]
        said = next((str(one) for one in named if one), "")
        return said or " · ".join(
            str(getattr(self, name)) for name in ("on", "bed", "batch") if getattr(self, name, None)
        )

    @classmethod
    def columns(cls) -> dict[str, str]:
        """Return each field of the record with the column of this table that holds it."""
        return {name: "key" if name == "id" else name for name in cls.record.model_fields}

    @classmethod
    def links(cls) -> dict[str, type[Entry]]:
        """Return the fields that point at another record, with the table they point into."""
        return {
            name: cls._meta.get_field(name).related_model
            for name in cls.record.model_fields
            if name != "id" and cls._meta.get_field(name).is_relation
        }

    @cached_property
    def said(self) -> Record:
        """Return the row as a record of the garden folder."""
        return self.record.model_validate(self.values())

    def values(self) -> dict[str, Any]:
        """Return the record's fields: keys of what it points at, lists as tuples."""
        links = self.links()
        found = {}
        for name, column in self.columns().items():
            value = getattr(self, column)
            if name in links:
                value = value.key if value is not None else None
            found[name] = tuple(value) if isinstance(value, list) else value
        return found

    def state(self) -> dict[str, Any]:
        """Return everything the history keeps of the row, ready for JSON."""
        kept = {**self.values(), "removed": self.removed_at is not None}
        found: dict[str, Any] = json.loads(json.dumps(kept, cls=DjangoJSONEncoder))
        return found


class Keyed(Entry):
    """A record that others point at by its short name."""

    key = models.SlugField(_("short name"), max_length=60, db_index=False)

    class Meta(Entry.Meta):
        """A short name stands once among what was not removed."""

        abstract = True
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *Entry.Meta.constraints,
            models.UniqueConstraint(
                fields=["garden", "key"], condition=models.Q(removed_at=None), name="%(class)s_key_once"
            ),
        ]


def stored(value: Any) -> Any:
    """Return a value of a record as a column holds it."""
    if isinstance(value, tuple):
        return [one.model_dump(mode="json") if isinstance(one, Record) else one for one in value]
    return value


def link(to: str, *, optional: bool = False) -> Any:
    """Return a column that points at another record of the garden."""
    return models.ForeignKey(f"records.{to}", on_delete=models.PROTECT, related_name="+", null=optional, blank=optional)
