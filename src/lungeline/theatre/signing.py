"""Signing: who stands for what. A signature freezes a version; what comes later shows as later."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import get_args

from lungeline.case import Finding
from lungeline.errors import ConflictError, InputError, MissingError, RecordError
from lungeline.record import CaseState, Entry, Item, present_state
from lungeline.record.bodies import Meaning
from lungeline.theatre.cases import SIMULATED, CaseNow
from lungeline.theatre.completeness import missing
from lungeline.theatre.desk import Desk
from lungeline.theatre.people import (
    FILE,
    Person,
    check_pin,
    check_right,
    person_named,
    read_devices,
    read_people,
    same_person,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """The case as one or more signatures froze it.

    count, hash: its head. signatures: of this head, in the order of time. added: entries that came later,
    signatures and notes of clocks left out.
    """

    count: int
    hash: str
    signatures: tuple[Item, ...]
    added: tuple[Entry, ...]


def sign(  # noqa: PLR0913  what a signature consists of
    desk: Desk,
    case: str,
    *,
    role: str,
    meaning: Meaning = "signed",
    because: str = "",
    pin: str | None = None,
) -> Entry:
    """Sign a case as it is now, by the desk's person, and return the signature.

    role: of the signer in this case, such as "anaesthetist". because: why, although something is missing.
    pin: as typed by a person who has one.
    """
    listed = desk.cases.path / FILE
    people = read_people(listed)
    signer = person_named(desk.author, people)
    check_right(signer, "sign")
    check_pin(signer, pin, desk.device, read_devices(listed))
    if meaning not in get_args(Meaning):
        raise InputError(
            where="meaning", given=meaning, allowed=", ".join(get_args(Meaning)), do="Take one of these."
        )
    now = desk.cases.read(case)
    _check_may_be_signed(now, signer, meaning)
    now = _complete_or_told(desk, now, people, meaning, because)
    last = now.entries[-1]
    body = {"meaning": meaning, "role": role, "head_count_number": float(last.seq), "head_hash": last.hash}
    return desk.append(now, "signature", body)


def _check_may_be_signed(now: CaseNow, signer: Person, meaning: Meaning) -> None:
    if now.mark == SIMULATED:
        raise RecordError(
            where="signature",
            given=f"a {now.state.opening.get('purpose', 'case without opening')}",
            allowed="a real case",
            do="Leave it unsigned: nothing simulated is ever signed.",
        )
    verdict = now.store.verify(now.state.case)
    if verdict.outcome in {"changed", "cut"}:
        raise RecordError(
            where=f"case {verdict.case}",
            given=f"{verdict.outcome}: {verdict.reason} (entry {verdict.at_seq})",
            allowed="a record that is as it was acknowledged",
            do="Compare it with a backup before anybody signs.",
        )
    signed_by = [it.entry.author for it in now.state.signatures if it.body["meaning"] == "signed"]
    if meaning == "countersigned" and not any(not same_person(name, signer.name) for name in signed_by):
        raise ConflictError(
            where="signature",
            given="a countersignature",
            allowed="after a signature by somebody else",
            do="Have it signed first.",
        )


def _complete_or_told(
    desk: Desk, now: CaseNow, people: Sequence[Person], meaning: Meaning, because: str
) -> CaseNow:
    """Refuse a signature while what must be there is missing, unless it is told why; that is then noted."""
    if meaning != "signed":
        return now
    stops = [finding for finding in missing(now.state, desk.clock(), people) if finding.severity == "stop"]
    if not stops:
        return now
    codes = ", ".join(dict.fromkeys(finding.code for finding in stops))
    if not because.strip():
        raise MissingError(
            where="signature",
            given=f"a case that lacks: {codes}",
            allowed="a complete case, or the reason why not",
            do="Enter what is missing, or tell why it is signed all the same.",
        )
    desk.append(now, "note", {"text": f"Signed although incomplete ({codes}): {because.strip()}"})
    return desk.cases.read(now.state.case)


def versions(entries: Sequence[Entry]) -> tuple[Version, ...]:
    """Return the versions that signatures froze, in order."""
    state = present_state(entries)
    heads: dict[tuple[int, str], list[Item]] = {}
    for item in state.signatures:
        head = int(item.body["head_count_number"]), item.body["head_hash"]
        heads.setdefault(head, []).append(item)
    return tuple(
        Version(count=count, hash=hash_, signatures=tuple(items), added=_added(entries, count))
        for (count, hash_), items in sorted(heads.items())
    )


def as_signed(entries: Sequence[Entry], version: Version) -> CaseState:
    """Return what a case said when a version was signed."""
    return present_state(entries[: version.count])


def _added(entries: Sequence[Entry], count: int) -> tuple[Entry, ...]:
    return tuple(entry for entry in entries[count:] if entry.kind not in {"signature", "clock"})


def findings_before_signing(now: CaseNow, desk: Desk) -> tuple[Finding, ...]:
    """Return what is missing in a case, gravest first; without what only the people's file could tell."""
    try:
        people = read_people(desk.cases.path / FILE)
    except InputError:  # told by who wants to sign, and no reason not to see the case
        people = ()
    return missing(now.state, desk.clock(), people)
