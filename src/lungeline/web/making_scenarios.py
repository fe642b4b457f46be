"""Scenarios being made of cases: each takes some seconds, in a thread of its own, and is asked after."""

import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future
from functools import cache

from lungeline.errors import RecordError
from lungeline.rehearse.scenario import Scenario

_MOST_KEPT = 16
_MOST_AT_ONCE = 2


class Making:
    """What is made, or was made lately, by case."""

    def __init__(self) -> None:
        """Begin with none."""
        self._kept: OrderedDict[str, Future[Scenario]] = OrderedDict()
        self._lock = threading.Lock()

    def begin(self, case: str, make: Callable[[], Scenario]) -> None:
        """Begin to make one of a case, unless it is being made already."""
        with self._lock:
            going = [name for name, it in self._kept.items() if not it.done()]
            if case in going:
                return
            if len(going) >= _MOST_AT_ONCE:
                raise RecordError(
                    where="scenario", given=f"{len(going)} that are being made",
                    allowed=f"at most {_MOST_AT_ONCE} at once", do="Wait for one.",
                )  # fmt: skip
            made: Future[Scenario] = Future()
            self._kept[case] = made
            self._kept.move_to_end(case)
            while len(self._kept) > _MOST_KEPT:
                self._kept.popitem(last=False)
        threading.Thread(target=_make, args=(made, make), name="scenario of a case", daemon=True).start()

    def of(self, case: str) -> Future[Scenario] | None:
        """Return what was begun of a case; None where nothing was."""
        with self._lock:
            return self._kept.get(case)


def _make(made: Future[Scenario], make: Callable[[], Scenario]) -> None:
    try:
        made.set_result(make())
    except Exception as error:  # noqa: BLE001  whoever asks after it is told
        made.set_exception(error)


@cache
def making() -> Making:
    """Return what is made in this process."""
    return Making()
