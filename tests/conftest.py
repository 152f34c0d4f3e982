"""What holds for all tests: a busy machine makes no test fail for being slow."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")
