"""No coefficient is dead data: each is named in the code, or by a pattern of the code, or checked against what was published."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

from loamery.reference import coefficients

ROOT = Path(__file__).resolve().parents[2]
LEAST_LETTERS = 4
"""A pattern with fewer fixed letters would fit too much."""


@cache
def named() -> tuple[set[str], list[re.Pattern[str]]]:
    """Return every string of the code, and its strings with gaps as patterns."""
    strings: set[str] = set()
    patterns: set[str] = set()
    for path in (*(ROOT / "loamery").rglob("*.py"), *(ROOT / "validation").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                strings.add(node.value)
            elif isinstance(node, ast.JoinedStr):
                fixed = [str(one.value) if isinstance(one, ast.Constant) else None for one in node.values]
                if sum(len(one) for one in fixed if one) >= LEAST_LETTERS and not any(
                    " " in one for one in fixed if one
                ):
                    patterns.add("".join(r"[A-Za-z0-9_]+" if one is None else re.escape(one) for one in fixed))
    return strings, [re.compile(one) for one in patterns]


def read_somewhere(key: str) -> bool:
    strings, patterns = named()
    return key in strings or any(one.fullmatch(key) for one in patterns)


def test_every_coefficient_is_read() -> None:
    assert [key for key in coefficients() if not read_somewhere(key)] == []


def test_a_dead_one_is_caught() -> None:
    assert not read_somewhere("minutes_per_trip") and not read_somewhere("decay_share_straw")
    assert read_somewhere("ceiling_factor_p_low") and read_somewhere("review_yield_rsd")
