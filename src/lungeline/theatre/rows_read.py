"""What was read in a case, row by row, typed or live: what is so now, and what it is compared with."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import fmean
from typing import Any

from lungeline.case import Reading, Settings
from lungeline.case.fields import described
from lungeline.explain import assumed, channels, typed
from lungeline.record import CaseState, Item

Live = Mapping[str, Sequence[tuple[datetime, float]]]
FRESH = timedelta(
    minutes=10
)  # a row tells of now for so long, unless another follows; common practice, no source
_COMPARED = timedelta(minutes=45)  # rows older than this say little of the animal as it is; assumption
_ONE_LOOK = timedelta(minutes=3)  # live rows of one minute may lack what comes less often; assumption
_ON_THE_MOVE = timedelta(minutes=5)  # within which a change that matters is one that goes on; assumption
_BEFORE_ROWS = 5
_CHOICES = 6
_NOW_S = 60.0  # after all was well, on the clock of readings, where nobody knows when it was
_SKIPPED_AS_GAS = frozenset(
    {"fio2_fraction"}
)  # stands beside a gas to read it by; the analyser's own is in the row


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Readings of one moment. live: measured, not typed; gas: of arterial blood."""

    at: datetime
    values: Mapping[str, float]
    live: bool = False
    gas: bool = False

    def readings(self, began: datetime) -> list[Reading]:
        """Return them on the clock of a case that began then."""
        at_s, source = (self.at - began).total_seconds(), "blood gas" if self.gas else "typed"
        return [
            Reading(time_s=at_s, key=key, value=value, source=source) for key, value in self.values.items()
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """What was read last, and what it is compared with.

    now, now_at: the newest of each quantity, and when; before, before_at: the last while all was well;
    well, since: the rows of then, and those after it; well_until: the row until which all was well, None
    where none has the same settings; chosen: by a person; unlike: whether the newest differ from it by enough
    to matter; choices: rows somebody may choose instead.
    """

    now: Mapping[str, float]
    now_at: Mapping[str, datetime]
    before: Mapping[str, Sequence[float]]
    before_at: Mapping[str, datetime]
    well: Sequence[Row]
    since: Sequence[Row]
    well_until: datetime | None
    chosen: bool
    unlike: bool
    choices: Sequence[datetime]

    @property
    def read_at(self) -> datetime:
        """When the newest was read."""
        return max(self.now_at.values())

    @property
    def now_s(self) -> float:
        """When the newest was read, on the clock of readings, on which all was well at 0."""
        return _NOW_S if self.well_until is None else (self.read_at - self.well_until).total_seconds()

    def readings(self) -> tuple[list[Reading], float | None]:
        """Return readings to be explained, and until when on their clock all was well.

        What was read a while ago and not again is taken to be so still.
        """
        well = self.readings_while_well()
        since = [it for row in self.since[:-1] for it in typed(row.values, self._at_s(row))]
        return [*well, *since, *typed(self.now, self.now_s)], 0.0 if well else None

    def readings_while_well(self) -> list[Reading]:
        """Return what was read while all was well."""
        return [it for row in self.well for it in typed(row.values, self._at_s(row))]

    def _at_s(self, row: Row) -> float:
        return (row.at - (self.well_until or self.read_at)).total_seconds()


def rows_read(state: CaseState, live: Live | None = None) -> tuple[Row, ...]:
    """Return every row that can be used, oldest first: no artefact, no venous blood, nothing struck.

    live: what was measured live by quantity, which makes a row a minute.
    """
    found = [row for item in state.items if not item.struck if (row := _row(item)) is not None]
    return tuple(sorted([*found, *_live_rows(live or {})], key=lambda row: row.at))


def story(
    rows: Sequence[Row], settings_since: datetime | None, well_until: datetime | None = None
) -> Story | None:
    """Return what is so and what it was; None where nothing was read.

    settings_since: when something was last set otherwise: rows from before are not compared.
    well_until: until when somebody says that all was well; else the last row that is unlike the newest, or
    where things were on the move already the one from which they moved.
    """
    if not rows:
        return None
    usable = [row for row in rows if row.at > rows[-1].at - _COMPARED]
    same = [row for row in usable if settings_since is None or row.at >= settings_since]
    now, now_at = _newest([row for row in usable if row.at > usable[-1].at - FRESH])
    unlike = next((_still_before(row, same) for row in reversed(same[:-1]) if _differs(row, now)), None)
    known = {row.at for row in same[:-1]}
    chosen = well_until if well_until in known else None
    earlier = [at for at in known if at < usable[-1].at]
    a_look_ago = [at for at in earlier if at <= usable[-1].at - _ONE_LOOK]
    until = chosen or unlike or max(a_look_ago or earlier, default=None)
    since = [row for row in usable if until is not None and until < row.at]
    if until is not None:
        now, now_at = _newest([row for row in since if row.at > usable[-1].at - FRESH])
    well = [row for row in same if until is not None and row.at <= until]
    before: dict[str, list[float]] = {}
    for row in well:
        for key, value in row.values.items():
            before.setdefault(key, []).append(value)
    return Story(
        now=now, now_at=now_at, before={key: values[-_BEFORE_ROWS:] for key, values in before.items()},
        before_at=_newest(well)[1], well=well, since=since, well_until=until, chosen=chosen is not None,
        unlike=unlike is not None, choices=sorted(known)[-_CHOICES:],
    )  # fmt: skip


def set_otherwise_since(state: CaseState) -> datetime | None:
    """Return when something was last set to another value than it had."""
    told: dict[str, Any] = {}
    since = None
    for item in state.items:
        if item.kind != "setting" or item.struck:
            continue
        new = {key: value for key, value in item.body.items() if key in described(Settings)}
        if any(told.get(key) != value for key, value in new.items()):
            since = item.event_time
        told |= new
    return since


def answered_since(state: CaseState, since: datetime | None) -> Iterator[tuple[Item, str, str]]:
    """Yield what was told of proposed tests, newest last: the entry, the test or reading, what it found.

    Nothing found stands for a test that was put off.
    """
    for item in state.items:
        test_of_it = item.kind == "advice" and str(item.body.get("code", "")).startswith("test_")
        if item.struck or not test_of_it or (since is not None and item.event_time <= since):
            continue
        name, _, found = str(item.body.get("about", "")).partition("=")
        yield item, name, found if item.body.get("done") == "followed" else ""


def _row(item: Item) -> Row | None:
    gas = item.kind == "gases"
    known = gas or item.kind == "reading"
    if not known or item.body.get("artefact") or (gas and item.body.get("sample") != "arterial"):
        return None
    values = {
        key: float(value)
        for key, value in item.body.items()
        if key in channels() and _number(value) and not (gas and key in _SKIPPED_AS_GAS)
    }
    return Row(at=item.event_time, values=values, gas=gas) if values else None


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _live_rows(live: Live) -> Iterator[Row]:
    minutes: dict[datetime, dict[str, list[float]]] = {}
    for key, line in live.items():
        for at, value in line:
            if key in channels():
                minutes.setdefault(at.replace(second=0, microsecond=0), {}).setdefault(key, []).append(value)
    for at, values in minutes.items():
        yield Row(at=at, values={key: fmean(each) for key, each in values.items()}, live=True)


def _newest(rows: Sequence[Row]) -> tuple[dict[str, float], dict[str, datetime]]:
    values, at = dict[str, float](), dict[str, datetime]()
    for row in rows:
        values |= row.values
        at |= dict.fromkeys(row.values, row.at)
    return values, at


def _still_before(row: Row, rows: Sequence[Row]) -> datetime:
    """Return when this row's readings were last where they came from: what goes on slowly began before."""
    while True:
        near = [it for it in rows if row.at - _ON_THE_MOVE <= it.at < row.at]
        moved = next((it for it in near if _differs(it, row.values)), None)
        if moved is None:
            return row.at
        row = moved


def _differs(row: Row, now: Mapping[str, float]) -> bool:
    matters = assumed().matters
    return any(
        key in now and key in matters and abs(value - now[key]) >= matters[key]
        for key, value in row.values.items()
    )
