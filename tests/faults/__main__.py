"""`python -m tests.faults`: the long run (`long_run.py`)."""

import sys

from tests.faults.long_run import main

if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 1.0, *sys.argv[2:]) > 0)
