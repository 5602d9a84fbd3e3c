"""Set-up of all tests."""

import os

from hypothesis import settings

# Commands run as processes of their own: what a report means is tested where it is meant, and costs seconds to load.
os.environ.setdefault("DIAGNOSE_MEANING", "off")

settings.register_profile("gate", derandomize=True, deadline=None, max_examples=50)
if os.environ.get("CI"):
    settings.load_profile("gate")  # the gate judges a change, not the luck of the draw
