"""A case watched quietly: findings that last, that belong together, and that nobody expected anyway.

Feed it readings, and tell it what was done. A missing reading is never an alarm. Life threats are told at
once and nothing mutes them; all else must last, is told once for all readings that moved together, and keeps
still after a change, a manoeuvre, the hoist or a new phase. Each rule's hits and misses are kept. Nothing
grows with the length of a case.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from lungeline.case import Case, Finding, Reading, Settings
from lungeline.explain.assumed import Assumed, assumed
from lungeline.explain.channel import RESERVOIR, channel_of, channels
from lungeline.explain.measured import Measured, Observed
from lungeline.explain.quiet_rules import RULES, Watched
from lungeline.explain.threats import threats
from lungeline.explain.usual import Usual, observed, worse

Priority = Literal["high", "medium", "low"]
PRIORITIES: Mapping[str, Priority] = {"stop": "high", "caution": "medium", "advice": "low", "note": "low"}
STALE_S = 180.0  # a reading no newer than this says nothing of now; assumption
BASELINE = "end_expiratory_pressure_cmh2o"
FUTURE_S = 3600.0  # a clock that jumps is not followed further than this; assumption


@dataclass(frozen=True, slots=True, kw_only=True)
class Raised:
    """A finding, and when it was raised on the readings' clock."""

    finding: Finding
    priority: Priority
    at_s: float


@dataclass(slots=True, kw_only=True)
class _State:
    """How one rule stands: since when its condition holds, since when it is gone, and what was raised."""

    since_s: float | None = None
    gone_s: float | None = None
    raised: Raised | None = None


@dataclass(slots=True, kw_only=True)
class Hits:
    """How a rule did: times raised, and what people said of it."""

    raised: int = 0
    right: int = 0
    wrong: int = 0

    @property
    def rate_fraction(self) -> float | None:
        """Share that was right, of those anybody judged; None where nobody did."""
        judged = self.right + self.wrong
        return self.right / judged if judged else None


