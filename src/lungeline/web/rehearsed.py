"""What is told of a rehearsal: to the learner what a learner sees, to the trainer what is hidden too."""

from collections.abc import Container, Iterator, Mapping
from dataclasses import asdict
from typing import Any

from lungeline.rehearse.acting import Act, deed_named
from lungeline.rehearse.bench_readings import Typed
from lungeline.rehearse.outcome import CriticalMet
from lungeline.rehearse.practice import Practice
from lungeline.rehearse.scenario import Happening
from lungeline.theatre.printed_handout import what_told, when_told

_GASES = ("paco2_mmhg", "pao2_mmhg", "arterial_ph")
# of the animal as it is, what a trainer steers by
_TRUTH = (
    "pao2_mmhg", "paco2_mmhg", "arterial_ph", "shunt_fraction", "cardiac_output_l_min", "map_mmhg",
    "spare_volume_l", "trapped_volume_l", "fio2_fraction", "mac_multiple",
)  # fmt: skip
_SECONDS_PER_MINUTE = 60.0


def learner_view(practice: Practice) -> dict[str, Any]:
    """Return how it stands, as the learner knows it."""
    scenario = practice.run.scenario
    hidden = {key for key, stands in practice.masked.items() if stands is None}
    return {
        "minutes": scenario.minutes,
        "now_min": practice.run.now_s / _SECONDS_PER_MINUTE,
        "settings": {key: value for key, value in asdict(practice.known).items() if value is not None},
        "set": _steps(practice),
        "instruments": [key for key in practice.instruments if key not in hidden],
        "log": learner_log(practice),
        "bench": _bench(practice),
    }


def _bench(practice: Practice) -> dict[str, Any] | None:
    """Return what is typed of the real machine, and what it must be set to; None where there is none."""
    if not practice.beside_machine:
        return None
    return {"typed": asdict(practice.bench) if practice.bench else {}, "to_set": practice.to_set}


def learner_log(practice: Practice) -> list[dict[str, Any]]:
    """Return what the learner was told, did and found, in order of time.

    found: what a deed showed; nothing until it is done, which takes its time.
    """
    run = practice.run
    told = [{"at_s": it.at_s, "kind": "told", "text": it.says} for it in run.told if it.says]
    done = [_act(act, run.now_s) for act in run.acts]
    return sorted([*told, *done, *_gases(practice)], key=lambda line: line["at_s"])


def _act(act: Act, now_s: float) -> dict[str, Any]:
    deed = deed_named(act.deed)
    ready_s = act.at_s + deed.takes_s
    return {
        "at_s": act.at_s, "kind": "act", "deed": act.deed, "text": deed.label, "with": dict(act.given),
        "found": act.shown if now_s >= ready_s else "", "ready_s": ready_s,
    }  # fmt: skip


def _gases(practice: Practice) -> Iterator[dict[str, Any]]:
    """Yield the answers of the blood-gas analyser, numbers of one moment together."""
    by_time: dict[float, dict[str, float]] = {}
    for reading in practice.run.readings(0.0):
        if reading.key in _GASES and reading.value is not None:
            by_time.setdefault(reading.time_s, {})[reading.key] = reading.value
    for time_s, values in by_time.items():
        yield {"at_s": time_s - practice.run.begun_s, "kind": "gas", "text": "", "values": values}


def _steps(practice: Practice) -> dict[str, list[tuple[float, float]]]:
    """Return what was set over time, as the learner knows it: [minute, value] by key."""
    told: list[tuple[float, Mapping[str, Any]]] = [(0.0, asdict(practice.run.scenario.case.settings))]
    changing = [
        it for it in practice.row if isinstance(it, Typed) or (isinstance(it, Act) and it.deed == "set")
    ]
    told += [(it.at_s / _SECONDS_PER_MINUTE, it.given) for it in changing]
    found: dict[str, list[tuple[float, float]]] = {}
    for at_min, values in told:
        for key, value in values.items():
            if isinstance(value, int | float) and not isinstance(value, bool):
                found.setdefault(key, []).append((at_min, value))
    return found


def trainer_view(practice: Practice) -> dict[str, Any]:
    """Return what the trainer sees besides: the animal as it is, what is wrong, what comes, what is met."""
    truth, run = practice.truth, practice.run
    at_end = frozenset(it.code for it in run.scenario.critical if it.at_end and not run.over)
    return {
        "truth": {key: getattr(truth, key) for key in _TRUTH} if truth else {},
        "faults": dict(run.live.active_faults),
        "happenings": [_happening(each, run.happened_s.get(each.name)) for each in run.scenario.happenings],
        "critical": [_critical(each, at_end) for each in practice.outcome.critical_actions],
        "masked": dict(practice.masked),
        "hands": [each.as_json() for each in practice.hands],
    }


def _happening(each: Happening, happened_s: float | None) -> dict[str, Any]:
    return {"name": each.name, "when": when_told(each), "what": what_told(each), "happened_s": happened_s}


def _critical(each: CriticalMet, at_end: Container[str]) -> dict[str, Any]:
    told = {"says": each.says, "met": each.met, "how": each.how, "at_s": each.at_s, "within_s": each.within_s}
    # what is judged at the end stands open until then
    return told | {"met": False, "how": "missed", "at_s": None} if each.code in at_end else told
