"""Rehearsals that go on: each in a thread by the clock on the wall, told to learners and trainers.

A message is made once for all learners and once for all trainers, who are told what is hidden too. Whatever
is asked of a rehearsal is done in its thread, between two steps.
"""

import asyncio
import logging
import queue
import threading
import time
from collections.abc import Callable, Mapping
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING, Any, Literal, TypeVar
from zlib import crc32

from lungeline.case.reading import Reading
from lungeline.errors import LungelineError, OutOfRangeError, RecordError, UnknownNameError
from lungeline.explain import assumed, channels, measured
from lungeline.explain.threats import threats
from lungeline.rehearse import Scenario
from lungeline.rehearse.practice import Practice
from lungeline.theatre.kept_rehearsals import KeptRehearsals, new_id
from lungeline.web.followers import Followers
from lungeline.web.rehearsed import learner_log, learner_view, trainer_view
from lungeline.web.running import running
from lungeline.web.shown_live import CHANNELS, Shown, packed

if TYPE_CHECKING:
    from lungeline.case import Finding

Role = Literal["learner", "trainer"]
Answer = TypeVar("Answer")
RATE_HZ = 50.0
SPEEDS = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 30.0)  # offered; any between is possible
SLOWEST, FASTEST = min(SPEEDS), max(SPEEDS)
_EVERY_S = 0.2  # between two messages: ten samples a curve in real time
_LOOK_S = 1.0  # between two looks for what threatens life
_BEHIND_S = 2.0  # of the clock on the wall; more is let go
_ALONE_S = 1800.0  # how long a rehearsal goes on when nobody looks
_ANSWER_WITHIN_S = 30.0
_MOST_AT_ONCE = 8
_FRESH_S = 60.0  # a number that is older threatens nobody
# which numbers come out of a curve: who hides them all hides it
_OF_CURVE: Mapping[str, frozenset[str]] = {
    "pressure_cmh2o": frozenset({"peak_pressure_cmh2o"}),
    "flow_l_s": frozenset({"tidal_volume_expired_l"}),
    "co2_mmhg": frozenset({"etco2_mmhg"}),
    "oxygen_fraction": frozenset({"fio2_fraction"}),
}
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """How a rehearsal was begun.

    led: by a trainer, so that learners do not turn its clock. bench: beside a real machine.
    """

    id: str
    author: str
    led: bool
    bench: bool
    began: datetime


@dataclass(slots=True)
class _Clock:
    """How the time of the animal goes with the clock on the wall."""

    speed: float = 1.0
    paused: bool = False
    wall_s: float = field(default_factory=time.monotonic)
    animal_s: float = 0.0

    def set(self, animal_s: float) -> None:
        """Begin anew from here."""
        self.wall_s, self.animal_s = time.monotonic(), animal_s

    def due_s(self) -> float:
        """Return where the animal's time should be now [s]."""
        return self.animal_s + (time.monotonic() - self.wall_s) * self.speed


