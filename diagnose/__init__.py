"""Fault diagnosis for electromagnetic flow meters: ranked causes, the next safe step, the proof that it worked.

The heart is one pure function, :func:`diagnose.reasoning.diagnosis.diagnose`. Knowledge is YAML in ``rules/``.
"""

import os

# Small tables only: the threads of a linear-algebra library cost twice the time of what they share out. Said before any
# of it is loaded; whoever wants otherwise sets these themselves.
for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")

__version__ = "0.6.0"
