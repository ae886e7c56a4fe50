"""Property-based tests here are judged by what they find, not by how fast a shared machine is."""

from hypothesis import settings

settings.register_profile("without deadline", deadline=None)
settings.load_profile("without deadline")
