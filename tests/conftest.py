"""Settings of all tests: so many examples where a test names no number, and no limit of time on a busy machine."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("suite", max_examples=50, deadline=None)
settings.load_profile("suite")
