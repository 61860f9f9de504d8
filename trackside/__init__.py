"""trackside: what the car ran at each corner, what a click is worth, and what won."""

import os

# Matrices here have some hundred rows: threads of linear algebra take more time than they save, the
# more so where the machine has other work. It is read when numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__version__ = "0.1.0"
