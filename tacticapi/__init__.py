"""tacticapi turns what was seen of an unknown tennis opponent into ranked, explained suggestions."""

import os

__version__ = "0.1.0"

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: on matrices this small, threads only wait
