"""Whether a record is what was acknowledged: intact, changed and where, cut, or not to be told."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from lungeline.errors import LungelineError
from lungeline.record.chain import GENESIS, Head, is_sealed
from lungeline.record.entry import Entry, entry_from_line
from lungeline.record.key import Key

Outcome = Literal["intact", "changed", "cut", "unverifiable"]
Reason = Literal[
    "",
    "unreadable",
    "out of order",
    "another case",
    "broken link",
    "wrong hash",
    "not the head",
    "entries missing",
    "no key",
    "another key",
    "no head",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What a check of one case found.

    outcome: "intact" only where key and head prove it.
    case: id of the case.
    count: entries found.
    proven_count: entries up to the newest head; those after it are whole, but a loss of the very last
        would not show.
    at_seq: the first entry that does not fit, or the first that is missing.
    reason: why, empty where intact.
    """

    outcome: Outcome
    case: str
    count: int
    proven_count: int = 0
    at_seq: int | None = None
    reason: Reason = ""


def verify(case: str, lines: Iterable[str], key: Key | None, heads: Sequence[Head]) -> Verdict:
    """Check a case from its lines in order, its key and whatever heads of it were kept.

    Damage that shows without a key is told without one; "intact" never is.
    """
    own = [head for head in heads if head.case == case]
    ours = sorted((it for it in own if key and it.key_id == key.id), key=lambda head: head.count)
    # heads of other keys only: the hashes are another key's too, and tell nothing under this one
    foreign = bool(own) and not ours
    walked = _walk(case, lines, None if foreign else key)
    if walked.outcome == "changed":
        return walked.verdict("changed", walked.reason, at_seq=walked.at_seq)
    if key is None or foreign:
        return walked.verdict("unverifiable", "another key" if key else "no key")
    return _against_heads(walked, ours) if ours else walked.verdict("unverifiable", "no head")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Walked(Verdict):
    """A walk along the chain, with the hashes it met."""

    hashes: tuple[str, ...] = ()

    def verdict(
        self, outcome: Outcome, reason: Reason, *, at_seq: int | None = None, proven_count: int = 0
    ) -> Verdict:
        """Return what is to be told of this walk."""
        return Verdict(
            outcome=outcome,
            case=self.case,
            count=self.count,
            proven_count=proven_count,
            at_seq=at_seq,
            reason=reason,
        )


def _walk(case: str, lines: Iterable[str], key: Key | None) -> _Walked:
    hashes: list[str] = []
    misfit: Reason = ""
    at_seq: int | None = None
    prev = GENESIS
    for seq, line in enumerate(lines, start=1):
        entry = _entry(line)
        reason = _misfit(entry, case, seq, prev, key)
        if reason and not misfit:
            misfit, at_seq = reason, seq
        prev = entry.hash if entry else ""
        hashes.append(prev)
    return _Walked(
        outcome="changed" if misfit else "intact",
        case=case,
        count=len(hashes),
        at_seq=at_seq,
        reason=misfit,
        hashes=tuple(hashes),
    )


def _entry(line: str) -> Entry | None:
    try:
        return entry_from_line(line)
    except LungelineError:
        return None


def _misfit(entry: Entry | None, case: str, seq: int, prev: str, key: Key | None) -> Reason:
    if entry is None:
        return "unreadable"
    if entry.case != case:
        return "another case"
    if entry.seq != seq:
        return "out of order"
    if entry.prev != prev:
        return "broken link"
    return "" if key is None or is_sealed(entry, key) else "wrong hash"


def _against_heads(walked: _Walked, heads: Sequence[Head]) -> Verdict:
    for head in heads:
        if head.count > walked.count:
            return walked.verdict("cut", "entries missing", at_seq=walked.count + 1)
        if head.count < 1 or walked.hashes[head.count - 1] != head.hash:
            return walked.verdict("changed", "not the head", at_seq=head.count)
    return walked.verdict("intact", "", proven_count=heads[-1].count)
