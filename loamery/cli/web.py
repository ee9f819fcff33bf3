"""The commands of the web page: serving it, and looking after its data."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from loamery.cli.options import Json

web = typer.Typer()
DataFolder = Annotated[Path, typer.Option(help="data folder of the web page")]


@web.command()
def serve(
    data: Annotated[Path, typer.Option(help="folder that holds everything the web page keeps")] = Path("loamery-data"),
    port: Annotated[int, typer.Option(help="port to listen on")] = 8000,
    host: Annotated[
        str, typer.Option(help="address to listen on; others than this machine only with --login")
    ] = "127.0.0.1",
    login: Annotated[bool, typer.Option("--login", help="for several people: they log in, over TLS only")] = False,
    name: Annotated[list[str] | None, typer.Option(help="name the page goes by, e.g. garden.example")] = None,
    proxy: Annotated[bool, typer.Option("--proxy", help="a proxy on this machine brings TLS and says so")] = False,
    owner: Annotated[
        str | None, typer.Option(help="mail address of a first person; prints a link to set a password")
    ] = None,
) -> None:
    """Open the web page on this machine, with the demo garden on the first start."""
    from loamery.cli.serve import run
    from loamery.web.serving import Served

    run(Served(data, host, port, login, tuple(name or ()), proxy), owner)


@web.command()
def backup(
    into: Annotated[Path | None, typer.Option(help="new file; a dated one in this folder when left out")] = None,
    data: DataFolder = Path("loamery-data"),
    json: Json = False,
) -> None:
    """Keep everything of the web page in one file, while it runs."""
    from loamery.cli.upkeep import run_backup

    run_backup(data, into, json)


@web.command()
def restore(
    file: Annotated[Path, typer.Argument(help="file that `loamery backup` wrote")],
    data: DataFolder = Path("loamery-data"),
    json: Json = False,
) -> None:
    """Bring a backup into a new data folder or an empty database."""
    from loamery.cli.upkeep import run_restore

    run_restore(file, data, json)


@web.command()
def check(data: DataFolder = Path("loamery-data"), json: Json = False) -> None:
    """Look over the records of the web page, their history and their files."""
    from loamery.cli.upkeep import run_check

    run_check(data, json)


@web.command()
def move(
    address: Annotated[str, typer.Argument(help="address of an empty database, e.g. postgresql://user@host/name")],
    data: DataFolder = Path("loamery-data"),
    json: Json = False,
) -> None:
    """Copy the database of the web page into another one, such as from SQLite to PostgreSQL."""
    from loamery.cli.upkeep import run_move

    run_move(address, data, json)