@dataclass(slots=True)
class Watcher:
    """Watches one case. case: with what is set at first; assuming: other assumptions than the project's."""

    case: Case
    assuming: Assumed = field(default_factory=assumed)
    hits: dict[str, Hits] = field(default_factory=dict)
    _settings: Settings = field(init=False)
    _watched: Watched = field(init=False)
    _followed: dict[str, Usual] = field(default_factory=dict)
    _states: dict[str, _State] = field(default_factory=dict)
    _expected_until_s: float = 0.0
    _above_set_cmh2o: float | None = None  # baseline as shown, less what is set: mostly a gauge's own error
    _at_s: float | None = None

    def __post_init__(self) -> None:
        """Begin with the case's own settings."""
        self._settings = self.case.settings
        self._watched = Watched(case=self.case, assumed=self.assuming, settings=self._settings)

    # -- what was done -------------------------------------------------------------------------------

    def changed(self, settings: Settings, at_s: float) -> None:
        """Tell that settings were changed; readings may move for a while."""
        self._watched.changed(settings, at_s)
        self._settings = settings
        self.expect(at_s)

    def expect(self, at_s: float, minutes: float | None = None) -> None:
        """Tell of a manoeuvre, the hoist, a new position, phase or drug; readings may move for a while."""
        span_min = self.assuming.watching["expected_min"] if minutes is None else minutes
        self._expected_until_s = max(self._expected_until_s, at_s + 60.0 * span_min)
        for it in self._followed.values():
            it.forget()

    def made_up(self, at_s: float) -> None:
        """Tell that the machine made up gas by itself: how often it does may hide a leak."""
        self._watched.made_up(at_s)

    def judge(self, code: str, *, right: bool) -> None:
        """Keep whether a finding was right."""
        it = self.hits.setdefault(code, Hits())
        it.right, it.wrong = it.right + right, it.wrong + (not right)

    # -- what was read -------------------------------------------------------------------------------

    def take(self, readings: Iterable[Reading]) -> tuple[Raised, ...]:
        """Take readings, return what is newly raised, gravest first.

        Missing and doubtful readings, those of quantities nobody watches, and those older than what was
        already taken are passed over.
        """
        new = [it for it in readings if it.value is not None and it.quality == "good"]
        for it in sorted(new, key=lambda each: each.time_s):
            channel = channel_of(it.key, RESERVOIR if it.source == "ventilator" else "")
            if channel not in channels() or channel not in self.assuming.wander or it.value is None:
                continue
            if self._at_s is not None and not self._at_s - STALE_S <= it.time_s <= self._at_s + FUTURE_S:
                continue
            self._at_s = max(it.time_s, self._at_s or it.time_s)
            self._followed.setdefault(channel, Usual(channel=channel)).take(
                it.time_s, it.value, self.assuming, settling=it.time_s < self._expected_until_s
            )
        if self._at_s is None:
            return ()
        return self._judged(self._at_s)

    def pass_time(self, at_s: float) -> tuple[Raised, ...]:
        """Let time go by without a reading: what was read grows old, and what rests on it goes."""
        self._at_s = at_s if self._at_s is None else max(at_s, self._at_s)
        return self._judged(self._at_s)

    def standing(self) -> tuple[Raised, ...]:
        """Return what is raised and not gone, gravest first."""
        raised = [it.raised for it in self._states.values() if it.raised is not None]
        return tuple(sorted(raised, key=lambda each: list(PRIORITIES.values()).index(each.priority)))

    def _judged(self, at_s: float) -> tuple[Raised, ...]:
        expected = at_s < self._expected_until_s
        fresh = {channel: it for channel, it in self._followed.items() if it.older[-1][0] >= at_s - STALE_S}
        seen = observed(fresh, self.assuming, compared=not expected)
        now = Measured(observed=self._with_baseline(seen), at_s=at_s, changed_s=None)
        told: dict[str, Finding] = {it.code: it for it in threats(now, self._settings).findings}
        urgent = set(told)
        self._watched.followed, self._watched.at_s, self._watched.expected = fresh, at_s, expected
        for rule in RULES:
            finding = rule(self._watched)
            if finding is not None:
                told[finding.code] = finding
        nearly = threats(replace(now, observed=worse(now.observed, self.assuming)), self._settings)
        return self._raise(told, urgent, at_s, stays={it.code for it in nearly.findings})

    def _with_baseline(self, seen: dict[str, Observed]) -> dict[str, Observed]:
        """Return readings; while the baseline moves on purpose it is compared with what it should become."""
        it, peep_cmh2o = seen.get(BASELINE), self._settings.peep_cmh2o or 0.0
        if it is None:
            return seen
        if it.before is not None:
            self._above_set_cmh2o = it.before - peep_cmh2o
            return seen
        if self._above_set_cmh2o is None:
            return seen
        return {**seen, BASELINE: replace(it, before=peep_cmh2o + self._above_set_cmh2o)}

    def _raise(
        self, told: Mapping[str, Finding], urgent: set[str], at_s: float, *, stays: set[str]
    ) -> tuple[Raised, ...]:
        """Raise what has lasted, or is urgent; let go what has been clearly gone for long enough."""
        new = []
        for code in {*told, *self._states}:
            it = self._states.setdefault(code, _State())
            if code not in told:
                self._let_go(it, at_s, nearly=code in stays)
                continue
            it.gone_s = None
            it.since_s = at_s if it.since_s is None else it.since_s
            lasts_s = 0.0 if code in urgent else 60.0 * self.assuming.watching["lasts_min"]
            if it.raised is None and at_s - it.since_s >= lasts_s:
                finding = told[code]
                it.raised = Raised(finding=finding, priority=PRIORITIES[finding.severity], at_s=at_s)
                self.hits.setdefault(code, Hits()).raised += 1
                new.append(it.raised)
        return tuple(sorted(new, key=lambda each: list(PRIORITIES.values()).index(each.priority)))

    def _let_go(self, it: _State, at_s: float, *, nearly: bool) -> None:
        if it.raised is None:
            it.since_s = None
            return
        if nearly:
            it.gone_s = None
            return
        it.gone_s = at_s if it.gone_s is None else it.gone_s
        if at_s - it.gone_s >= 60.0 * self.assuming.watching["gone_min"]:
            it.raised = it.since_s = it.gone_s = None


__all__ = ["Hits", "Raised", "Watcher"]
