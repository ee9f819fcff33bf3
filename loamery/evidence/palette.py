"""The look of charts and pages: one family of accents, and a set of colours told apart by any eye and by letters."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

FONT = "Karla"
INK, SOFT, LINE, PAPER, MIST = "#22302b", "#5c6a64", "#d5dcd8", "#fdfdfb", "#eef2ef"
ACCENT, ACCENT_SOFT, ACCENT_PALE = "#1d6a57", "#5f9d8c", "#cfe3dc"
SOIL, WARN = "#a08a6b", "#a8441f"
DARK = {INK: "#e6ece8", SOFT: "#a9b7b0", LINE: "#3d4a44", PAPER: "#161c19", MIST: "#222b27"}
"""What the neutral colours become on a dark screen; marks keep theirs."""

_MARKS = (
    "#1f6f5b",
    "#c7812c",
    "#5c1772",
    "#752b06",
    "#9e71d4",
    "#e8c084",
    "#7d94a4",
    "#2a3b4b",
    "#4fcaed",
    "#98773f",
    "#423727",
    "#5aab84",
    "#8d4286",
    "#2b46d6",
    "#a2520c",
    "#6b5d37",
)
"""Each is as far as can be from those before it and from the paper, for normal sight and three kinds of colour blindness."""


@dataclass(frozen=True)
class Swatch:
    """How one stuff is shown: its colour, the letters on it, and the colour of those letters."""

    key: str
    name: str
    colour: str
    letters: str
    on_colour: str


def swatches(things: Iterable[tuple[str, str]]) -> dict[str, Swatch]:
    """Return a swatch for each (key, name), the same for the same order of things."""
    found: dict[str, Swatch] = {}
    taken: set[str] = set()
    for number, (key, name) in enumerate(things):
        colour = _MARKS[number % len(_MARKS)]
        letters = _letters(key, name, taken)
        taken.add(letters)
        found[key] = Swatch(key, name, colour, letters, on_colour(colour))
    return found


def _letters(key: str, name: str, taken: set[str]) -> str:
    """Return two characters no other thing has, from the key where that reads well."""
    digits = [one for one in name.split() if one.isdigit()]
    first = name[0].upper()
    tries = [first + digits[-1]] if digits else []
    word = key.split(" of ")[-1] if " of " in key else key
    start = "W" if " of " in key else word[0].upper()
    rest = word if " of " in key else word[1:]
    tries += [start + one for one in rest if one.isalnum()]
    tries += [f"{first}{one}" for one in range(100)]
    return next(one for one in tries if one not in taken)


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour such as ``#1d6a57`` (WCAG 2.2 definition)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (WCAG 2.2 definition)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def on_colour(colour: str) -> str:
    """Return black or white, whichever reads better on a colour."""
    return max(("#000000", "#ffffff"), key=lambda one: contrast(one, colour))
