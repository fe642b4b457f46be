"""Backups on a schedule: copies that rotate on another disk or stick, each of them checked.

They lie in a folder of their own in the one that is named, so that no copy made by hand is ever deleted.
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lungeline.errors import LungelineError, OutOfRangeError, RecordError, StoreError
from lungeline.record.store.backup import HEADS, back_up, check_backup, heads_of
from lungeline.record.store.store import Store
from lungeline.theatre.cases import Cases

ROTATING, UNSOUND = "rotating", ".unsound"
_LONGEST_MIN, _AGAIN_MIN, _SECONDS_PER_MINUTE = 24 * 60.0, 1.0, 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """When, where to, and how many copies of each store to keep."""

    folder: Path
    every_min: float = 15.0
    keep_number: int = 20

    def __post_init__(self) -> None:
        """Refuse what would never copy, or keep nothing."""
        if not 0 < self.every_min <= _LONGEST_MIN:
            allowed = f"more than 0, up to {_LONGEST_MIN:g} min"
            raise OutOfRangeError(
                where="every_min", given=self.every_min, allowed=allowed, do="Copy at least once a day."
            )
        if self.keep_number < 1:
            raise OutOfRangeError(
                where="keep", given=self.keep_number, allowed="1 or more", do="Keep some copies."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """What one round did. copies: those made, none where nothing was new; fault: why it could not."""

    copies: tuple[Path, ...] = ()
    fault: LungelineError | None = None


class Backups:
    """The rounds of one schedule."""

    def __init__(self, cases: Cases, schedule: Schedule) -> None:
        """Begin without a round."""
        self.cases, self.schedule = cases, schedule
        self._copied: dict[str, tuple[Path, dict[str, int]]] = {}
        self._begun = False
        self._one_at_a_time = threading.Lock()

    def run(self, stop: threading.Event, told: Callable[[Round], None]) -> None:
        """Make rounds until told to stop, in a thread too; a place that refused is tried again soon.

        told: hears of each round.
        """
        while not stop.is_set():
            done = self.round()
            told(done)
            every_min = self.schedule.every_min
            soon = isinstance(done.fault, StoreError)
            stop.wait((min(_AGAIN_MIN, every_min) if soon else every_min) * _SECONDS_PER_MINUTE)

    def round(self) -> Round:
        """Copy every store that has something new; one round at a time."""
        with self._one_at_a_time:
            return self._round()

    def _round(self) -> Round:
        try:
            self._find_folder()
            stores = list(self.cases.stores(equipment=True))
            try:
                copies = [self._copied_now(store) for store in stores]
            finally:
                for store in stores:
                    store.close()
        except LungelineError as error:
            return Round(fault=error)
        except OSError as error:
            return Round(fault=self._gone(error.strerror))
        return Round(copies=tuple(copy for copy in copies if copy is not None))

    @property
    def on_the_same_disk(self) -> bool:
        """Whether the copies lie on the disk of the data, which they would be lost with."""
        try:
            return self.schedule.folder.stat().st_dev == self.cases.path.stat().st_dev
        except OSError:
            return False

    @property
    def _folder(self) -> Path:
        return self.schedule.folder / ROTATING

    def _find_folder(self) -> None:
        """Refuse a folder that is gone: made anew, it would lie where the stick is not."""
        try:
            if not self._begun:
                self._folder.mkdir(exist_ok=True)
        except OSError as error:
            raise self._gone(error.strerror) from None
        if not self._folder.is_dir():
            raise self._gone(given="not there")
        self._begun = True

    def _gone(self, given: str | None) -> StoreError:
        return StoreError(
            where=str(self.schedule.folder),
            given=given,
            allowed="the disk or stick for the copies, with a folder one may write to",
            do="Put it back: the copies then go on by themselves. Until then there is none.",
        )

    def _copied_now(self, store: Store) -> Path | None:
        counts = store.counts()
        before = self._copied.get(store.folder.side)
        if before and before[0].exists() and before[1] == counts:
            return None
        for rest in self._folder.glob(f"{store.folder.side}-*.part"):  # of a round that was cut short
            rest.unlink(missing_ok=True)
        copy = back_up(store, self._folder)
        fault = _fault(copy, store)
        if fault:
            self._set_aside(copy, store.folder.side)
            raise fault
        self._rotate(copy, store.folder.side)
        self._copied[store.folder.side] = copy, counts
        return copy

    def _rotate(self, newest: Path, side: str) -> None:
        """Delete the oldest copies; never the newest, which was found sound, whatever the clock says."""
        there = sorted(self._folder.glob(f"{side}-*{newest.suffix}"))
        others = [it for it in there if it != newest and not it.name.endswith(HEADS)]
        for old in others[: max(0, len(others) + 1 - self.schedule.keep_number)]:
            _delete(old)

    def _set_aside(self, copy: Path, side: str) -> None:
        """Keep the newest unsound copy, under a name that nobody takes for a sound one."""
        for old in self._folder.glob(f"{side}-*{UNSOUND}"):
            _delete(old)
        aside = copy.with_name(f"{copy.name}{UNSOUND}")
        if heads_of(copy).exists():
            heads_of(copy).replace(heads_of(aside))
        copy.replace(aside)


def _delete(copy: Path) -> None:
    copy.unlink(missing_ok=True)
    heads_of(copy).unlink(missing_ok=True)


def _fault(copy: Path, store: Store) -> LungelineError | None:
    try:
        verdicts = check_backup(copy, store.key)
    except LungelineError as error:
        return error
    for verdict in verdicts:
        if verdict.outcome != "intact":
            return RecordError(
                where=f"{copy.name}, case {verdict.case}",
                given=f"{verdict.outcome}: {verdict.reason} (entry {verdict.at_seq})",
                allowed="a copy in which every case is intact",
                do="Check the record itself (verify). No older copy was deleted.",
            )
    return None
