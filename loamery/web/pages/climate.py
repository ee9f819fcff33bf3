"""The climate of a garden, typed in month by month in the units a person reads."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files
from typing import Any

from django import forms
from django.utils.dates import MONTHS
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from loamery.garden.model import Climate
from loamery.garden.rows import FREEZING_F, PER_FAHRENHEIT
from loamery.units import convert

COLDEST_C, HOTTEST_C, MOST_RAIN_MM = -60.0, 60.0, 2000.0
SHOWN_DECIMALS = 2


@lru_cache(maxsize=1)
def starter_normals() -> Climate:
    """Return the normals of the starter folder, as something to begin from."""
    text = files("loamery.garden").joinpath("starter", "garden.toml").read_text(encoding="utf-8")
    return Climate.model_validate({**tomllib.loads(text)["climate"], "source": ""})


class ClimateForm(forms.Form):  # type: ignore[misc]
    """Two numbers a month, the latitude, and where they are from."""

    whose = forms.CharField(widget=forms.HiddenInput, initial="climate")
    source = forms.CharField(
        label=gettext_lazy("Where the climate is from"), required=False, max_length=200,
        help_text=gettext_lazy("Such as the name of your weather service's station."),
    )  # fmt: skip

    latitude = forms.FloatField(
        label=gettext_lazy("Latitude, degrees, north positive"), required=False, min_value=-90, max_value=90,
        help_text=gettext_lazy("It sets how much sun dries the beds. 45 is taken when you leave it out."),
        widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
    )  # fmt: skip

    def __init__(self, *args: Any, climate: Climate, system: str, **more: Any) -> None:
        super().__init__(*args, **more, auto_id="climate_%s")
        self.us = system == "us"
        self.temp_unit, self.rain_unit = ("°F", "in") if self.us else ("°C", "mm")
        self.fields["source"].initial = climate.source
        self.fields["latitude"].initial = climate.latitude_deg
        for number, (temp, rain) in enumerate(zip(climate.mean_temp_c, climate.rain_mm, strict=True), start=1):
            self._add(f"temp_{number}", self.temp_unit, [self._temp(one) for one in (temp, COLDEST_C, HOTTEST_C)])
            self._add(f"rain_{number}", self.rain_unit, [self._rain(one) for one in (rain, 0.0, MOST_RAIN_MM)])

    def _temp(self, celsius: float) -> float:
        return celsius / PER_FAHRENHEIT + FREEZING_F if self.us else celsius

    def _rain(self, mm: float) -> float:
        return convert(mm, "mm", self.rain_unit)

    def _add(self, name: str, unit: str, numbers: list[float]) -> None:
        start, low, high = numbers
        self.fields[name] = forms.FloatField(
            label=f"{MONTHS[int(name.rpartition('_')[2])]}, {unit}", min_value=round(low), max_value=round(high),
            initial=f"{round(start, SHOWN_DECIMALS):g}", widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
        )  # fmt: skip

    def months(self) -> list[tuple[str, Any, Any]]:
        """Return each month with its two fields."""
        return [(str(MONTHS[one]), self[f"temp_{one}"], self[f"rain_{one}"]) for one in range(1, 13)]

    def climate(self) -> Climate:
        """Return what was filled in, in the units of the garden folder."""
        data = self.cleaned_data
        temps = [data[f"temp_{one}"] for one in range(1, 13)]
        return Climate(
            mean_temp_c=tuple((one - FREEZING_F) * PER_FAHRENHEIT if self.us else one for one in temps),
            rain_mm=tuple(convert(data[f"rain_{one}"], self.rain_unit, "mm") for one in range(1, 13)),
            source=data["source"],
            latitude_deg=data["latitude"],
        )

    def clean(self) -> Any:
        """Return the data when something was typed at all in each month."""
        if any(name.startswith(("temp_", "rain_")) for name in self.errors):
            self.add_error(None, _("The climate needs a temperature and an amount of rain for each month."))
        return super().clean()
