"""How colours look to eyes of four kinds, and how far apart two colours then are.

* Full colour blindness in linear RGB: Machado, Oliveira and Fernandes 2009, IEEE TVCG 15:1291, severity 1.0. The matrices were read as quoted in
  several public programs, which agree to the last digit; the paper itself was not read. Normal sight is the identity.
* sRGB to CIE Lab under D65: IEC 61966-2-1 and CIE 15 (recalled).
* CIEDE2000: Sharma, Wu and Dalal 2005, Color Research and Application 30:21 (recalled, with three of its test pairs).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations

Lab = tuple[float, float, float]
SIGHTS = {
    "normal": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
SHARMA = (
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
)
"""Two colours in Lab and their published difference."""


def lab(colour: str, sight: str = "normal", opacity: float = 1.0, paper: str = "#ffffff") -> Lab:
    """Return how a colour laid on paper looks to an eye, in CIE Lab."""
    mixed = [opacity * one + (1 - opacity) * under for one, under in zip(_parts(colour), _parts(paper), strict=True)]
    rgb = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in mixed]
    r, g, b = (min(max(sum(m * c for m, c in zip(row, rgb, strict=True)), 0.0), 1.0) for row in SIGHTS[sight])
    xyz = (
        (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505,
        0.2126 * r + 0.7152 * g + 0.0722 * b,
        (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089,
    )
    x, y, z = (one ** (1 / 3) if one > 0.008856 else 7.787 * one + 16 / 116 for one in xyz)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def _parts(colour: str) -> list[float]:
    return [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]


def ciede2000(one: Lab, other: Lab) -> float:
    """Return the difference of two colours, CIEDE2000 with all weights 1."""
    (l1, a1, b1), (l2, a2, b2) = one, other
    middle = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    g = 0.5 * (1 - math.sqrt(middle**7 / (middle**7 + 25**7)))
    a1, a2 = a1 * (1 + g), a2 * (1 + g)
    c1, c2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1, h2 = (math.degrees(math.atan2(b, a)) % 360 for a, b in ((a1, b1), (a2, b2)))
    turn = h2 - h1
    turn -= 360 * round(turn / 360) if abs(turn) > 180 else 0
    turn = 0.0 if c1 * c2 == 0 else turn
    hue = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(turn / 2))
    lm, cm = (l1 + l2) / 2, (c1 + c2) / 2
    hm = h1 + h2 if c1 * c2 == 0 else (h1 + h2) / 2 + (180 if abs(h1 - h2) > 180 else 0)
    t = 1 - 0.17 * _cos(hm - 30) + 0.24 * _cos(2 * hm) + 0.32 * _cos(3 * hm + 6) - 0.2 * _cos(4 * hm - 63)
    light = (l2 - l1) / (1 + 0.015 * (lm - 50) ** 2 / math.sqrt(20 + (lm - 50) ** 2))
    chroma, turned = (c2 - c1) / (1 + 0.045 * cm), hue / (1 + 0.015 * cm * t)
    spin = math.exp(-(((hm % 360 - 275) / 25) ** 2))
    rotation = -2 * math.sqrt(cm**7 / (cm**7 + 25**7)) * math.sin(math.radians(60 * spin))
    return math.sqrt(light**2 + chroma**2 + turned**2 + rotation * chroma * turned)


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))


def nearest(colours: Iterable[str], sight: str) -> tuple[float, str, str]:
    """Return the least difference between any two of some colours to an eye, and which two."""
    return min((ciede2000(lab(a, sight), lab(b, sight)), a, b) for a, b in combinations(colours, 2))
