"""How properties are searched: the same examples each time in CI, new ones at the desk, many by `make fuzz`.

No example has a deadline: the first one that meets a formula waits for its compilation.
"""

import os

from hypothesis import settings

settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.register_profile("desk", deadline=None)
settings.register_profile("fuzz", deadline=None, max_examples=5000)
settings.load_profile("ci" if os.environ.get("CI") else "desk")