class RunningRehearsal(threading.Thread):
    """One rehearsal. What is public here may be called from any thread."""

    def __init__(
        self, scenario: Scenario, begun: Begun, loop: asyncio.AbstractEventLoop, seed: int | None
    ) -> None:
        """Know what to run. loop: of the server, in which followers wait."""
        super().__init__(name=f"rehearsal {begun.id}", daemon=True)
        self.begun, self.scenario = begun, scenario
        self.followers: Mapping[Role, Followers] = {"learner": Followers(loop), "trainer": Followers(loop)}
        self.ended = False
        self._seed = seed
        self._asked: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
        self._clock = _Clock()
        self._changed_number = 0
        self._threats: tuple[Finding, ...] = ()

    # -- asked from elsewhere ------------------------------------------------------------------------------

    def do(self, what: Callable[[Practice], Answer], *, looks: bool = False) -> Answer:
        """Do something with the rehearsal between two steps, and return what came of it, or raise that.

        looks: it changes nothing, so that no page needs to ask anew.
        """
        if self.ended:
            raise RecordError(
                where="rehearsal", given="one that is over", allowed="one that goes on",
                do="Look at how it went, or begin it again.",
            )  # fmt: skip
        answer: Future[Answer] = Future()

        def done() -> None:
            try:
                answer.set_result(what(self._practice))
            except Exception as error:  # noqa: BLE001  whoever asked is told
                answer.set_exception(error)
            self._changed_number += not looks

        self._asked.put(done)
        return answer.result(_ANSWER_WITHIN_S)

    def control(self, what: str, value: float | None = None) -> None:
        """Turn its clock: pause, go, speed (times real time), step or back (seconds), end."""
        match what:
            case "pause" | "go":
                self.do(lambda practice: self._pace(practice, paused=what == "pause"))
            case "speed":
                if value is None or not SLOWEST <= value <= FASTEST:
                    raise OutOfRangeError(
                        where="speed", given=value, allowed=f"{SLOWEST:g} to {FASTEST:g}", do="Choose one."
                    )
                self.do(lambda practice: self._pace(practice, speed=value))
            case "step":
                self.do(lambda practice: self._to(practice, practice.run.now_s + (value or _LOOK_S)))
            case "back":
                self.do(lambda practice: self._to(practice, max(practice.run.now_s - (value or 0.0), 0.0)))
            case "end":
                self.do(self._end)
            case _:
                valid = ("pause", "go", "speed", "step", "back", "end")
                raise UnknownNameError.nearest(where="rehearsal", given=what, valid=valid)

    def view(self, role: Role) -> dict[str, Any]:
        """Return how it stands, for a learner or a trainer."""
        return self.do(lambda practice: self._view(practice, role), looks=True)

    # -- in its own thread ---------------------------------------------------------------------------------

    def run(self) -> None:
        """Run until its time is up, somebody ends it, or nobody has looked for long."""
        try:
            self._practice = Practice(
                self.scenario, seed=self._seed, trace_rate_hz=RATE_HZ, beside_machine=self.begun.bench
            )
            self._run_on()
        except Exception:  # noqa: BLE001  whatever it was, what was done until then is kept
            _log.exception("the rehearsal %s ended", self.begun.id)
            if hasattr(self, "_practice"):
                self._end(self._practice)
        finally:
            self.ended = True
            self._answer_until(0.0)

    def _run_on(self) -> None:
        self._shown = Shown(self._practice.run.feed)
        self._clock.set(0.0)
        next_s = time.monotonic()
        look_s = 0.0
        while not self.ended:
            self._answer_until(next_s)
            next_s = max(next_s + _EVERY_S, time.monotonic())
            self._go_on(self._practice)
            if time.monotonic() >= look_s and not self._practice.waits:
                self._look(self._practice)
                look_s = time.monotonic() + _LOOK_S
            self._tell(self._practice)
            if self._practice.run.over or min(it.alone_s for it in self.followers.values()) > _ALONE_S:
                self._end(self._practice)
        self._tell(self._practice)

    def _answer_until(self, until_s: float) -> None:
        while True:
            try:
                left_s = until_s - time.monotonic()
                asked = self._asked.get(timeout=left_s) if left_s > 0.0 else self._asked.get_nowait()
            except queue.Empty:
                return
            asked()

    def _go_on(self, practice: Practice) -> None:
        if self._clock.paused or practice.waits:
            self._clock.set(practice.run.now_s)
            return
        left_s = self._clock.due_s() - practice.run.now_s
        if left_s > 0.0:
            practice.advance(left_s)
        elif left_s < -_EVERY_S * self._clock.speed:  # a manoeuvre took its time at once
            self._clock.set(practice.run.now_s)
        if self._clock.due_s() - practice.run.now_s > _BEHIND_S * self._clock.speed:
            self._clock.set(practice.run.now_s)

    def _pace(self, practice: Practice, *, paused: bool | None = None, speed: float | None = None) -> None:
        self._clock.paused = self._clock.paused if paused is None else paused
        self._clock.speed = speed or self._clock.speed
        self._clock.set(practice.run.now_s)

    def _to(self, practice: Practice, at_s: float) -> None:
        """Go to a moment before or after, and stand there."""
        if at_s < practice.run.now_s:
            practice.back_to(at_s)
        else:
            practice.advance(at_s - practice.run.now_s)
        self._pace(practice, paused=True)

    def _end(self, practice: Practice) -> None:
        if not self.ended:
            kept = KeptRehearsals(running().folder)
            kept.keep(self.begun.id, practice, author=self.begun.author, began=self.begun.began)
            self.ended = True

    def _look(self, practice: Practice) -> None:
        """See what threatens life by what the instruments show now."""
        hidden = {key for key, stands in practice.masked.items() if stands is None}
        newest = {
            each.key: each
            for each in practice.readings(practice.run.now_s - _FRESH_S)
            if each.key in channels() and each.key not in hidden and each.value is not None
        }
        present = [
            Reading(time_s=0.0, key=it.key, value=it.value, source=it.source) for it in newest.values()
        ]
        found = threats(measured(present, assumed()), practice.known).findings if present else ()
        if [it.code for it in found] != [it.code for it in self._threats]:
            self._changed_number += 1
        self._threats = found

    def _tell(self, practice: Practice) -> None:
        offset_s = self.begun.began.timestamp() - practice.run.begun_s
        shown, readings = self._shown, practice.readings(self._shown.since_s() - practice.run.begun_s)
        new = shown.step(readings, offset_s, self._curves(practice))
        base = {
            "at": round(offset_s + practice.run.live.time_s, 2),
            "threats": [it.code for it in self._threats],
            "rehearsal": self._stands(practice),
        }
        for role, followers in self.followers.items():
            if followers.alone_s:
                continue
            more = base | ({"hidden": trainer_view(practice)} if role == "trainer" else {})
            before = shown.before(RATE_HZ, self._curves(practice)) if followers.greet else None
            hello = packed({"type": "hello", **more, **before}) if before else ""
            followers.tell(packed({"type": "live", **more, **new}), hello)

    def _stands(self, practice: Practice) -> dict[str, Any]:
        return {
            "now_s": round(practice.run.now_s, 1), "speed": self._clock.speed,
            "paused": self._clock.paused or practice.waits, "waits": practice.waits,
            "over": self.ended, "changed": self._changed(practice),
        }  # fmt: skip

    def _changed(self, practice: Practice) -> str:
        """Return what is another once pages should ask anew: also where a look was found, or undone."""
        return f"{self._changed_number}.{crc32(repr(learner_log(practice)).encode()):x}"

    def _curves(self, practice: Practice) -> tuple[str, ...]:
        """Return which curves the learner sees: not those of a number that is hidden or stands still."""
        seen = set(practice.instruments) - set(practice.masked)
        return tuple(each for each in CHANNELS if _OF_CURVE[each] & seen)

    def _view(self, practice: Practice, role: Role) -> dict[str, Any]:
        told = {
            "id": self.begun.id, "led": self.begun.led, "began": self.begun.began.isoformat(),
            "now": (self.begun.began + timedelta(seconds=practice.run.now_s)).isoformat(),
            "threats": self._threats, **self._stands(practice), **learner_view(practice),
        }  # fmt: skip
        return told | ({"hidden": trainer_view(practice)} if role == "trainer" else {})


