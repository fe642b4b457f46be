"""How a rehearsal went: critical actions, times, harm done to the simulated animal. No marks for style."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from lungeline.case.breath import Breath
from lungeline.rehearse.acting import Act, deed_named
from lungeline.rehearse.harm import Harm, harm_of
from lungeline.rehearse.rehearsal import Rehearsal
from lungeline.rehearse.scenario import Critical, Scenario, Wanted

SCHEMA = "lungeline.rehearsal/1"
_BEGINNING = "beginning"
_WEIGHTS = {"critical": 0.6, "harm": 0.25, "straight": 0.15}  # of the parts in the whole; assumption
_WRONG_TURNS_FOR_NOTHING = 5.0  # so many wrong turns leave nothing of that part; assumption

How = Literal["met", "missed", "too late", "done though it must not", "does not hold"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CriticalMet:
    """A critical action and whether it was met. at_s: when it was done, or stopped holding."""

    code: str
    says: str
    met: bool
    how: How
    at_s: float | None = None
    within_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """Seconds from the first trouble: to a look that could show it, its name, a treatment, its end."""

    trouble_s: float | None = None
    notice_s: float | None = None
    name_s: float | None = None
    treat_s: float | None = None
    resolve_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of a rehearsal. passed: every critical action met.

    parts: of 1 each, and their weighted sum under "whole"; wrong_turns: what was changed and not wanted.
    """

    scenario: str
    passed: bool
    critical_actions: tuple[CriticalMet, ...]
    times: Times
    harm: Harm
    wrong_turns: tuple[Act, ...]
    parts: Mapping[str, float]
    acts: tuple[Act, ...]
    minutes: float
    at_end: Breath | None

    def as_json(self) -> dict[str, Any]:
        """Return the result object."""
        return {
            "schema": SCHEMA,
            "scenario": self.scenario,
            "simulated": True,
            "passed": self.passed,
            "critical_actions": [
                {name: getattr(each, name) for name in each.__slots__} for each in self.critical_actions
            ],
            "times": {name: getattr(self.times, name) for name in self.times.__slots__},
            "harm": self.harm.as_json(),
            "wrong_turns": [_act(act) for act in self.wrong_turns],
            "score": {f"{name}_fraction": value for name, value in self.parts.items()},
            "acts": [_act(act) for act in self.acts],
            "minutes": self.minutes,
            "state": None if self.at_end is None else _breath(self.at_end),
        }


def _act(act: Act) -> dict[str, Any]:
    return {"at_s": act.at_s, "deed": act.deed, "with": dict(act.given), "shown": act.shown}


def _breath(breath: Breath) -> dict[str, Any]:
    return {name: getattr(breath, name) for name in breath.__slots__}


def judge(run: Rehearsal) -> Outcome:
    """Return how a rehearsal stands: once its time is up, how it went."""
    scenario = run.scenario
    met = tuple(_met(each, run) for each in scenario.critical)
    oxygen_set = [(run.begun_s + at_s, fraction) for at_s, fraction in run.oxygen_set]
    harm = harm_of(run.breaths, oxygen_set, run.live.time_s)
    wrong = _wrong_turns(scenario, run.acts)
    parts = {
        "critical": sum(each.met for each in met) / len(met),
        "harm": harm.spared_fraction,
        "straight": max(0.0, 1.0 - len(wrong) / _WRONG_TURNS_FOR_NOTHING),
    }
    parts["whole"] = sum(_WEIGHTS[name] * value for name, value in parts.items())
    return Outcome(
        scenario=scenario.name,
        passed=all(each.met for each in met),
        critical_actions=met,
        times=_times(run),
        harm=harm,
        wrong_turns=wrong,
        parts=parts,
        acts=run.acts,
        minutes=run.now_s / 60.0,
        at_end=run.breaths[-1] if run.breaths else None,
    )


def fits(act: Act, wanted: Wanted) -> bool:
    """Whether an act is what was wanted."""
    if act.deed != wanted.deed:
        return False
    return wanted.key is None or _value_fits(act.given.get(wanted.key), wanted)


def _value_fits(value: object, wanted: Wanted) -> bool:
    if value is None or wanted.value is not None:
        return value is not None and str(value).casefold() == str(wanted.value).casefold()
    if wanted.at_least is None and wanted.at_most is None:
        return True
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    low_ok = wanted.at_least is None or value >= wanted.at_least
    return low_ok and (wanted.at_most is None or value <= wanted.at_most)


