"""The numbers of the heap model: read from heap_parameters.csv, changed by name, drawn within their ranges."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError, UnknownName
from loamery.reference import Coefficient, as_coefficient, table
from loamery.say import say
from loamery.uncertain import from_range, scores

FIXED = frozenset({"diffusion_model"})
"""Drawn by name, not on a scale: a switch."""


@cache
def heap_parameters() -> dict[str, Coefficient]:
    """Return every parameter of the heap model by name."""
    rows = (dict(row) for row in table("heap_parameters"))
    return {row["name"]: as_coefficient({"key": row.pop("name"), **row}) for row in rows}


SWITCHES = ("latent_transport", "oxygen_limit", "buoyancy", "temperature_law")
"""Physics that a check may switch off (1 on, 0 off); temperature_law 0 cardinal, 1 exponential."""


@cache
def parameter_type() -> np.dtype[Any]:
    """Return the record type in which the compiled kernel reads the parameters."""
    return np.dtype([(name, np.float64) for name in (*heap_parameters(), *SWITCHES)], align=True)


def parameter_values(changes: Mapping[str, float] | None = None) -> NDArray[Any]:
    """Return the parameters as one record.

    Parameters
    ----------
    changes : values to use in place of the defaults, by name; switches by the names in SWITCHES.

    Returns
    -------
    Record array of shape (1,).

    Raises
    ------
    UnknownName : there is no such parameter.
    InputError : a value is not a finite number.
    """
    record = np.zeros(1, dtype=parameter_type())
    for name, one in heap_parameters().items():
        record[name] = one.value
    for name in ("latent_transport", "oxygen_limit", "buoyancy"):
        record[name] = 1.0
    for name, value in (changes or {}).items():
        record[_known(name)] = _finite(name, value)
    return record


def _known(name: str) -> str:
    if name in heap_parameters() or name in SWITCHES:
        return name
    raise UnknownName(
        say("heap parameter “{name}”", name=name),
        expected=say("a name of heap_parameters.csv"),
        remedy=say("correct the name of the parameter"),
    )


def _finite(name: str, value: float) -> float:
    if not np.isfinite(value):
        raise InputError(
            say("{name} = {value}", name=name, value=value),
            expected=say("a finite number"),
            remedy=say("give the parameter a value"),
        )
    return float(value)


def uncertain_names() -> tuple[str, ...]:
    """Return the parameters that have a range."""
    return tuple(name for name, one in heap_parameters().items() if one.high > one.low)


def drawn_parameters(n: int, seed: int) -> list[dict[str, float]]:
    """Return n seeded draws of every parameter that has a range, as changes for `parameter_values`.

    Notes
    -----
    Positive quantities are drawn log-normal and temperatures normal, both cut at 1.5 ranges from the best value; the
    law of pore diffusion is drawn among its three forms.
    """
    columns = {name: _draw(heap_parameters()[name], n, seed) for name in uncertain_names()}
    return [{name: float(column[i]) for name, column in columns.items()} for i in range(n)]


def _draw(one: Coefficient, n: int, seed: int) -> NDArray[np.float64]:
    score = scores(n, seed, "heap", one.key)
    if one.key in FIXED:
        return np.asarray(np.floor((np.argsort(np.argsort(score)) + 0.5) / n * (one.high - one.low + 1.0)) + one.low)
    kind = "normal" if one.low <= 0.0 else "lognormal"
    best = None if one.value <= one.low or one.value >= one.high else one.value
    spread = from_range(kind, one.low, one.high, best)
    drawn = np.array([spread.quantile(float(np.clip(z, -2.5, 2.5))) for z in score])
    share = one.unit == "1" and one.high <= 1.0 and one.low >= 0.0
    return np.asarray(np.clip(drawn, 0.0 if share else -np.inf, 1.0 if share else np.inf))
