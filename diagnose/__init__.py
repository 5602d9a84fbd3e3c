"""Fault diagnosis for electromagnetic flow meters: ranked causes, the next safe step, the proof that it worked.

The heart is one pure function, :func:`diagnose.reasoning.diagnosis.diagnose`. Knowledge is YAML in ``rules/``.
"""

__version__ = "0.5.0"
