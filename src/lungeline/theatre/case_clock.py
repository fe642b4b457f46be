"""The clock of a case: reckoned from its entries alone, so that it goes on after a restart."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from lungeline.errors import InputError, OutOfRangeError
from lungeline.record import CaseState, Item
from lungeline.record.moment import read_moment
from lungeline.theatre.phases import phases_begun

UNDER, _AWAKE = frozenset({"induce", "maintain", "wean"}), frozenset({"prepare", "recover", "closed"})
_FURTHEST_AGO_MIN = 7 * 24 * 60.0  # what is older is told with its date
_SECONDS_PER_MINUTE = 60.0
_CLOCK_LENGTH = len("14:05")


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseClock:
    """What the time is in a case.

    phase, phase_since: the part that goes on, and since when.
    induced, awake: when the first anaesthetic began, and the last recovery; None where that has not been.
    anaesthesia_minutes: under anaesthesia so far, all parts together; phase_minutes: in this part so far.
    """

    now: datetime
    phase: str
    phase_since: datetime | None
    phase_minutes: float | None
    induced: datetime | None
    awake: datetime | None
    anaesthesia_minutes: float | None


def case_clock(state: CaseState, now: datetime) -> CaseClock:
    """Return the clock of a case at a moment; what was told of the future has not begun."""
    begun = [item for item in phases_begun(state) if item.event_time <= now]
    last = begun[-1] if begun else None
    induced = next((item.event_time for item in begun if item.body["phase"] in UNDER), None)
    closed = last is not None and last.body["phase"] == "closed"
    since = last.event_time if last else None
    return CaseClock(
        now=now,
        phase=str(last.body["phase"]) if last else "",
        phase_since=since,
        phase_minutes=None if since is None or closed else minutes_between(since, now),
        induced=induced,
        awake=_awake(begun),
        anaesthesia_minutes=_under_minutes(begun, now) if induced else None,
    )


def _awake(begun: list[Item]) -> datetime | None:
    """Return when the last recovery began; None while the animal lies under again."""
    awake: datetime | None = None
    under = False
    for item in begun:
        if item.body["phase"] in UNDER:
            awake, under = None, True
        elif under and item.body["phase"] in _AWAKE:
            awake, under = item.event_time, False
    return awake


def _under_minutes(begun: list[Item], now: datetime) -> float:
    ends = [*(item.event_time for item in begun[1:]), now]
    spans = zip(begun, ends, strict=True)
    return sum(minutes_between(item.event_time, end) for item, end in spans if item.body["phase"] in UNDER)


def minutes_between(begin: datetime, end: datetime) -> float:
    """Return how long it is from one moment to another [min]."""
    return (end - begin).total_seconds() / _SECONDS_PER_MINUTE


def moment_told(now: datetime, *, at: str | None = None, ago_min: float | None = None) -> datetime:
    """Return when something was: now, so many minutes ago, or at a time.

    at: a clock time such as 14:05, the last one there was, or a date and time with its offset.
    """
    if at is not None and ago_min is not None:
        raise InputError(
            where="time", given=f"{at} and {ago_min:g} min ago", allowed="one of them", do="Leave one out."
        )
    if ago_min is not None:
        if not 0 <= ago_min <= _FURTHEST_AGO_MIN:
            raise OutOfRangeError(
                where="ago_min", given=ago_min, allowed=f"0 to {_FURTHEST_AGO_MIN:g} min", do="Give the time."
            )
        return now - timedelta(minutes=ago_min)
    if at is None:
        return now
    return _at_clock(now, at) if len(at) <= _CLOCK_LENGTH else read_moment(at, "at")


def _at_clock(now: datetime, at: str) -> datetime:
    try:
        clock = datetime.strptime(at, "%H:%M")  # noqa: DTZ007  a time of day; its day and offset are taken from now
    except ValueError:
        raise InputError(
            where="at", given=at, allowed="a time such as 14:05, or a date and time", do="Write it so."
        ) from None
    moment = now.replace(hour=clock.hour, minute=clock.minute, second=0, microsecond=0)
    # shortly after midnight, 23:50 was yesterday
    return moment if moment <= now else moment - timedelta(days=1)
