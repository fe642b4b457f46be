"""A rehearsal that is led: gone back in, with a trainer's hand on it.

Knows no wall clock either. Everything done, by learner or trainer, is kept in one row, so that going back to
any moment runs the same again up to there.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from lungeline.case.breath import Breath
from lungeline.case.reading import Reading
from lungeline.case.settings import Settings
from lungeline.errors import InputError, OutOfRangeError
from lungeline.rehearse.acting import Act
from lungeline.rehearse.bench_readings import BenchReadings, Typed, apart, not_typed, read_bench
from lungeline.rehearse.hands import Done, checked_hand
from lungeline.rehearse.masks import Masks
from lungeline.rehearse.outcome import Outcome, judge
from lungeline.rehearse.rehearsal import Kept, Rehearsal
from lungeline.rehearse.scenario import Scenario
from lungeline.simulate.live import TICK_S

_KEEP_EVERY_S = 30.0
_SETTINGS = frozenset(it.name for it in fields(Settings))


@dataclass(frozen=True, slots=True)
class _Moment:
    """A moment that can be gone back to, with how much had been done by then."""

    at_s: float
    kept: Kept
    done_number: int
    mask_number: int


class Practice:
    """A rehearsal that can be led: see `Rehearsal` for what the learner does.

    beside_machine: a real machine on a rubber lung breathes, and what it does is typed in.
    """

    def __init__(
        self,
        scenario: Scenario,
        *,
        seed: int | None = None,
        trace_rate_hz: float = 0.0,
        beside_machine: bool = False,
    ) -> None:
        """Settle the animal and hand it over. trace_rate_hz: samples of the curves per second, 0 for none."""
        self.beside_machine = beside_machine
        self.bench: BenchReadings | None = None  # all that is typed so far
        self.seed = scenario.seed if seed is None else seed
        self.run = Rehearsal(scenario, seed=seed, trace_rate_hz=trace_rate_hz)
        self.known = scenario.case.settings  # what the learner knows to be set
        self._masks = Masks()
        self._row: list[Act | Done | Typed] = []
        self._moments: list[_Moment] = []
        self._keep()

    # -- looking -------------------------------------------------------------------------------------------

    @property
    def row(self) -> tuple[Act | Done | Typed, ...]:
        """Everything done, by learner and trainer, in order."""
        return tuple(self._row)

    @property
    def hands(self) -> tuple[Done, ...]:
        """Everything the trainer did, in order."""
        return tuple(each for each in self._row if isinstance(each, Done))

    @property
    def typed(self) -> tuple[Typed, ...]:
        """Everything typed of a real machine, in order."""
        return tuple(each for each in self._row if isinstance(each, Typed))

    @property
    def instruments(self) -> tuple[str, ...]:
        """What the learner's instruments show, by key."""
        return tuple(dict.fromkeys(it.key for it in self.run.feed.instruments))

    @property
    def masked(self) -> Mapping[str, float | None]:
        """Instruments that are hidden (None) or stand still at a number, by key."""
        return self._masks.now

    @property
    def waits(self) -> bool:
        """Whether nothing was typed yet of the real machine beside it, so that time stands."""
        return self.beside_machine and self.bench is None

    @property
    def to_set(self) -> dict[str, Any]:
        """What the real machine must be set to, as somebody else turned it in the story."""
        settings = self.run.live.settings
        return {key: getattr(settings, key) for key in apart(settings, self.bench)} if self.bench else {}

    @property
    def outcome(self) -> Outcome:
        """How it stands now."""
        return judge(self.run)

    @property
    def truth(self) -> Breath | None:
        """The last breath as it really was."""
        return self.run.live.breaths[-1] if self.run.live.breaths else None

    def readings(self, since_s: float) -> list[Reading]:
        """Return what the learner's instruments have shown since a moment, as they were shown then."""
        return list(self._masks.as_shown(self.run.readings(since_s), self.run.begun_s))

    # -- going on and back ---------------------------------------------------------------------------------

    def advance(self, span_s: float) -> None:
        """Let time go on, to the scenario's end at most."""
        if not span_s >= 0.0:
            raise OutOfRangeError(where="advance", given=span_s, allowed="0 s or more", do="Go back instead.")
        if self.waits and span_s > 0.0:
            raise not_typed()
        until_s = self.run.now_s + span_s
        while until_s - self.run.now_s > TICK_S / 2.0 and not self.run.over:
            next_s = self._moments[-1].at_s + _KEEP_EVERY_S
            self.run.advance(min(next_s, until_s) - self.run.now_s)
            if next_s - self.run.now_s <= TICK_S / 2.0:
                self._keep()

    def _keep(self) -> None:
        self._moments.append(_Moment(self.run.now_s, self.run.keep(), len(self._row), len(self._masks)))

    def back_to(self, at_s: float) -> None:
        """Go back to a moment: what was done up to it stands, what came after never was."""
        if not 0.0 <= at_s <= self.run.now_s:
            raise OutOfRangeError(
                where="back to", given=at_s, allowed=f"0 to {self.run.now_s:.0f} s", do="Name a moment of it."
            )
        while len(self._moments) > 1 and self._moments[-1].at_s > at_s:
            self._moments.pop()
        moment = self._moments[-1]
        again = [each for each in self._row[moment.done_number :] if each.at_s <= at_s]
        del self._row[moment.done_number :]
        self._masks.cut(moment.mask_number)
        self.run.back_to(moment.kept)
        self._learn_again()
        for each in again:
            self.run.advance(max(each.at_s - self.run.now_s, 0.0))
            self.again(each)
        self.run.advance(max(at_s - self.run.now_s, 0.0))

    def again(self, each: Act | Done | Typed) -> None:
        """Do again what was done."""
        match each:
            case Done():
                self.hand(each.hand, each.given)
            case Typed():
                self.type_in(each.typed, turned=each.turned)
            case Act():
                self.act(each.deed, each.given)

    def _learn_again(self) -> None:
        self.known, self.bench = self.run.scenario.case.settings, None
        for each in self._row:
            if isinstance(each, Typed):
                self._learn_typed(each.typed)
            elif isinstance(each, Act):
                self._learn(each)

    def _learn(self, act: Act) -> None:
        if act.deed == "set":
            self.known = replace(self.known, **act.given)

    def _learn_typed(self, typed: Mapping[str, Any]) -> None:
        self.bench = read_bench(self.bench, typed, self.run.scenario.case.animal.weight_kg)
        told = self.bench.settings()
        self.known = replace(self.known, **{key: it for key, it in told.items() if key in _SETTINGS})

    # -- doing ---------------------------------------------------------------------------------------------

    def act(self, deed: str, given: Mapping[str, Any] | None = None) -> Act:
        """Do what a learner does. Raises InputError for what cannot be done; then nothing has changed."""
        if self.beside_machine and deed == "set":
            raise InputError(
                where="set", given="a setting of the program's", allowed="the real machine",
                do="Turn the machine itself, and type what it does then.",
            )  # fmt: skip
        act = self.run.act(deed, given)
        self._row.append(act)
        self._learn(act)
        return act

    def type_in(self, typed: Mapping[str, Any], *, turned: bool = False) -> Typed:
        """Take over what was read off the real machine: first all that is needed, later what changed.

        turned: the learner turned the machine, so that it counts as done. How it stands at first is nobody's
        deed. Raises InputError for what no machine does on a rubber lung; then nothing has changed.
        """
        if not self.beside_machine:
            raise InputError(
                where="bench", given="readings of a machine", allowed="a rehearsal beside a real machine",
                do="Set it on the page, or begin beside a machine.",
            )  # fmt: skip
        found = read_bench(self.bench, typed, self.run.scenario.case.animal.weight_kg)
        turned, wanted = turned and self.bench is not None, apart(self.run.live.settings, found)
        if wanted and turned:
            self.run.act("set", wanted)
        elif wanted:
            self.run.live.set(**wanted)
        done = Typed(at_s=self.run.now_s, typed=dict(typed), turned=turned, given=wanted)
        self._row.append(done)
        self._learn_typed(typed)
        return done

    def hand(self, what: str, given: Mapping[str, Any]) -> Done:
        """Do what a trainer does. Raises InputError for what cannot be done; then nothing has changed."""
        done = Done(at_s=self.run.now_s, hand=what, given=checked_hand(what, given, self.instruments))  # type: ignore[arg-type]  # checked in the same line
        match what:
            case "fault":
                self.run.put_in(**done.given)
            case "set":
                self.run.live.set(**done.given)
            case "say":
                self.run.tell(done.given["text"])
            case "hide":
                self._masks.put_on(done.given["key"], done.at_s)
            case "freeze":
                self._masks.put_on(done.given["key"], done.at_s, self._last(done.given["key"]))
            case "show":
                self._masks.take_off(done.given["key"], done.at_s)
        self._row.append(done)
        return done

    def _last(self, key: str) -> float:
        shown = [each.value for each in self.readings(-self.run.begun_s) if each.key == key]
        if not shown or shown[-1] is None:
            raise InputError(
                where="freeze", given=key, allowed="an instrument that shows a number",
                do="Wait for its first number, or hide it.",
            )  # fmt: skip
        return shown[-1]
