"""Letters beside treatments: two that share one were not told apart."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loamery.trials.analyse import Analysis


def letters_of(order: Sequence[str], apart: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Return letters for each treatment, so that two share a letter exactly where they were not told apart.

    Parameters
    ----------
    order : treatments, those that come first get the first letters.
    apart : pairs that were told apart, in either order.

    Source
    ------
    Piepho 2004, J. Comput. Graph. Stat. 13:456-466, insert and absorb (recalled).
    """
    groups = [frozenset(order)]
    for one, other in apart:
        split = [part for each in groups for part in _without(each, one, other)]
        kept = dict.fromkeys(split)
        groups = [each for each in kept if not any(each < larger for larger in kept)]
    place = {key: at for at, key in enumerate(order)}
    groups.sort(key=lambda each: sorted(place[key] for key in each))
    return {key: "".join(_letter(at) for at, each in enumerate(groups) if key in each) for key in order}


def _without(group: frozenset[str], one: str, other: str) -> list[frozenset[str]]:
    return [group - {one}, group - {other}] if one in group and other in group else [group]


def _letter(at: int) -> str:
    return chr(ord("a") + at) if at < 26 else f"({_letter(at // 26 - 1)}{_letter(at % 26)})"


def letters_found(found: Analysis) -> list[tuple[str, float, str]]:
    """Return treatment, mean and letters of an analysed trial that compares every two, the largest mean first."""
    ranked = sorted(zip(found.frame.keys, found.means, strict=True), key=lambda one: -one[1])
    told = letters_of([key for key, _ in ranked], [(one.treatment, one.reference) for one in found.found])
    return [(key, mean, told[key]) for key, mean in ranked]
