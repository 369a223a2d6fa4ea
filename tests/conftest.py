"""What all tests share: how hypothesis works here."""

import os

from hypothesis import settings

# a busy machine is slow, not wrong; and a continuous run must end the same way twice
settings.register_profile("here", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")
