"""One profile for all property tests: no deadline on a busy machine, the same examples each run."""

from hypothesis import settings

settings.register_profile("bench", deadline=None, derandomize=True)
settings.load_profile("bench")
