"""Settings of all tests: so many examples where a test names no number, and no limit of time on a busy machine.

The suite tries the same examples every time, so that a change is judged by what it changed; other examples are looked
for by hand, `pytest --hypothesis-profile=search`, and what they find becomes a test of its own.
"""

from __future__ import annotations

import os

from hypothesis import settings

# A command in a process of its own would compile the whole package, for each of them again.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

settings.register_profile("suite", max_examples=30, deadline=None, derandomize=True)
settings.register_profile("search", max_examples=2_000, deadline=None)
settings.load_profile("suite")
