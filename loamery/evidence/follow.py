"""Following numbers: every traced number of a sheet gets a reference, and with it everything it rests on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from loamery.finding import Ledger, Trace
from loamery.reference import sources


@dataclass
class Follow:
    """The references of one sheet.

    Parameters
    ----------
    ledger : every trace there is; only those referred to are numbered.
    numbers : reference numbers by trace id, in the order of first mention.
    cited : source keys in the order of first mention.
    missing : ids that were asked for and have no trace.
    """

    ledger: Ledger
    numbers: dict[str, int] = field(default_factory=dict)
    cited: dict[str, int] = field(default_factory=dict)
    missing: dict[str, None] = field(default_factory=dict)

    def number(self, trace: str) -> int:
        """Return the reference number of a trace, 0 when there is no such trace."""
        if not trace:
            return 0
        if trace not in self.ledger:
            self.missing[trace] = None
            return 0
        return self.numbers.setdefault(trace, len(self.numbers) + 1)

    def cite(self, keys: Iterable[str]) -> list[str]:
        """Take down the sources of a statement and return those that the reference data knows."""
        known = [key for key in dict.fromkeys(keys) if key in sources()]
        for key in known:
            self.cited.setdefault(key, len(self.cited) + 1)
        return known

    def close(self) -> list[Trace]:
        """Return every trace with a number, those that they rest on included, in order of number."""
        done = 0
        while done < len(self.numbers):
            trace = self.ledger[list(self.numbers)[done]]
            for one in trace.inputs:
                self.number(one.trace)
            self.cite(trace.sources)
            done += 1
        return [self.ledger[key] for key in self.numbers]
