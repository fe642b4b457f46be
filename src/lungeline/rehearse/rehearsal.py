"""A rehearsal as it runs: the animal, what happens to it, what the learner does, and what is shown."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from lungeline.case.breath import Breath
from lungeline.case.manoeuvre import MANOEUVRES
from lungeline.case.reading import Reading
from lungeline.errors import OutOfRangeError
from lungeline.listen.feed import SimulatedFeed
from lungeline.rehearse.acting import Act, Deed, deed_named
from lungeline.rehearse.scenario import Happening, Scenario
from lungeline.simulate.instruments import usual_instruments
from lungeline.simulate.live import TICK_S, LiveCase

_LOOK_EVERY_S = 1.0  # for what comes due
_SEEN_FROM_FRACTION = 0.1  # what is milder nobody sees; teaching simplification
_SECONDS_PER_MINUTE = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What the learner was told, or what happened unseen: when, which happening, in what words."""

    at_s: float
    name: str
    says: str = ""


@dataclass(slots=True, kw_only=True)
class _Ramp:
    """A fault on its way from one severity to another."""

    fault: str
    begin_s: float
    over_s: float
    from_fraction: float
    to_fraction: float

    def severity_fraction(self, now_s: float) -> float:
        if self.over_s <= 0.0:
            return self.to_fraction
        part = min(max((now_s - self.begin_s) / self.over_s, 0.0), 1.0)
        return self.from_fraction + (self.to_fraction - self.from_fraction) * part

    def is_over(self, now_s: float) -> bool:
        return now_s >= self.begin_s + self.over_s


@dataclass(frozen=True, slots=True)
class Kept:
    """Everything needed to go on from a moment: the animal, what is on its way, and what was done."""

    animal: bytes
    settings: Any
    faults: Mapping[str, float]
    happened: frozenset[str]
    pending: tuple[Any, ...]
    counts: tuple[int, int, int]
    draws: Mapping[str, Any]


@dataclass(slots=True)
class _Log:
    acts: list[Act] = field(default_factory=list)
    told: list[Told] = field(default_factory=list)
    happened: dict[str, float] = field(default_factory=dict)
    resolved_s: float | None = None
    severities: dict[str, list[tuple[float, float]]] = field(default_factory=dict)
    oxygen_set: list[tuple[float, float]] = field(default_factory=list)


