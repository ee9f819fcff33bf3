"""Entry point of the ``loamery`` command: runs it and turns errors into words and exit codes.

Exit codes: 0 fine, 1 the input is wrong, 2 the command was called in a way it does not know.
"""

from __future__ import annotations

import os
import sys

from loamery.errors import LoameryError

DEBUG = "LOAMERY_DEBUG"


def main() -> None:
    """Run the command line."""
    from loamery.cli.app import app

    wants_json = "--json" in sys.argv[1:]
    try:
        app()
    except LoameryError as error:
        _tell(error, wants_json)
        sys.exit(1)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # the reader left; nobody is there to be told
        sys.exit(0)
    except Exception as error:
        if os.environ.get(DEBUG):
            raise
        _tell_fault(error, wants_json)
        sys.exit(1)


def _tell(error: LoameryError, wants_json: bool) -> None:
    if wants_json:
        from loamery.cli.show import print_json

        details = getattr(error, "as_dict", None)
        print_json(details() if details else {"error": type(error).__name__, "read": str(error)})
    print(str(error), file=sys.stderr)


def _tell_fault(error: Exception, wants_json: bool) -> None:
    text = f"Loamery itself failed ({type(error).__name__}: {error}). Nothing was changed."
    if wants_json:
        from loamery.cli.show import print_json

        print_json({"error": "fault", "read": text})
    print(
        f"{text}\nThis is a fault of ours: please report it with the input. {DEBUG}=1 shows the details.",
        file=sys.stderr,
    )


if __name__ == "__main__":
    main()
