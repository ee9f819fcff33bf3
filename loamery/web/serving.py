"""Starting the web page: its data folder, its tables, the demo garden on the first start, and the server."""

from __future__ import annotations

import ipaddress
import os
import socket
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from loamery.errors import InputError, Where

THREADS = 8
MOST_BODY_BYTES = 210 * 2**20
DEMO_SLUG = "fernmoor"


@dataclass(frozen=True)
class Served:
    """Where and for whom the page is served.

    Parameters
    ----------
    data : folder that holds the database, files of gardens, mail and keys.
    login : more than one person; only encrypted connections, which a proxy in front of it brings.
    names : names the page goes by, such as garden.example; needed with login.
    """

    data: Path
    host: str = "127.0.0.1"
    port: int = 8000
    login: bool = False
    names: tuple[str, ...] = ()
    proxy: bool = False


def start(application: Any, served: Served) -> None:
    """Serve what `prepare` returned until stopped."""
    import waitress

    waitress.serve(
        application, host=served.host, port=served.port, threads=THREADS, ident=None,
        max_request_body_size=MOST_BODY_BYTES, channel_timeout=120, clear_untrusted_proxy_headers=not served.proxy,
        **({"trusted_proxy": "127.0.0.1", "trusted_proxy_headers": {"x-forwarded-proto", "x-forwarded-for"}} if served.proxy else {}),
    )  # fmt: skip


def prepare(served: Served) -> Any:
    """Set the environment, bring the tables up to date, and return the application.

    Raises
    ------
    InputError : others than this machine would get in without a login, the port is taken, or the data folder cannot
        be made.
    """
    _refuse_open_door(served)
    _look_at_port(served)
    try:
        served.data.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise InputError(
            f"cannot be made ({error.strerror})", where=Where(file=str(served.data)), expected="a folder for the data",
            remedy="name another folder with --data",
        ) from None  # fmt: skip
    os.environ["LOAMERY_DATA"] = str(served.data.resolve())
    os.environ["LOAMERY_SERVED"] = "1" if served.login else ""
    os.environ["LOAMERY_HOSTS"] = ",".join(served.names)
    os.environ["LOAMERY_BEHIND_PROXY"] = "1" if served.proxy else ""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "loamery.web.settings")
    from loamery.web.wsgi import application

    migrate()
    if not served.login:
        first_garden()
    from loamery.web.pages.later import catch_up

    catch_up()
    return application


def migrate() -> None:
    """Bring the tables up to date."""
    from django.core.management import call_command

    call_command("migrate", verbosity=0, interactive=False)


def first_garden() -> None:
    """Give the one person of this machine the invented demo garden when there is no garden yet."""
    from tempfile import TemporaryDirectory

    from loamery.garden.starter import write_demo
    from loamery.web.people.alone import own_person
    from loamery.web.records.exchange import take_in
    from loamery.web.records.models import Garden
    from loamery.web.records.snapshot import snapshot

    if Garden.objects.exists():
        return
    with TemporaryDirectory() as place:
        garden = take_in(write_demo(Path(place) / "garden", seasons=True), own_person(), slug=DEMO_SLUG)
    garden.today_is = snapshot(garden).readings[-1].on  # its records end there
    garden.save(update_fields=["today_is"])


def first_owner(email: str) -> str:
    """Return the path of a link by which somebody sets a first password; the person is made when new."""
    from django.contrib.auth.tokens import default_token_generator
    from django.urls import reverse
    from django.utils.encoding import force_bytes
    from django.utils.http import urlsafe_base64_encode

    from loamery.web.people.models import Person

    person = Person.objects.filter(email__iexact=email).first() or Person.objects.create_user(email)
    token = default_token_generator.make_token(person)
    return str(reverse("people:reset-confirm", args=[urlsafe_base64_encode(force_bytes(person.pk)), token]))


def note_address(served: Served) -> str:
    """Return the address to open."""
    if served.login:
        return f"https://{served.names[0]}/"
    host = f"[{served.host}]" if ":" in served.host else served.host
    return f"http://{host}:{served.port}/"


def _refuse_open_door(served: Served) -> None:
    if served.login and not served.names:
        raise InputError(
            "no name", where=Where(column="--name"), expected="the name the page goes by, such as garden.example",
            remedy="add --name garden.example",
        )  # fmt: skip
    if not served.login and not _is_loopback(served.host):
        raise InputError(
            f"“{served.host}”", where=Where(column="--host"), expected="127.0.0.1 unless people log in",
            remedy="add --login and --name, so that not everybody in the network can change the garden",
        )  # fmt: skip


def _is_loopback(host: str) -> bool:
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _look_at_port(served: Served) -> None:
    family = socket.AF_INET6 if ":" in served.host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((served.host, served.port))
        except OSError as error:
            raise InputError(
                f"port {served.port} ({error.strerror})", where=Where(column="--port"), expected="a free port",
                remedy="stop what uses it, or choose another with --port",
            ) from None  # fmt: skip