def _first(acts: Sequence[Act], wanted: Sequence[Wanted], since_s: float = -1.0) -> Act | None:
    return next((act for act in acts if act.at_s >= since_s and any(fits(act, one) for one in wanted)), None)


def _met(each: Critical, run: Rehearsal) -> CriticalMet:
    since_s = _since(each, run)
    if each.holds is not None:
        return _holds(each, run, since_s)
    if each.never:
        return _never(each, run)
    done = _first(run.acts, each.any_of, since_s) if since_s is not None else None
    if done is None or since_s is None:
        return _told(each, met=False, how="missed")
    after_s = done.at_s - since_s
    late = each.within_s is not None and after_s > each.within_s
    return _told(each, met=not late, how="too late" if late else "met", at_s=done.at_s)


def _since(each: Critical, run: Rehearsal) -> float | None:
    """Return when it began to be wanted; None where what it waits for did not happen."""
    if each.after is None or each.after == _BEGINNING:
        return 0.0
    return run.happened_s.get(each.after)


def _never(each: Critical, run: Rehearsal) -> CriticalMet:
    allowed = _first(run.acts, each.before) if each.before else None
    until_s = float("inf") if allowed is None else allowed.at_s
    done = _first(run.acts, each.never)
    if done is not None and done.at_s < until_s:
        return _told(each, met=False, how="done though it must not", at_s=done.at_s)
    return _told(each, met=True, how="met")


def _holds(each: Critical, run: Rehearsal, since_s: float | None) -> CriticalMet:
    limit = each.holds
    if limit is None or since_s is None:
        # what never happened has not harmed
        return _told(each, met=True, how="met")
    begin_s = run.begun_s + since_s + (each.within_s or 0.0)
    looked = [
        breath
        for breath in run.breaths
        if breath.time_s >= begin_s and getattr(breath, limit.key) is not None
    ]
    if each.at_end:
        looked = looked[-1:]
    if not looked:
        return _told(each, met=False, how="does not hold")
    broken = next((breath for breath in looked if not limit.holds(getattr(breath, limit.key))), None)
    if broken is None:
        return _told(each, met=True, how="met")
    return _told(each, met=False, how="does not hold", at_s=broken.time_s - run.begun_s)


def _told(each: Critical, *, met: bool, how: How, at_s: float | None = None) -> CriticalMet:
    return CriticalMet(code=each.code, says=each.says, met=met, how=how, at_s=at_s, within_s=each.within_s)


def _wrong_turns(scenario: Scenario, acts: Sequence[Act]) -> tuple[Act, ...]:
    """Return what changed something and was neither wanted nor in the model answer."""
    wanted = [one for each in scenario.critical for one in each.any_of]
    wanted += [*scenario.treats, *(Wanted(deed=step.deed) for step in scenario.model_answer)]
    wanted += [Wanted(deed=each.deed) for each in scenario.eases]
    changing = [act for act in acts if deed_named(act.deed).sort not in {"look", "say"}]
    return tuple(act for act in changing if not any(fits(act, one) for one in wanted))


def _times(run: Rehearsal) -> Times:
    """Return the times of the first trouble that happened; none where there was none."""
    troubles = [each for each in run.scenario.happenings if each.fault and each.severity > 0.0]
    begun = [run.happened_s[each.name] for each in troubles if each.name in run.happened_s]
    if run.scenario.case.faults:
        begun.append(0.0)
    if not begun:
        return Times()
    trouble_s = min(begun)
    later = [act for act in run.acts if act.at_s >= trouble_s]
    noticed = next((act for act in later if _notices(run, act)), None)
    named = next((act for act in later if _names(run, act)), None)
    treated = next((act for act in later if _treats(run, act)), None)

    def after(act: Act | None) -> float | None:
        return None if act is None else act.at_s - trouble_s

    return Times(
        trouble_s=trouble_s, notice_s=after(noticed), name_s=after(named), treat_s=after(treated),
        resolve_s=None if run.resolved_s is None else run.resolved_s - trouble_s,
    )  # fmt: skip


def _notices(run: Rehearsal, act: Act) -> bool:
    return deed_named(act.deed).sort in {"look", "mend"} or _treats(run, act)


def _treats(run: Rehearsal, act: Act) -> bool:
    return any(fits(act, one) for one in run.scenario.treats)


def _names(run: Rehearsal, act: Act) -> bool:
    return act.deed == "name the cause" and act.given.get("cause") == run.scenario.cause
