"""What all tests share."""

import os

from hypothesis import settings

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# A run that ended well ends well again. New examples are looked for on purpose:
# pytest --hypothesis-profile=search
settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("search", deadline=None)
settings.load_profile("same")
