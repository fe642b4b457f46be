"""Moments as the record writes them: milliseconds, with their offset from UTC."""

from datetime import datetime, timedelta, timezone

from lungeline.errors import InputError

_MICROSECONDS_PER_MILLISECOND = 1000
_SECONDS_PER_MINUTE = 60


def whole_millisecond(moment: datetime, where: str) -> datetime:
    """Return a moment cut to its millisecond, its offset to whole minutes; refuse one without."""
    offset = moment.utcoffset()
    if offset is None:
        raise _refused(where, moment.isoformat())
    micro = moment.microsecond // _MICROSECONDS_PER_MILLISECOND * _MICROSECONDS_PER_MILLISECOND
    try:
        zone = timezone(timedelta(minutes=round(offset.total_seconds() / _SECONDS_PER_MINUTE)))
        return moment.astimezone(zone).replace(microsecond=micro, fold=0)
    except (OverflowError, ValueError):  # the first and last day a calendar here knows
        raise _refused(where, moment.isoformat()) from None


def written(moment: datetime) -> str:
    """Return a moment as text.

    >>> from datetime import UTC
    >>> written(datetime(2026, 3, 1, 14, 5, 0, 250_999, tzinfo=UTC))
    '2026-03-01T14:05:00.250+00:00'
    """
    return moment.isoformat(timespec="milliseconds")


def read_moment(text: object, where: str) -> datetime:
    """Return the moment of a text; InputError where it is none, or has no offset."""
    if not isinstance(text, str):
        raise _refused(where, text)
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise _refused(where, text) from None
    return whole_millisecond(moment, where)


def _refused(where: str, given: object) -> InputError:
    return InputError(
        where=where,
        given=given,
        allowed='a date and time with its offset from UTC, such as "2026-03-01T14:05:00+01:00"',
        do="Write the offset too: Z or +00:00 is UTC.",
    )
