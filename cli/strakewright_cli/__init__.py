"""The command line of strakewright.

One thread of linear algebra a process: our matrices are small, a second thread only waits for the first (measured: the
hull stage took 62 s instead of 4 on a busy machine of two cores), and sums come out alike on every machine.
"""

from __future__ import annotations

import os

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
