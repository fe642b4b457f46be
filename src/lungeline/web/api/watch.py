"""The running case for its page: lanes, what is expected, what a change would do, why measured differs."""

import threading
from collections import OrderedDict
from typing import Any

from django.http import HttpRequest
from ninja import Router, Schema

from lungeline.errors import MissingError
from lungeline.explain import channels, explain, typed
from lungeline.plan import Preview
from lungeline.theatre import CaseNow
from lungeline.theatre.expected import Beside, Expected, beside, expected
from lungeline.theatre.watching import case_now, threats_now, watched
from lungeline.web.api.entries import seen
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.seat import desk_of
from lungeline.words import say

router = Router()
_MOST_KEPT = 8
_SHOWN = (
    "peak_pressure_cmh2o", "etco2_mmhg", "spare_volume_l", "map_mmhg", "end_tidal_agent_fraction",
    "pao2_mmhg",
)  # fmt: skip


class Changed(Schema):
    """Settings that a person thinks of changing."""

    settings: dict[str, Any]


class _Runs:
    """What was reckoned beside cases lately. One at a time; whoever asks the same waits for the same."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Expected] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, asked: Beside) -> Expected:
        with self._lock:
            if asked.key not in self._kept:
                self._kept[asked.key] = expected(asked)
                while len(self._kept) > _MOST_KEPT:
                    self._kept.popitem(last=False)
            return self._kept[asked.key]


_runs = _Runs()


@router.get("/{case}/watch")
def watch(request: HttpRequest, case: str) -> dict[str, Any]:
    """Return the running case: clock, lanes, what is due or must be set back, threats with the first act."""
    now, moment = seen(request, case), desk_of(request).clock()
    language = view_of(request)["language"]
    told = [say(finding, language) for finding in threats_now(now.state, moment)]
    threats = [{"code": it.code, "severity": it.severity, "says": it.says, "do": it.do} for it in told]
    return {**watched(now.state, moment), "threats": threats}


@router.get("/{case}/expected")
def expected_now(request: HttpRequest, case: str) -> dict[str, Any]:
    """Return the bands in which an animal like this one should be; nothing where no plan was kept."""
    asked = beside(seen(request, case).state, desk_of(request).clock())
    return {"expected": None if asked is None else _runs.get(asked).as_json()}


@router.post("/{case}/preview")
def preview(request: HttpRequest, case: str, given: Changed) -> dict[str, Any]:
    """Return the breath after half an hour as it is set, and with a change. Nothing is set by asking."""
    planned = _planned(seen(request, case))
    asking = Preview(planned)
    before, after = asking.breath({}), asking.breath(given.settings)
    return {
        "changes": {
            key: {"now": getattr(before, key), "then": getattr(after, key)}
            for key in _SHOWN
            if getattr(after, key) is not None
        }
    }


@router.post("/{case}/causes")
def causes(request: HttpRequest, case: str) -> dict[str, Any]:
    """Return why what was measured last differs from what is expected: causes in words, and the next test."""
    now = seen(request, case)
    planned = _planned(now)
    values = {key: float(it.value) for key, it in now.state.readings.items() if _known(key, it.value)}
    if not values:
        raise MissingError(
            where="causes", given="no readings", allowed="a row of readings", do="Enter what is measured."
        )
    return {"explanation": explain(planned, typed(values)).as_json()}


def _known(key: str, value: object) -> bool:
    return key in channels() and isinstance(value, int | float)


def _planned(now: CaseNow) -> Any:  # noqa: ANN401  a case
    planned = case_now(now.state)
    if planned is None:
        raise MissingError(
            where="plan", given="none in this case", allowed="a kept plan", do="Keep one under Prepare first."
        )
    return planned
