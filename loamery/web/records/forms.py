"""Forms made from the records of the garden folder: one field for each column, checked by the same rules."""

from __future__ import annotations

import math
from datetime import date
from types import NoneType
from typing import Any, Literal, get_args, get_origin

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _

from loamery.errors import GardenError, InputError
from loamery.reference import table
from loamery.web.people.models import Person
from loamery.web.records import files, ledger
from loamery.web.records.models import KINDS, Entry, Garden
from loamery.web.refusals import refusal

UNITS = {"kg_per_week": "kg", "price_per_kg": "/kg", "bulk_density_kg_m3": "kg/m³", "yield_kg_m2": "kg/m²", "wind_m_s": "m/s",
         "sun_mj_m2": "MJ/m²"}  # fmt: skip
ENDINGS = {"kg": "kg", "m2": "m²", "m3": "m³", "m": "m", "km": "km", "c": "°C", "mm": "mm", "weeks": "weeks"}
REFERENCE = {("materials", "kind"): ("materials", "slug"), ("plantings", "crop"): ("crops", "slug"),
             ("harvests", "crop"): ("crops", "slug")}  # fmt: skip


class Number(forms.CharField):
    """A number with a decimal point or comma, as people write it."""

    def __init__(self, **options: Any) -> None:
        super().__init__(widget=forms.TextInput(attrs={"inputmode": "decimal"}), **options)

    def prepare_value(self, value: Any) -> Any:
        """Return a number as it is shown in the field."""
        return repr(value).removesuffix(".0") if isinstance(value, float) else value

    def clean(self, value: Any) -> float | None:
        """Return the number, None for an empty field."""
        text = str(super().clean(value) or "").strip().replace("\u202f", "").replace("\u00a0", "").replace(" ", "")
        if not text:
            return None
        try:
            number = float(text.replace(",", "."))
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            raise forms.ValidationError(_("Write a number, such as 12.5."))
        return number


class RecordForm(forms.Form):
    """The form of one kind of record in one garden; `save` writes it through the ledger.

    Parameters
    ----------
    kind : part of the garden, such as ``loads``. entry : the record to change, None for a new one.
    """

    def __init__(self, garden: Garden, kind: str, *args: Any, entry: Entry | None = None, **kwargs: Any) -> None:
        self.garden, self.kind, self.entry = garden, kind, entry
        if entry is not None:
            kwargs.setdefault("initial", {name: value for name, value in entry.values().items() if name != "photo"})
        super().__init__(*args, **kwargs)
        for name in KINDS[kind].record.model_fields:
            if name == "id" and entry is not None:
                continue
            self.fields[name] = self._field(name)
            self.fields[name].unit = UNITS.get(name) or (
                ENDINGS.get(name.rsplit("_", 1)[-1], "") if "_" in name or name == "kg" else ""
            )

    def _field(self, name: str) -> forms.Field:
        entry_table = KINDS[self.kind]
        one = entry_table.record.model_fields[name]
        column = entry_table._meta.get_field(entry_table.columns()[name])
        links = entry_table.links()
        required = one.is_required() and name != "id"
        options: dict[str, Any] = {"label": _first_large(str(column.verbose_name)), "required": required}
        if not one.is_required() and self.entry is None:
            options["initial"] = one.get_default(call_default_factory=True)
        if name in links:
            return _choice(self._things(name, links[name]), **options)
        if name == "photo":
            return forms.FileField(
                **{**options, "initial": None},
                widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
            )
        if reference := REFERENCE.get((self.kind, name)):
            return _choice([(row[reference[1]], row["name"]) for row in table(reference[0])], **options)
        return _by_type(one.annotation, name, options)

    def _things(self, name: str, of: type[Entry]) -> list[tuple[str, str]]:
        """Return what a field that points at something can point at: short name and name."""
        return [(one.key, str(one)) for one in of.objects.filter(garden=self.garden)]

    def save(self, who: Person | None, **more: Any) -> Entry | None:
        """Write the record and return it; None when it cannot be, and the fields then say why."""
        values = {name: value for name, value in self.cleaned_data.items() if name != "photo"}
        if self.entry is None and "id" in KINDS[self.kind].record.model_fields and not values.get("id"):
            values["id"] = next_key(self.garden, self.kind)
        values = {name: self._left_out(name) if value in ("", None) else value for name, value in values.items()}
        try:
            photo = self.cleaned_data.get("photo")
            if isinstance(photo, UploadedFile):
                values["photo"] = files.keep(self.garden, photo, "photos", who)
            if self.entry is not None:
                return ledger.edit(self.entry, values, who)
            return ledger.add(self.garden, self.kind, values, who, **more)
        except GardenError as error:
            for fault in error.faults:
                self._tell(fault)
        except InputError as fault:
            self._tell(fault, "photo")
        return None

    def _left_out(self, name: str) -> Any:
        """Return what an emptied field means."""
        one = KINDS[self.kind].record.model_fields[name]
        return None if one.is_required() else one.get_default(call_default_factory=True)

    def _tell(self, fault: InputError, column: str | None = None) -> None:
        name = column or (fault.where.column if fault.where.column in self.fields else None)
        self.add_error(name, refusal(fault))


def _first_large(text: str) -> str:
    return text[:1].upper() + text[1:]


def _by_type(kind: Any, name: str, options: dict[str, Any]) -> forms.Field:
    inner = [one for one in get_args(kind) if one is not NoneType] if NoneType in get_args(kind) else [kind]
    plain = inner[0]
    while hasattr(plain, "__metadata__"):
        plain = get_args(plain)[0]
    if get_origin(plain) is Literal:
        return _choice([(one, one.replace("_", " ")) for one in get_args(plain)], **options)
    if get_origin(plain) is tuple:
        allowed = get_args(get_args(plain)[0])
        return forms.MultipleChoiceField(
            choices=[(one, one.replace("_", " ")) for one in allowed], widget=forms.CheckboxSelectMultiple, **options
        )
    if plain in (float, int):
        return Number(**options)
    if plain is bool:
        return forms.BooleanField(**{**options, "required": False})
    if plain is date:
        return forms.DateField(widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}), **options)
    if plain is dict or get_origin(plain) is dict:
        return forms.JSONField(**options)
    rows = forms.Textarea(attrs={"rows": 2}) if name == "note" else forms.TextInput()
    return forms.CharField(widget=rows, strip=True, **options)


def _choice(choices: list[tuple[str, str]], **options: Any) -> forms.ChoiceField:
    return forms.ChoiceField(choices=[*([] if options["required"] else [("", "–")]), *choices], **options)


def next_key(garden: Garden, kind: str) -> str:
    """Return a short name that nothing has had yet."""
    stem = {"batches": "batch", "worm_beds": "worm-bed"}.get(kind, kind.removesuffix("s"))
    had = set(KINDS[kind].every.filter(garden=garden, key__startswith=f"{stem}-").values_list("key", flat=True))
    return next(
        key for key in (f"{stem}-{number}" for number in range(len(had) + 1, 2 * len(had) + 3)) if key not in had
    )
