"""Clocks that disagree: noted beside the entries, never silently put right."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal
from uuid import NAMESPACE_URL, uuid5

from lungeline.record.entry import Draft, Entry
from lungeline.record.moment import written

TOLERATED = timedelta(seconds=5)  # a person's finger and a slow network; assumption
_PREFIX, _LONGEST_NAME = "clock:", 100


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockNote:
    """One disagreement of clocks.

    at_seq: the entry that shows it.
    device: whose clock; empty for the store's own.
    what: the device told its time and it differed; an event lies in the store's future; the store's
        own clock went back.
    ahead_s: by how much the clock was ahead of what it was compared with, negative for behind.
    """

    at_seq: int
    device: str
    what: Literal["device differs", "event in the future", "store went back"]
    ahead_s: float


def clock_device(device: str) -> str:
    """Return the name under which a device's clock is noted."""
    return f"{_PREFIX}{device}"[:_LONGEST_NAME]


def clock_draft(draft: Draft, now: datetime, noted_ahead_s: float | None) -> Draft | None:
    """Return the note to enter after a draft whose device's clock is off, or None.

    now: the store's clock; noted_ahead_s: what was last noted of this device in this case.
    One note for each disagreement, not one for each entry.
    """
    if draft.sent_time is None:
        return None
    ahead = draft.sent_time - now
    known = timedelta(seconds=noted_ahead_s or 0.0)
    if abs(ahead - known) <= TOLERATED:
        return None
    return Draft(
        uid=str(uuid5(NAMESPACE_URL, f"lungeline:clock:{draft.uid}")),
        case=draft.case,
        kind="clock",
        event_time=now,
        author="lungeline",
        device=clock_device(draft.device),
        body={
            "device_time": written(draft.sent_time),
            "store_time": written(now),
            "ahead_s": round(ahead.total_seconds(), 3),
        },
    )


def clock_notes(entries: Iterable[Entry]) -> tuple[ClockNote, ...]:
    """Return the disagreements that entries, in the order of their seq, show."""
    notes: list[ClockNote] = []
    latest: datetime | None = None
    for entry in entries:
        notes.extend(_notes_of(entry, latest))
        latest = max(latest or entry.entry_time, entry.entry_time)
    return tuple(notes)


def _notes_of(entry: Entry, latest: datetime | None) -> Iterable[ClockNote]:
    if entry.kind == "clock":
        device = entry.device.removeprefix(_PREFIX)
        yield ClockNote(at_seq=entry.seq, device=device, what="device differs", ahead_s=entry.body["ahead_s"])
    early = entry.event_time - entry.entry_time
    if early > TOLERATED:
        ahead_s = early.total_seconds()
        yield ClockNote(at_seq=entry.seq, device=entry.device, what="event in the future", ahead_s=ahead_s)
    if latest is not None and latest - entry.entry_time > TOLERATED:
        behind_s = (entry.entry_time - latest).total_seconds()
        yield ClockNote(at_seq=entry.seq, device="", what="store went back", ahead_s=behind_s)
