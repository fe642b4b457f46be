"""What may follow what: an opening first, amendments that lead somewhere, signatures that fit their head."""

from typing import Protocol

from lungeline.errors import ConflictError, InputError, MissingError, RecordError, UnknownNameError
from lungeline.record.entry import Draft, Entry
from lungeline.record.kinds import kind_of

_BEGINS = frozenset({"opening", "machine"})
_OF_MACHINES = frozenset({"machine", "machine_check", "retired"})
_OF_BOTH = frozenset({"correction", "strike", "note", "clock", "signature"})
_NEVER_AMENDED = frozenset({"signature", "clock"})


class Kept(Protocol):
    """What the rules must be able to look up in the case an entry goes to."""

    def last(self) -> Entry | None:
        """Return the last entry."""

    def by_seq(self, seq: int) -> Entry | None:
        """Return the entry of a place."""

    def by_uid(self, uid: str) -> Entry | None:
        """Return the entry with a uid, of whatever case."""

    def last_count(self, device: str) -> int:
        """Return the highest count a device has used in this case, 0 where it has none."""

    def by_count(self, device: str, device_seq: int) -> Entry | None:
        """Return the entry to which a device gave a count."""


def check_place(draft: Draft, kept: Kept) -> None:
    """Refuse an entry that does not fit the case it is meant for."""
    opening = kept.by_seq(1)
    if opening is None and draft.kind not in _BEGINS:
        raise UnknownNameError(
            where="entry.case", given=draft.case, allowed="a case that was opened", do="Open the case first."
        )
    _check_belongs(draft, opening)
    if opening is not None and draft.kind == "opening":
        raise ConflictError(
            where="entry.case",
            given=draft.case,
            allowed="one opening for a case",
            do="Correct the opening that is there, or open another case.",
        )
    if kind_of(draft.kind).amends:
        _check_amendment(draft, kept)
    elif draft.corrects is not None:
        raise InputError(
            where="entry.corrects",
            given=draft.corrects,
            allowed="only with the kinds correction and strike",
            do="Leave it out, or send a correction.",
        )
    if draft.kind == "signature" and opening is not None:
        _check_signature(draft, opening, kept)


def _check_belongs(draft: Draft, first: Entry | None) -> None:
    """Refuse what is about an animal in the log of a machine, and the other way round."""
    of_machine = (first.kind if first is not None else draft.kind) == "machine"
    if (draft.kind in _OF_MACHINES) != of_machine and draft.kind not in _OF_BOTH:
        raise RecordError(
            where="entry.kind",
            given=draft.kind,
            allowed="what is about equipment, in the log of a machine"
            if of_machine
            else "what is about a case",
            do="Enter it where it belongs.",
        )


def _check_amendment(draft: Draft, kept: Kept) -> None:
    if draft.corrects is None:
        raise MissingError(
            where="entry.corrects",
            given=None,
            allowed="uid of the entry that is meant",
            do="Say which entry is to be corrected or struck out.",
        )
    target = kept.by_uid(draft.corrects)
    if target is None or target.case != draft.case:
        raise UnknownNameError(
            where="entry.corrects",
            given=draft.corrects,
            allowed="uid of an entry of this case",
            do="Send the entry itself first, or correct the uid.",
        )
    root = _root(target, kept)
    correcting = draft.kind == "correction"
    whole_case = root.kind == "opening" and target.kind == "opening" and not correcting
    if root.kind in _NEVER_AMENDED or whole_case or (correcting and target.kind == "strike"):
        raise RecordError(
            where="entry.corrects",
            given=f"a {target.kind} (entry {target.seq})",
            allowed="an entry of content; a strike-out can be struck out, an opening corrected",
            do="Add a note or an addendum that says what is wrong.",
        )
    if correcting:
        _check_opening_stays(draft, root)


def _root(entry: Entry, kept: Kept) -> Entry:
    while entry.corrects is not None:
        target = kept.by_uid(entry.corrects)
        if target is None or target.seq >= entry.seq:  # nothing our writer would have let in
            return entry
        entry = target
    return entry


def _check_opening_stays(draft: Draft, root: Entry) -> None:
    """Refuse a correction that makes or unmakes an opening, or a rehearsal real."""
    opens, opened = draft.body["kind"] == "opening", root.kind == "opening"
    right = draft.body["body"]
    if opens != opened or (opened and right["purpose"] != root.body["purpose"]):
        raise RecordError(
            where="correction",
            given=f"{draft.body['kind']} for {root.kind}",
            allowed="an opening for an opening, with the same purpose",
            do="Open another case: real, rehearsal and demo never change into each other.",
        )


def _check_signature(draft: Draft, opening: Entry, kept: Kept) -> None:
    if opening.kind == "opening" and opening.body["purpose"] != "real":
        raise RecordError(
            where="signature",
            given=f"a {opening.body['purpose']}",
            allowed="a real case, or the log of equipment",
            do="Leave it unsigned: nothing simulated is ever signed.",
        )
    count = draft.body["head_count_number"]
    signed = kept.by_seq(int(count))
    if count != int(count) or signed is None or signed.hash != draft.body["head_hash"]:
        raise ConflictError(
            where="signature",
            given=f"a head at entry {count:g} that is not this case's",
            allowed="count and hash of an entry of this case",
            do="Read the case again and sign what is there.",
        )
