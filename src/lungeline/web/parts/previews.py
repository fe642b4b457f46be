"""What a change would do, asked of an animal that remembers what it was asked. Nothing is set by asking."""

import threading
from collections import OrderedDict
from collections.abc import Mapping
from functools import cache
from typing import Any

from lungeline.case import Case
from lungeline.plan import Preview

_MOST_KEPT = 8
_SHOWN = (
    "peak_pressure_cmh2o", "etco2_mmhg", "spare_volume_l", "map_mmhg", "end_tidal_agent_fraction",
    "pao2_mmhg",
)  # fmt: skip


def preview_of(case: Case, settings: Mapping[str, Any]) -> dict[str, Any]:
    """Return the breath after half an hour as it is set, and with a change: {changes: {key: now, then}}."""
    asking = _previews().get(case)
    before, after = asking.breath({}), asking.breath(settings)
    return {
        "changes": {
            key: {"now": getattr(before, key), "then": getattr(after, key)}
            for key in _SHOWN
            if getattr(after, key) is not None
        }
    }


class _Previews:
    """The animals asked lately what a change would do."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Preview] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, case: Case) -> Preview:
        with self._lock:
            found = self._kept.setdefault(repr(case), Preview(case))
            self._kept.move_to_end(repr(case))
            while len(self._kept) > _MOST_KEPT:
                self._kept.popitem(last=False)
            return found


@cache
def _previews() -> _Previews:
    return _Previews()
