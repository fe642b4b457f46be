"""How a draft becomes an entry: once for each uid, with the note its device's clock may call for."""

from dataclasses import replace
from datetime import datetime

from lungeline.errors import ConflictError
from lungeline.record.chain import GENESIS, sealed
from lungeline.record.clocks import clock_device, clock_draft
from lungeline.record.entry import Draft, Entry
from lungeline.record.key import Key
from lungeline.record.kinds import checked_body
from lungeline.record.rules import Kept, check_place


def entered(draft: Draft, kept: Kept, now: datetime, key: Key) -> tuple[Entry, tuple[Entry, ...]]:
    """Return the entry of a draft, and what is new: nothing where it had been entered before.

    Raises InputError, RecordError or ConflictError where it may not stand there.
    """
    there = kept.by_uid(draft.uid)
    if there is not None:
        return _same(draft, there), ()
    checked = replace(draft, body=checked_body(draft.kind, draft.body))
    check_place(checked, kept)
    entry = _next(checked, kept.last(), _count(checked, kept), now, key)
    noted = kept.by_count(device := clock_device(draft.device), kept.last_count(device) or 1)
    note = clock_draft(draft, now, noted.body["ahead_s"] if noted else None)
    if note is None:
        return entry, (entry,)
    return entry, (entry, _next(note, entry, kept.last_count(device) + 1, now, key))


def _next(draft: Draft, last: Entry | None, device_seq: int, now: datetime, key: Key) -> Entry:
    entry = Entry(
        uid=draft.uid,
        case=draft.case,
        seq=last.seq + 1 if last else 1,
        kind=draft.kind,
        event_time=draft.event_time,
        entry_time=now,
        author=draft.author,
        device=draft.device,
        device_seq=device_seq,
        body=draft.body,
        corrects=draft.corrects,
        prev=last.hash if last else GENESIS,
    )
    return sealed(entry, key)


def _same(draft: Draft, there: Entry) -> Entry:
    # what was entered went through its kind's check, so the draft must too before they are compared
    checked = replace(draft, body=checked_body(draft.kind, draft.body))
    if checked.says_the_same_as(there):
        return there
    raise ConflictError(
        where="entry.uid",
        given=draft.uid,
        allowed="a new uid for new content; the same draft may be sent again",
        do=f"It is entry {there.seq} of case {there.case}: send a correction under a new uid.",
    )


def _count(draft: Draft, kept: Kept) -> int:
    if draft.device_seq is None:
        return kept.last_count(draft.device) + 1
    there = kept.by_count(draft.device, draft.device_seq)
    if there is None:
        return draft.device_seq
    raise ConflictError(
        where="entry.device_seq",
        given=f"{draft.device_seq} of {draft.device}, which is entry {there.seq}",
        allowed="each count of a device once",
        do="Give each device a name of its own, and count on.",
    )
