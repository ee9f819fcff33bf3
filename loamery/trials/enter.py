"""Adding readings to a trial without losing or doubling any."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from loamery.errors import GardenError, InputError, Where
from loamery.say import say
from loamery.trials.design import Trial
from loamery.trials.folder import Reading, read_readings, save_readings, trial_path


@dataclass(frozen=True)
class Entered:
    """What entering did.

    Parameters
    ----------
    added : rows that were new; known : rows that were there already.
    missing : plots that still have neither a reading nor a reason.
    """

    added: int
    known: int
    missing: tuple[str, ...]
    path: Path

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        return {"added": self.added, "known": self.known, "missing": list(self.missing), "file": str(self.path)}


def add_readings(garden: Path, trial: Trial, file: Path) -> Entered:
    """Add the readings of a file to those of a trial.

    Raises
    ------
    UnreadableFile : there is no such file.
    GardenError : rows that cannot be used, or that say otherwise than what was entered before; nothing is changed.
    """
    path = trial_path(garden, trial.trial.name).with_suffix(".csv")
    old = [one for one in (read_readings(path, trial) if path.exists() else ()) if one.value is not None or one.lost]
    new = [one for one in read_readings(file, trial) if one.value is not None or one.lost]
    by_day = {(one.plot, one.measured_on): one for one in old}
    clashes, fresh = [], []
    for one in new:
        before = by_day.get((one.plot, one.measured_on))
        if before is None:
            fresh.append(one)
            by_day[(one.plot, one.measured_on)] = one
        elif (before.value, before.lost) != (one.value, one.lost):
            clashes.append(_clash(file, one, before))
    if clashes:
        raise GardenError(clashes)
    rows = in_order(trial, [*old, *fresh])
    save_readings(garden, trial, rows)
    return Entered(
        len(fresh), len(new) - len(fresh), tuple(one.plot for one in rows if one.value is None and not one.lost), path
    )


def _clash(file: Path, one: Reading, before: Reading) -> InputError:
    return InputError(
        say("{value} for plot {plot} on {measured_on}", value=one.value if one.value is not None else one.lost, plot=one.plot, measured_on=one.measured_on), where=Where(file=file.name, column="value"),
        expected=say("{value}, as entered before", value=before.value if before.value is not None else before.lost),
        remedy=say("correct one of the two; to replace what was entered, edit the trial's CSV file"),
    )  # fmt: skip


def in_order(trial: Trial, rows: list[Reading]) -> list[Reading]:
    """Return rows by plot and day, with an empty row for each plot that has none."""
    out = []
    for plot in trial.plots:
        mine = sorted((one for one in rows if one.plot == plot.id), key=lambda one: str(one.measured_on))
        out += [one.model_copy(update={"treatment": plot.treatment}) for one in mine]
        out += [] if mine else [Reading(plot=plot.id, treatment=plot.treatment)]
    return out
