"""What a trial can see: power, plots needed, and the smallest difference found in most such trials."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from loamery.errors import InputError, UnknownName, Where
from loamery.reference import Coefficient, coefficient, coefficients, table
from loamery.say import say
from loamery.trials.compare import LargestT, contrasts
from loamery.trials.design import Design, Trial

MOST_BLOCKS = 200
MOST_RATIO = 200.0
"""Differences are looked for up to so many standard deviations: two treatments in two blocks need more than a hundred."""


@dataclass(frozen=True)
class Layout:
    """The size of a trial.

    Parameters
    ----------
    treatments : how many, the control counted.
    blocks : how many, or how often each treatment stands where there are none.
    control : whether each is compared with a control only; else every two are.
    """

    treatments: int
    blocks: int
    design: Design = "complete_blocks"
    control: bool = True

    @property
    def df_error(self) -> int:
        """Return the degrees of freedom left for the error."""
        within = self.treatments * (self.blocks - 1)
        return within - (self.blocks - 1) if self.design == "complete_blocks" else within

    @property
    def plots(self) -> int:
        """Return the number of plots."""
        return self.treatments * self.blocks


def plot_spread(crop: str = "") -> Coefficient:
    """Return the spread between plots treated alike, within a block: that of a crop where trials of it were published, else the usual.

    Parameters
    ----------
    crop : slug or name of crops.csv; empty for none.

    Raises
    ------
    UnknownName : no such crop.
    """
    if not crop:
        return coefficient("trial_plot_cv")
    key = f"trial_plot_cv_{crop_slug(crop).replace('-', '_')}"
    return coefficients().get(key) or coefficient("trial_plot_cv")


def crop_slug(crop: str) -> str:
    """Return the slug of a crop given by slug or name.

    Raises
    ------
    UnknownName : no such crop.
    """
    wanted = crop.strip().casefold()
    for row in table("crops"):
        if wanted in (row["slug"], row["name"].casefold()):
            return row["slug"]
    raise UnknownName(
        say("crop “{crop}”", crop=crop), where=Where(column="--crop"), expected=say("a crop of crops.csv, such as tomato or bean-snap"),
        remedy=say("correct it, or give the spread itself with --spread"),
    )  # fmt: skip


def critical_t(layout: Layout, alpha: float | None = None) -> float:
    """Return the |t| a comparison must pass, all comparisons of the trial judged together."""
    keys = [str(one) for one in range(layout.treatments)]
    rows = contrasts(keys, keys[0] if layout.control else "")
    return LargestT(rows @ rows.T, layout.df_error).critical(
        coefficient("trial_alpha").value if alpha is None else alpha
    )


def power_of_pair(layout: Layout, difference: float, cv: float, critical: float | None = None) -> float:
    """Return the chance that one comparison is found.

    Parameters
    ----------
    difference : true difference as a share of the mean.
    cv : spread between plots treated alike, within a block, as a share of the mean.
    critical : |t| to pass; by default that of all comparisons judged together.

    Returns
    -------
    Probability, from the noncentral t with df_error degrees of freedom and noncentrality (difference/cv) sqrt(blocks/2).
    """
    _check(difference, cv)
    return _power(layout, difference / cv, critical_t(layout) if critical is None else critical)


def _power(layout: Layout, ratio: float, critical: float) -> float:
    """Return the chance that a difference of so many standard deviations is found."""
    from scipy.stats import nct

    shift = ratio * math.sqrt(layout.blocks / 2.0)
    if shift > critical + 40.0:  # far beyond any doubt; the tails are not computed there
        return 1.0
    upper, lower = nct.sf(critical, layout.df_error, shift), nct.cdf(-critical, layout.df_error, shift)
    return float(np.clip(np.nan_to_num(upper, nan=1.0) + np.nan_to_num(lower, nan=0.0), 0.0, 1.0))


def power_of_f(layout: Layout, f_squared: float, alpha: float) -> float:
    """Return the chance that the analysis of variance finds any difference among the treatments.

    Parameters
    ----------
    f_squared : variance of the treatment means over the variance between plots (Cohen's f, squared).

    Source
    ------
    Noncentral F with noncentrality blocks x treatments x f_squared.
    """
    from scipy.stats import f, ncf

    between = layout.treatments - 1
    limit = f.ppf(1.0 - alpha, between, layout.df_error)
    return float(ncf.sf(limit, between, layout.df_error, layout.plots * f_squared))


def blocks_needed(layout: Layout, difference: float, cv: float, power: float | None = None) -> int | None:
    """Return the fewest blocks with which a difference is found in most such trials, None beyond 200."""
    wanted = coefficient("trial_power_wanted").value if power is None else power

    def enough(blocks: int) -> bool:
        return power_of_pair(replace(layout, blocks=blocks), difference, cv) >= wanted

    low, high = 1, 2
    while not enough(high):
        low, high = high, 2 * high
        if low >= MOST_BLOCKS:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def detectable(layout: Layout, cv: float, power: float | None = None) -> float:
    """Return the smallest difference, as a share of the mean, found in most such trials."""
    from scipy.optimize import brentq

    wanted = coefficient("trial_power_wanted").value if power is None else power
    critical = critical_t(layout)
    return cv * float(brentq(lambda ratio: _power(layout, ratio, critical) - wanted, 1e-3, MOST_RATIO, xtol=1e-4))


def _check(difference: float, cv: float) -> None:
    if not 0.0 < difference <= 20.0:
        raise InputError(
            f"{difference:g}", where=Where(column="--difference"), expected=say("a difference above 0 % and at most 2000 %"),
            remedy=say("for example 20"),
        )  # fmt: skip
    if not 0.0 < cv <= 3.0:
        raise InputError(
            f"{cv:g}", where=Where(column="--spread"), expected=say("a spread above 0 % and at most 300 %"), remedy=say("for example 18")
        )  # fmt: skip


def seen_by(made: Trial) -> list[str]:
    """Return in sentences what a trial of this size can see, its plots as uneven as those of its crop, or of gardens, usually are."""
    crop = made.trial.crop
    spread, wanted = plot_spread(crop), coefficient("trial_power_wanted").value
    layout = Layout(len(made.treatments), made.blocks, made.trial.design, bool(made.trial.control))
    low, middle, high = (100 * detectable(layout, one) for one in (spread.low, spread.value, spread.high))
    more = blocks_needed(layout, 0.2, spread.value)
    word = say("blocks") if made.trial.design == "complete_blocks" else say("plots of each treatment")
    return [
        say(
            "With plots as uneven as {whose} usually are (spread {spread:.0f} %, from {least:.0f} to {most:.0f} %), "
            "{wanted:.0f} of 100 such trials find a difference of {middle:.0f} % of the mean ({low:.0f} to {high:.0f} %). Smaller ones mostly stay hidden.",
            whose=_whose(spread, crop), spread=100 * spread.value, least=100 * spread.low, most=100 * spread.high,
            wanted=100 * wanted, middle=middle, low=low, high=high,
        ),
        say("To find a difference of 20 % it would take {more} {word}.", more=more, word=word)
        if more
        else say("A difference of 20 % is out of reach even with 200 {word}.", word=word),
        *_straddling(made),
    ]  # fmt: skip


def _whose(spread: Coefficient, crop: str) -> str:
    return say("garden plots") if spread.key == "trial_plot_cv" else say("plots of {crop}", crop=_crop_name(crop))


def _crop_name(slug: str) -> str:
    return next(row["name"] for row in table("crops") if row["slug"] == slug).lower()


def _straddling(made: Trial) -> list[str]:
    """Return what is to be said of blocks that run on from one bed to the next."""
    if made.trial.design != "complete_blocks":
        return []
    beds = {block: {one.bed for one in made.plots if one.block == block} for block in {one.block for one in made.plots}}
    split = sorted(block for block, on in beds.items() if len(on) > 1)
    if not split:
        return []
    if len(split) == 1:
        return [
            say(
                "Block {block} lies on more than one bed: what differs between those beds counts as chance, so choose beds that are alike.",
                block=split[0],
            )
        ]
    return [
        say(
            "Blocks {blocks} lie on more than one bed: what differs between those beds counts as chance, so choose beds that are alike.",
            blocks=", ".join(str(one) for one in split),
        )
    ]
