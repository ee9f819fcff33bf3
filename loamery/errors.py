"""Every error Loamery raises on purpose.

LoameryError
    InputError (ValueError)      what a person gave cannot be used as it stands
        UnreadableFile           the file is missing, not what it claims to be, or empty
        UnknownName (KeyError)   a name that the reference data or the garden does not hold
        GardenError              one or more faults in a garden folder, all listed at once
    NoPlan                       the limits given contradict each other; names the smallest set that does
    HeapFailed                   the equations of a heap could not be solved; nothing of it is shown
    DamagedReference             the shipped data files are damaged (a fault of ours, not of the user)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from loamery.say import Said, Verbatim, joined, say


@dataclass(frozen=True)
class Where:
    """A place in something a person gave us: file, sheet or page, row and column as the person counts them."""

    file: str | None = None
    sheet: str | None = None
    page: int | None = None
    row: int | None = None
    column: str | None = None

    def __str__(self) -> str:
        parts: list[str | None] = [
            self.file,
            say("sheet “{sheet}”", sheet=self.sheet) if self.sheet else None,
            say("page {page}", page=self.page) if self.page else None,
            say("row {row}", row=self.row) if self.row else None,
            self._column() if self.column else None,
        ]
        known = [part for part in parts if part]
        return joined(", ", known) if known else say("the input")

    def _column(self) -> str:
        name = self.column or ""
        if not isinstance(name, Said):
            name = Verbatim(name)
        return name if name.startswith("--") else say("column {column}", column=name)

    def as_dict(self) -> dict[str, object]:
        """Return the known parts only, ready for JSON."""
        return {key: value for key, value in asdict(self).items() if value is not None}


class LoameryError(Exception):
    """Anything Loamery says no to; its text is meant for the person at the keyboard."""


class InputError(LoameryError, ValueError):
    """Input that cannot be used.

    Parameters
    ----------
    read : what was read, quoted as it stood.
    where : the place it was read from.
    expected : what would have been right.
    remedy : what the person can do now.
    """

    def __init__(self, read: str, *, where: Where | None = None, expected: str, remedy: str) -> None:
        self.read, self.where, self.expected, self.remedy = read, where or Where(), expected, remedy
        super().__init__(str(self))

    def __reduce__(self) -> tuple[object, tuple[object, ...]]:
        # an error of a worker on another machine has to arrive as it was
        return _again, (type(self), self.read, self.where, self.expected, self.remedy)

    def __str__(self) -> str:
        return say(
            "{where}: {read}\n  expected: {expected}\n  what to do: {remedy}",
            where=str(self.where),
            read=self.read,
            expected=self.expected,
            remedy=self.remedy,
        )

    def as_dict(self) -> dict[str, object]:
        """Return the parts of the error, ready for JSON."""
        return {
            "error": type(self).__name__,
            "read": self.read,
            "where": self.where.as_dict(),
            "expected": self.expected,
            "remedy": self.remedy,
        }


def _again(kind: type[InputError], read: str, where: Where, expected: str, remedy: str) -> InputError:
    return kind(read, where=where, expected=expected, remedy=remedy)


class UnreadableFile(InputError):
    """The file is missing, empty, or not what its name says."""


class UnknownName(InputError, KeyError):
    """A name that neither the garden nor the reference data knows."""

    def __str__(self) -> str:
        return InputError.__str__(self)


class GardenError(LoameryError, ValueError):
    """All faults found in a garden folder, so that one pass mends them all."""

    def __init__(self, faults: Sequence[InputError]) -> None:
        self.faults = tuple(faults)
        count = len(self.faults)
        head = (
            say("1 thing in the garden folder needs mending:")
            if count == 1
            else say("{count} things in the garden folder need mending:", count=count)
        )
        super().__init__(joined("\n", [head, *(str(fault) for fault in self.faults)]))

    def as_dict(self) -> dict[str, object]:
        """Return every fault, ready for JSON."""
        return {"error": "GardenError", "faults": [fault.as_dict() for fault in self.faults]}


class NoPlan(LoameryError):
    """No answer fits all limits at once.

    Parameters
    ----------
    conflict : names of the smallest set of limits found that cannot hold together.
    remedies : what to add or loosen, most useful first.
    """

    def __init__(self, text: str, *, conflict: Sequence[str] = (), remedies: Sequence[str] = ()) -> None:
        self.conflict, self.remedies = tuple(conflict), tuple(remedies)
        lines = [text]
        if self.conflict:
            lines.append(say("  these cannot hold together: {limits}", limits=joined("; ", self.conflict)))
        lines += [say("  what would help: {remedy}", remedy=remedy) for remedy in self.remedies]
        super().__init__(joined("\n", lines))

    def as_dict(self) -> dict[str, object]:
        """Return the conflict and the remedies, ready for JSON."""
        return {
            "error": "NoPlan",
            "read": str(self.args[0]).split("\n", 1)[0],
            "conflict": list(self.conflict),
            "remedies": list(self.remedies),
        }


class HeapFailed(LoameryError):
    """The equations of a heap could not be solved; nothing of it is shown."""


class DamagedReference(LoameryError):
    """A shipped data file breaks its own rules; reinstalling mends it."""
