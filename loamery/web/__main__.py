"""Django's own commands for those who look after a server: ``python -m loamery.web check --deploy``."""

from __future__ import annotations

import os
import sys


def main() -> None:
    """Run a command of Django with the settings of the web page."""
    from django.core.management import execute_from_command_line

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "loamery.web.settings")
    execute_from_command_line(["loamery.web", *sys.argv[1:]])


if __name__ == "__main__":
    main()
