"""Set-up of all tests."""

import os

from hypothesis import settings

settings.register_profile("gate", derandomize=True, deadline=None)
if os.environ.get("CI"):
    settings.load_profile("gate")  # the gate judges a change, not the luck of the draw