class Rehearsals:
    """The rehearsals that run in this process."""

    def __init__(self) -> None:
        """Begin with none."""
        self._running: dict[str, RunningRehearsal] = {}
        self.loop: asyncio.AbstractEventLoop | None = None

    def begin(
        self, scenario: Scenario, *, author: str, led: bool, bench: bool = False, seed: int | None = None
    ) -> RunningRehearsal:
        """Begin a rehearsal."""
        going = self.going()
        if len(going) >= _MOST_AT_ONCE or self.loop is None:
            raise RecordError(
                where="rehearsals", given=f"{len(going)} that go on", allowed=f"at most {_MOST_AT_ONCE}",
                do="End one first.",
            )  # fmt: skip
        now = datetime.now(UTC).astimezone()
        begun = Begun(id=new_id(now), author=author, led=led, bench=bench, began=now)
        self._running = {it.begun.id: it for it in going}  # what is over lies in its file
        made = self._running[begun.id] = RunningRehearsal(scenario, begun, self.loop, seed)
        made.start()
        return made

    def going(self) -> tuple[RunningRehearsal, ...]:
        """Return those that go on."""
        return tuple(it for it in self._running.values() if it.is_alive() and not it.ended)

    def end_all(self) -> None:
        """End all, so that each is kept: the server stops."""
        for each in self.going():
            with suppress(LungelineError, TimeoutError):
                each.control("end")

    def find(self, name: str) -> RunningRehearsal:
        """Return one that goes on, by its id."""
        found = self._running.get(name)
        if found is None or found.ended:
            raise UnknownNameError.nearest(
                where="rehearsal", given=name, valid=[it.begun.id for it in self.going()]
            )
        return found


@cache
def rehearsals() -> Rehearsals:
    """Return the rehearsals of this process."""
    return Rehearsals()
