"""What holds for all tests."""

from __future__ import annotations

import os

from hypothesis import settings

# On a build machine the same examples each time, so that a change is judged by what it changes;
# elsewhere new ones at every run.
settings.register_profile("build", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("build")
