"""Forms of settings: what one person reads, and how the garden is set up."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from loamery.reference import table
from loamery.web.pages.terms import told
from loamery.web.people.models import Person
from loamery.web.records.models import Garden


class MyForm(forms.ModelForm):  # type: ignore[misc]
    """What one person is called and reads: units, light or dark."""

    whose = forms.CharField(widget=forms.HiddenInput, initial="mine")
    theme = forms.ChoiceField(
        label=_("Light or dark"),
        required=False,
        choices=[("", _("as this device is set")), ("light", _("light")), ("dark", _("dark"))],
    )

    def __init__(self, *args: Any, theme: str = "", **more: Any) -> None:
        super().__init__(*args, **more, auto_id="mine_%s")
        self.fields["theme"].initial = theme
        self.fields["name"].label = _("What you are called")
        self.fields["units"].label = _("Units you read")
        self.fields["units"].choices = [
            ("", _("as the garden is set")),
            ("metric", _("metric")),
            ("us", _("US customary")),
        ]

    class Meta:
        """Name and units."""

        model = Person
        fields = ("name", "units")


class GardenForm(forms.ModelForm):  # type: ignore[misc]
    """How a garden is set up."""

    whose = forms.CharField(widget=forms.HiddenInput, initial="garden")
    jurisdiction = forms.ChoiceField(label=_("Rules that apply"))
    units = forms.ChoiceField(
        label=_("Units of the sheets"), choices=[("metric", _("metric")), ("us", _("US customary"))]
    )

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more, auto_id="garden_%s")
        open_ = [] if self.instance.jurisdiction else [("", _("choose"))]  # whose limits apply is nobody's to guess
        rules = [(row["key"], told(row["name"])) for row in table("jurisdictions")]
        self.fields["jurisdiction"].choices = [*open_, *rules]
        words = {
            "name": _("Name of the garden"), "place": _("City or district"), "currency": _("Currency of prices"),
            "season_start": _("First day of the season"), "season_weeks": _("Weeks that are planned"),
            "bucket_l": _("Size of your bucket, litres"), "hours_per_week": _("Hands available, hours a week"),
        }  # fmt: skip
        for name, label in words.items():
            self.fields[name].label = label
        self.fields["season_start"].widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        self.fields["season_start"].help_text = _("Best a Monday.")
        self.fields["hours_per_week"].help_text = _("Leave empty when work is not the limit.")
        self.fields["jurisdiction"].help_text = _("Whose limits for compost, soil and manure hold where you garden.")
        for name in ("name", "place", "currency"):
            self.fields[name].widget = forms.TextInput()

    def clean(self) -> Any:
        """Return the data when the garden's own rules accept it."""
        from pydantic import ValidationError

        from loamery.garden.model import Info

        data = super().clean() or self.cleaned_data
        known = {name: getattr(self.instance, name) for name in Info.model_fields}
        try:
            Info.model_validate({**known, **{name: value for name, value in data.items() if name in Info.model_fields}})
        except ValidationError as error:
            for one in error.errors():
                name = str(one["loc"][0])
                self.add_error(
                    name if name in self.fields else None, _("This cannot be: %(why)s.") % {"why": one["msg"]}
                )
        return data

    class Meta:
        """What an owner may change here."""

        model = Garden
        fields = (
            "name",
            "place",
            "season_start",
            "season_weeks",
            "hours_per_week",
            "bucket_l",
            "jurisdiction",
            "units",
            "currency",
        )
