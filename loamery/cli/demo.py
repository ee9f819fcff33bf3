"""``loamery demo``: the whole job on the invented garden."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.garden import open_garden
from loamery.cli.report import explain_kept, write
from loamery.cli.season import print_plan
from loamery.cli.show import console, literal, print_json, working

if TYPE_CHECKING:
    from loamery.cli.options import UnitSystem


def run(into: Path, language: str, units: UnitSystem | None, json: bool) -> None:
    """Write the demo garden (or use the one already there), plan it, and write its report."""
    from loamery.garden.starter import write_demo

    folder = into / "garden"
    there = (folder / "garden.toml").exists()
    if not there:
        write_demo(folder)
    with working(json) as tell:
        _kept, explained = explain_kept(open_garden(folder, units), tell)
        plan = explained.plan
        files = write(plan, into / "report", ("html", "pdf"), language, tell, explained)
    if json:
        document = {"format": "loamery demo 1", "garden": str(folder), "files": [str(path) for path in files]}
        print_json(document | {"plan": plan.as_dict()})
        return
    print_plan(plan)
    out = console()
    out.print(
        f"garden   {literal(folder)}  [dim](invented{', used as it was there' if there else ''}; edit it and run again)[/]"
    )
    page = into / "report" / "season.html"
    out.print(f"report   {literal(page)}  and  {literal(page.with_suffix('.pdf'))}")
    out.print(f"open it  {literal(page.resolve().as_uri())}")
