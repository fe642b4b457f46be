"""A whole case from start to end: its changes, faults and manoeuvres in their order."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from threading import Event
from typing import Any

import numpy as np

from lungeline.case.breath import Breath
from lungeline.case.case import Case
from lungeline.case.manoeuvre import Manoeuvre
from lungeline.case.timeline import Stretch
from lungeline.errors import OutOfRangeError
from lungeline.simulate.faults import fault
from lungeline.simulate.kernel import state as s
from lungeline.simulate.live import LiveCase

LONGEST_MIN = 24.0 * 60.0
STEPS_S = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05)
SEVERE_HYPOXAEMIA_MMHG = 40.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What a simulated case showed.

    breaths: a row for every breath; at_end: the last one; traces: curves by channel, with `time_s`;
    balance: residual of each gas [L BTPS]; ended, advice: why it ended and what to try; live: the case
    as it stands at the end, to go on from.
    """

    case: Case
    breaths: list[Breath]
    traces: dict[str, Any]
    balance: dict[str, float]
    ended: str
    advice: str
    live: LiveCase

    @property
    def at_end(self) -> Breath:
        """The last breath; with nothing but its time where none is over yet."""
        return self.breaths[-1] if self.breaths else Breath(time_s=0.0)


def _schedule(case: Case) -> list[tuple[float, int, Callable[[LiveCase], None]]]:
    """All that happens, by time [s]; of things at one time faults come before changes."""
    todo: list[tuple[float, int, Callable[[LiveCase], None]]] = []
    for event in case.faults:
        fault(event.code)
        todo.append((event.at_min * 60.0, 0, _begin(event.code, event.severity_fraction)))
        if event.until_min is not None:
            todo.append((event.until_min * 60.0, 0, _begin(event.code, 0.0)))
    todo.extend((stretch.from_min * 60.0, 1, _turn(stretch)) for stretch in case.timeline()[1:])
    todo.extend(
        (change.at_min * 60.0, 2, _do(change.manoeuvre))
        for change in case.changes
        if change.manoeuvre is not None
    )
    return sorted(todo, key=lambda item: item[:2])


def _begin(code: str, severity_fraction: float) -> Callable[[LiveCase], None]:
    return lambda live: live.fault(code, severity_fraction)


def _turn(stretch: Stretch) -> Callable[[LiveCase], None]:
    return lambda live: live.settle(stretch.settings, stretch.assumed_settings)


def _do(manoeuvre: Manoeuvre) -> Callable[[LiveCase], None]:
    return lambda live: live.manoeuvre(manoeuvre)


def simulate(  # noqa: PLR0913  what a person may want to choose of a run
    case: Case,
    minutes: float = 60.0,
    *,
    dt_s: float = 0.01,
    trace_rate_hz: float = 0.0,
    multipliers: dict[str, float] | None = None,
    stop: Event | None = None,
) -> Run:
    """Simulate a case.

    minutes: how long [min], above 0 to 1440; dt_s: base step [s], one of 0.001 to 0.05;
    trace_rate_hz: samples per second of the curves, 0 for none, to 1/dt_s;
    multipliers: parameters of the animal scaled by name; stop: once set, the run ends with StoppedError.
    Raises InputError for impossible arguments and unknown fault codes.
    """
    if not 0.0 < minutes <= LONGEST_MIN:
        raise OutOfRangeError(
            where="minutes",
            given=minutes,
            allowed=f"above 0 to {LONGEST_MIN:g}",
            do="Give the case's length.",
        )
    if dt_s not in STEPS_S:
        allowed = ", ".join(map(str, STEPS_S))
        raise OutOfRangeError(where="dt_s", given=dt_s, allowed=allowed, do="Leave it at 0.01.")
    if not 0.0 <= trace_rate_hz <= 1.0 / dt_s:
        raise OutOfRangeError(
            where="trace_rate_hz",
            given=trace_rate_hz,
            allowed=f"0 to {1 / dt_s:g}",
            do="Ask for fewer samples.",
        )
    live = LiveCase(case, dt_s=dt_s, trace_rate_hz=trace_rate_hz, multipliers=multipliers, stop=stop)
    live.until_s = end_s = minutes * 60.0
    for at_s, _, act in _schedule(case):
        if at_s >= end_s:
            break
        if at_s > live.time_s:
            live.advance(at_s - live.time_s)
        act(live)
    if end_s > live.time_s:
        live.advance(end_s - live.time_s)
    live.until_s = math.inf
    ended, advice = _judge(live.breaths)
    return Run(
        case=case, breaths=live.breaths, traces=_traces(live), balance=live.balance(),
        ended=ended, advice=advice, live=live,
    )  # fmt: skip


def _traces(live: LiveCase) -> dict[str, Any]:
    if not live.traces:
        return {}
    table = np.concatenate(live.traces)
    span_s = live._trace_every * live.dt_s  # noqa: SLF001 - one package, the run owns the live case
    columns = {channel: table[:, i] for i, channel in enumerate(s.TRACE_CHANNELS)}
    return {"time_s": np.arange(1, len(table) + 1) * span_s, **columns}


def _judge(breaths: list[Breath]) -> tuple[str, str]:
    """Say how the case stood at its end, and what to try."""
    if not breaths:
        return "time was up before a breath was over", "Give it more minutes."
    last = breaths[-1]
    if last.cardiac_output_l_min is not None and last.pao2_mmhg is not None:
        if last.pao2_mmhg < SEVERE_HYPOXAEMIA_MMHG:
            return (
                "time was up, the animal severely hypoxaemic",
                "Look at spare_volume_l, fio2_fraction and shunt_fraction: which of them fell or rose first?",
            )
        if last.room_air_entrained_l and last.room_air_entrained_l > 1.0:
            return (
                "time was up; the reservoir ran empty and room air was drawn in",
                "Raise spare_volume_l or fresh_gas_flow_l_min, or look for the leak.",
            )
    return "time was up", "Nothing to mend; ask for more minutes to see further."
