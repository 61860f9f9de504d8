"""`python -m trackside`, and the console command."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line; the exit status is 0, or 2 for bad input, or 1 for the logbook."""
    from trackside.cli import run

    sys.exit(run())


if __name__ == "__main__":
    main()
