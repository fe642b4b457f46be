"""A bar for what takes more than a second."""

import sys
import time

_BAR_AFTER_S = 1.0
_BAR_WIDTH = 30


class Bar:
    """A bar on standard error, once the work has taken a second and a person looks on."""

    def __init__(self, what: str) -> None:
        """Begin to wait. what: is counted, such as "animals"."""
        self._what, self._began_s, self._shown = what, time.monotonic(), False

    def show(self, done: int, total: int) -> None:
        """Draw how much is done."""
        if not sys.stderr.isatty() or time.monotonic() - self._began_s < _BAR_AFTER_S:
            return
        self._shown = True
        full = "█" * round(_BAR_WIDTH * done / total)
        sys.stderr.write(f"\r{full:·<{_BAR_WIDTH}} {done} of {total} {self._what}")
        sys.stderr.flush()

    def clear(self) -> None:
        """Take the bar away, so that what follows stands alone."""
        if self._shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
