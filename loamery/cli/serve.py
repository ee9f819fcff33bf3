"""``loamery serve``: the web page on this machine, or for several people."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loamery.cli.show import console, literal

if TYPE_CHECKING:
    from loamery.web.serving import Served


def run(served: Served, owner: str | None) -> None:
    """Make everything ready, say where to look, and serve until stopped."""
    from loamery.web.serving import first_owner, note_address, prepare, start

    out = console()
    out.print("[dim]making ready …[/]")
    application = prepare(served)
    if owner:
        out.print(
            f"set a password for {literal(owner)}:  {literal(note_address(served).rstrip('/') + first_owner(owner))}"
        )
    out.print(
        f"open [bold]{literal(note_address(served))}[/]   [dim](data in {literal(served.data)}; stop with Ctrl-C)[/]"
    )
    start(application, served)
