"""Copies of the served folder: by the schedule somebody set, in a thread, and what came of the last round."""

import contextlib
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from lungeline.errors import LungelineError
from lungeline.theatre import Backups, Cases, Round, Schedule
from lungeline.theatre.kept_schedule import forget_schedule, keep_schedule, read_schedule

_WAIT_S = 5.0  # for a round that is being made when the server ends; one cut short is made anew next time


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What a round did, and when. copied_at: of the last new copy since the server began."""

    at: datetime
    round: Round
    copied_at: datetime | None = None


class BackingUp:
    """The copies of one data folder. Everything here may be called from any thread."""

    def __init__(self, cases: Cases) -> None:
        """Begin without a schedule."""
        self._cases = cases
        self._changing = threading.Lock()
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._backups: Backups | None = None
        self.last: Told | None = None

    @contextlib.contextmanager
    def going_on(self) -> Iterator[None]:
        """Copy by the schedule that was kept, until the block ends."""
        try:
            self._follow(read_schedule(self._cases.path))
        except LungelineError as error:  # cases go on without it, and the pages tell
            self._tell(Round(fault=error))
        try:
            yield
        finally:
            self._follow(None)

    @property
    def schedule(self) -> Schedule | None:
        """What is copied where and how often; None where it is not."""
        return self._backups.schedule if self._backups else None

    @property
    def on_the_same_disk(self) -> bool:
        """Whether copies lie on the disk of the data."""
        return self._backups is not None and self._backups.on_the_same_disk

    @property
    def fault(self) -> LungelineError | None:
        """Why the last round made no copy."""
        return self.last.round.fault if self.last else None

    def keep(self, schedule: Schedule) -> None:
        """Copy by this schedule from now on, also after a new start."""
        keep_schedule(self._cases.path, schedule)
        self._follow(schedule)

    def forget(self) -> None:
        """Copy by no schedule any more."""
        forget_schedule(self._cases.path)
        self._follow(None)

    def now(self) -> Round | None:
        """Make a round at once, beside those of the schedule; None where nobody said where to."""
        backups = self._backups
        if backups is None:
            return None
        done = backups.round()
        self._tell(done)
        return done

    def _follow(self, schedule: Schedule | None) -> None:
        with self._changing:
            self._stop.set()
            if self._thread is not None:
                self._thread.join(_WAIT_S)
            self._thread, self._backups, self.last = None, None, None
            if schedule is None:
                return
            self._stop, self._backups = threading.Event(), Backups(self._cases, schedule)
            self._thread = threading.Thread(
                target=self._backups.run, args=[self._stop, self._tell], name="backups", daemon=True
            )
            self._thread.start()

    def _tell(self, done: Round) -> None:
        at = datetime.now(UTC).astimezone()
        before = self.last.copied_at if self.last else None
        self.last = Told(at=at, round=done, copied_at=at if done.copies else before)
