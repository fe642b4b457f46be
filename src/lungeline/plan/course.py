"""The case as planned, run through: minute by minute what flows in and out, and how the animal fares."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from lungeline.case import Breath, Case, Change, Settings, Start
from lungeline.plan.model import STEP_S
from lungeline.simulate.live import LiveCase

LONGEST_MIN = 180.0
_TOLD_L = ("fresh_gas_l", "oxygen_used_l", "leaked_l", "sampled_l", "spilled_l", "room_air_l")


@dataclass(frozen=True, slots=True, kw_only=True)
class Minute:
    """One minute of the course: litres that came and went, and what the reservoir held at least."""

    at_min: float
    fresh_gas_l: float
    oxygen_used_l: float
    leaked_l: float
    sampled_l: float
    spilled_l: float
    room_air_l: float
    lowest_reservoir_l: float
    breath: Breath

    def as_json(self) -> dict[str, Any]:
        """Return the minute as a plain object, without its breath."""
        told = {name: getattr(self, name) for name in ("at_min", *_TOLD_L, "lowest_reservoir_l")}
        shown = ("mac_multiple", "end_tidal_agent_fraction", "fio2_fraction", "paco2_mmhg", "pao2_mmhg")
        return told | {name: getattr(self.breath, name) for name in shown}


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """The planned case run to its end, or three hours; live: as it stands then, to go on from."""

    minutes: tuple[Minute, ...]
    live: LiveCase

    def first_reached_min(self, mac_multiple: float) -> float | None:
        """Return when the animal is first as deep as wanted, drugs given by needle included."""
        return next(
            (each.at_min for each in self.minutes if (each.breath.mac_multiple or 0.0) >= mac_multiple), None
        )


def planned_case(case: Case, settings: Settings, changes: tuple[Change, ...]) -> Case:
    """Return the case as planned: connected just induced, then the schedule."""
    start = case.start if case.start.state == "induced" else Start(state="induced")
    return replace(case, settings=settings, assumed_settings=(), changes=changes, faults=(), start=start)


def course(planned: Case, minutes: float, wanted: Callable[[], bool] = lambda: True) -> Course:
    """Run the planned case, a minute at a time, for as long as somebody still wants it."""
    live = LiveCase(planned, dt_s=STEP_S)
    waiting = list(planned.timeline()[1:])
    before = live.ledger_l()
    rows = []
    for minute in range(1, int(min(minutes, LONGEST_MIN)) + 1):
        if not wanted():
            break
        while waiting and waiting[0].from_min < minute:
            stretch = waiting.pop(0)
            live.settle(stretch.settings, stretch.assumed_settings)
        seen = len(live.breaths)
        live.advance(60.0)
        now = live.ledger_l()
        taken = live.breaths[seen:] or live.breaths[-1:]
        rows.append(_minute(float(minute), before, now, taken, live))
        before = now
    return Course(minutes=tuple(rows), live=live)


def _minute(
    at_min: float, before: dict[str, float], now: dict[str, float], taken: list[Breath], live: LiveCase
) -> Minute:
    held = [breath.spare_volume_l for breath in taken if breath.spare_volume_l is not None]
    return Minute(
        at_min=at_min,
        lowest_reservoir_l=min(held, default=live.reservoir_l()),
        breath=taken[-1] if taken else Breath(time_s=live.time_s),
        **{name: now[name] - before[name] for name in _TOLD_L},
    )
