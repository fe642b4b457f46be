"""Moments for print: the clock alone on the day of the case, the date before it on any other."""

from collections.abc import Callable
from datetime import datetime

from lungeline.theatre.cases import CaseNow

Clock = Callable[[datetime], str]


def clock_of(now: CaseNow) -> Clock:
    """Return how moments of a case are told: its day and offset from UTC are those of its opening."""
    first = now.entries[0].event_time

    def told(moment: datetime) -> str:
        day = "" if moment.date() == first.date() else f"{moment:%Y-%m-%d} "
        offset = "" if moment.utcoffset() == first.utcoffset() else f" {moment:%z}"
        return f"{day}{moment:%H:%M}{offset}"

    return told


def day_told(now: CaseNow) -> str:
    """Return on which day and by which clock times without a date were."""
    first = now.entries[0].event_time
    offset = f"{first:%z}"
    return f"times without a date: {first:%Y-%m-%d}, UTC{offset[:3]}:{offset[3:5]}"