class Rehearsal:
    """One learner's way through a scenario. Knows no wall clock: whoever runs it says how far time goes.

    `now_s` counts from the moment the learner takes over; the animal was settled before.
    """

    def __init__(
        self, scenario: Scenario, *, seed: int | None = None, trace_rate_hz: float = 0.0, dt_s: float = 0.01
    ) -> None:
        """Settle the animal and hand it over. seed: of the instruments' noise, else the scenario's."""
        self.scenario = scenario
        self.seed = scenario.seed if seed is None else seed
        self.live = LiveCase(
            scenario.case, dt_s=dt_s, trace_rate_hz=trace_rate_hz, multipliers=dict(scenario.own_animal)
        )
        self._draws = np.random.default_rng(self.seed)
        hidden = set(scenario.hidden_instruments)
        shown = [it for it in usual_instruments() if it.key not in hidden]
        self.feed = SimulatedFeed(self.live, self._draws, shown)
        for event in scenario.case.faults:
            self.live.fault(event.code, event.severity_fraction)
        self.feed.advance(scenario.settle_min * _SECONDS_PER_MINUTE)
        self.begun_s = self.live.time_s
        self._log = _Log()
        self._pending: list[tuple[float, Deed]] = []
        self._ramps: dict[str, _Ramp] = {}
        self._happen()
        self._note_standing()

    # -- looking -------------------------------------------------------------------------------------------

    @property
    def now_s(self) -> float:
        """Time since the learner took over [s]."""
        return self.live.time_s - self.begun_s

    @property
    def over(self) -> bool:
        """Whether the scenario's time is up."""
        return self.now_s > self.scenario.minutes * _SECONDS_PER_MINUTE - TICK_S / 2.0

    @property
    def acts(self) -> tuple[Act, ...]:
        """Everything the learner did, in order."""
        return tuple(self._log.acts)

    @property
    def told(self) -> tuple[Told, ...]:
        """Everything that happened, in order; with words where the learner was told."""
        return tuple(self._log.told)

    @property
    def happened_s(self) -> Mapping[str, float]:
        """When each happening began [s]."""
        return dict(self._log.happened)

    @property
    def breaths(self) -> tuple[Breath, ...]:
        """The hidden truth since the learner took over: a row a breath."""
        return tuple(breath for breath in self.live.breaths if breath.time_s >= self.begun_s)

    @property
    def resolved_s(self) -> float | None:
        """When the trouble was last seen to be over [s]; None while it lasts, or before there was any."""
        return self._log.resolved_s

    @property
    def severities(self) -> Mapping[str, tuple[tuple[float, float], ...]]:
        """How grave each fault was, by code: from when [s], and its severity from then on."""
        return {code: tuple(steps) for code, steps in self._log.severities.items()}

    @property
    def oxygen_set(self) -> tuple[tuple[float, float], ...]:
        """Oxygen fraction of the fresh gas as it was set: from when [s], and what from then on."""
        return tuple(self._log.oxygen_set)

    def readings(self, since_s: float = -math.inf) -> list[Reading]:
        """Return what instruments have shown since a moment of this rehearsal, late and noisy as they are."""
        return self.feed.readings(since_s + self.begun_s)

    # -- time ----------------------------------------------------------------------------------------------

    def advance(self, span_s: float) -> None:
        """Let time go on, to the scenario's end at most."""
        if not span_s >= 0.0:
            raise OutOfRangeError(
                where="advance", given=span_s, allowed="0 s or more", do="To go back, keep a moment before."
            )
        until_s = min(self.now_s + span_s, self.scenario.minutes * _SECONDS_PER_MINUTE)
        # the animal's time goes in tenths of a second; what is left below half of one is nothing
        while (left_s := until_s - self.now_s) > TICK_S / 2.0:
            self.feed.advance(min(_LOOK_EVERY_S, left_s))
            self._come_due()
            self._happen()
            self._note_resolved()
            self._note_standing()

    def advance_to_end(self) -> None:
        """Let time go on until the scenario's time is up."""
        self.advance(self.scenario.minutes * _SECONDS_PER_MINUTE)

    def _note_resolved(self) -> None:
        troubled = any(part > _SEEN_FROM_FRACTION for part in self.live.active_faults.values())
        if troubled:
            self._log.resolved_s = None
        elif self._log.resolved_s is None and any(self._log.happened):
            self._log.resolved_s = self.now_s

    def _note_standing(self) -> None:
        set_fraction = self.live.settings.fresh_gas_oxygen_fraction
        if not self._log.oxygen_set or self._log.oxygen_set[-1][1] != set_fraction:
            self._log.oxygen_set.append((self.now_s, set_fraction))
        present = self.live.active_faults
        for code in {*present, *self._log.severities}:
            steps = self._log.severities.setdefault(code, [])
            severity_fraction = present.get(code, 0.0)
            if not steps or steps[-1][1] != severity_fraction:
                steps.append((self.now_s, severity_fraction))

    def _come_due(self) -> None:
        """Let what was begun take effect, and what changes slowly go on."""
        due = [deed for at_s, deed in self._pending if at_s <= self.now_s]
        self._pending = [(at_s, deed) for at_s, deed in self._pending if at_s > self.now_s]
        for deed in due:
            self._take_effect(deed)
        for ramp in list(self._ramps.values()):
            self._set_fault(ramp.fault, ramp.severity_fraction(self.now_s))
            if ramp.is_over(self.now_s):
                del self._ramps[ramp.fault]

    def _happen(self) -> None:
        for each in self.scenario.happenings:
            if each.name not in self._log.happened and self._is_time(each):
                self._log.happened[each.name] = self.now_s
                self._log.told.append(Told(at_s=self.now_s, name=each.name, says=each.say))
                if each.fault:
                    over_s = each.over_min * _SECONDS_PER_MINUTE
                    self._ramp(each.fault, each.severity, over_s)
                if each.set:
                    self.live.set(**each.set)

    def _is_time(self, each: Happening) -> bool:
        if each.after_deed is not None:
            done = [act.at_s for act in self._log.acts if act.deed == each.after_deed]
            return bool(done) and self.now_s >= done[0] + each.delay_s
        if each.when is not None:
            last = self.live.breaths[-1] if self.live.breaths else None
            return last is not None and each.when.holds(getattr(last, each.when.key))
        return self.now_s >= (each.at_min or 0.0) * _SECONDS_PER_MINUTE

    # -- doing ---------------------------------------------------------------------------------------------

    def act(self, code: str, given: Mapping[str, Any] | None = None) -> Act:
        """Do something, and return it with what it showed. Raises InputError for what cannot be done."""
        deed = deed_named(code)
        checked = deed.check(given or {})
        begun_s = self.now_s
        if deed.sort == "set":
            self.live.set(**checked)
        elif deed.sort == "manoeuvre":
            self.feed.manoeuvre(MANOEUVRES[code](**checked))
        elif deed.takes_s > 0.0:
            self._pending.append((begun_s + deed.takes_s, deed))
        else:
            self._take_effect(deed)
        act = Act(at_s=begun_s, deed=code, given=checked, shown=self._seen(deed))
        self._log.acts.append(act)
        self._come_due()
        self._happen()
        self._note_standing()
        return act

    def _take_effect(self, deed: Deed) -> None:
        for code in deed.clears:
            self._ramps.pop(code, None)
            self._set_fault(code, 0.0)
        eased = {code: (part, deed.over_s) for code, part in deed.eases.items()}
        eased |= {it.fault: (it.to_fraction, it.over_s) for it in self.scenario.eases if it.deed == deed.code}
        for code, (part, over_s) in eased.items():
            present = self.live.active_faults.get(code)
            if present is not None:
                self._ramp(code, present * part, over_s)
        if deed.sets:
            self.live.set(**deed.sets)
        if deed.code == "draw gas" and self.live.breaths:
            self.feed.draw_blood()

    def _seen(self, deed: Deed) -> str:
        """Return what a look shows: of the gravest of the faults it can see, or that all is well."""
        own = [it.say for it in self.scenario.eases if it.deed == deed.code and it.say]
        present = self.live.active_faults
        found = [text for code, text in deed.shows.items() if present.get(code, 0.0) > _SEEN_FROM_FRACTION]
        return " ".join(own + found) or deed.otherwise

    def _ramp(self, code: str, to_fraction: float, over_s: float) -> None:
        present = self.live.active_faults.get(code, 0.0)
        if over_s <= 0.0:
            self._ramps.pop(code, None)
            self._set_fault(code, to_fraction)
            return
        self._ramps[code] = _Ramp(
            fault=code, begin_s=self.now_s, over_s=over_s, from_fraction=present, to_fraction=to_fraction
        )

    def _set_fault(self, code: str, severity_fraction: float) -> None:
        if self.live.active_faults.get(code, 0.0) != severity_fraction:
            self.live.fault(code, severity_fraction)

    # -- a trainer's hand ----------------------------------------------------------------------------------

    def put_in(self, code: str, severity: float, over_min: float = 0.0) -> None:
        """Bring a fault to a severity [1], 0 to end it, at once or over some minutes."""
        self._ramp(code, severity, over_min * _SECONDS_PER_MINUTE)

    def tell(self, says: str) -> None:
        """Tell the learner something."""
        self._log.told.append(Told(at_s=self.now_s, name="trainer", says=says))

    # -- going back ----------------------------------------------------------------------------------------

    def keep(self) -> Kept:
        """Return everything needed to go on from this moment."""
        return Kept(
            animal=self.live.state(),
            settings=self.live.settings,
            faults=self.live.active_faults,
            happened=frozenset(self._log.happened),
            pending=(
                tuple(self._pending),
                tuple(self._ramps.values()),
                dict(self._log.happened),
                self._log.resolved_s,
            ),
            counts=(len(self.live.breaths), len(self._log.acts), len(self._log.told)),
            draws=self._draws.bit_generator.state,
        )

    def back_to(self, kept: Kept) -> None:
        """Go back to a kept moment of this rehearsal: what came after it never was."""
        breaths, acts, told = kept.counts
        for code in set(self.live.active_faults) - set(kept.faults):
            self.live.fault(code, 0.0)
        for code, severity_fraction in kept.faults.items():
            self.live.fault(code, severity_fraction)
        self.live.settle(kept.settings)
        del self.live.breaths[breaths:]
        self.feed.restore(kept.animal)
        self._draws.bit_generator.state = kept.draws
        pending, ramps, happened, self._log.resolved_s = kept.pending
        self._pending, self._ramps = list(pending), {ramp.fault: ramp for ramp in ramps}
        del self._log.acts[acts:]
        del self._log.told[told:]
        self._log.happened = dict(happened)
        self._log.oxygen_set = [step for step in self._log.oxygen_set if step[0] <= self.now_s]
        known = self._log.severities.items()
        kept_steps = {code: [step for step in steps if step[0] <= self.now_s] for code, steps in known}
        self._log.severities = {code: steps for code, steps in kept_steps.items() if steps}
