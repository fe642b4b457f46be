"""The parts of an anaesthetic, and which may follow which."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from lungeline.errors import ConflictError
from lungeline.record import CaseState, Item

# begun late is begun at the part that goes on; an animal that will not wean is maintained again
NEXT: Mapping[str, frozenset[str]] = {
    "": frozenset({"prepare", "induce", "maintain"}),
    "prepare": frozenset({"induce", "closed"}),
    "induce": frozenset({"maintain", "wean", "recover", "closed"}),
    "maintain": frozenset({"wean", "recover", "closed"}),
    "wean": frozenset({"maintain", "recover", "closed"}),
    "recover": frozenset({"induce", "maintain", "closed"}),
    "closed": frozenset(),
}


def phases_begun(state: CaseState) -> tuple[Item, ...]:
    """Return the beginnings of parts that stand, by time."""
    return tuple(item for item in state.items if item.kind == "phase" and not item.struck)


def check_phase(state: CaseState, phase: str, moment: datetime, instead_of: Item | None = None) -> None:
    """Refuse a part that may not stand between those before and after its time.

    instead_of: the beginning it corrects.
    """
    others = [item for item in phases_begun(state) if item is not instead_of]
    before = _last(others, moment)
    after = next((str(item.body["phase"]) for item in others if item.event_time > moment), None)
    if phase not in NEXT[before]:
        raise _refused(phase, before, NEXT[before])
    if after is not None and after not in NEXT[phase]:
        raise _refused(after, phase, NEXT[phase])


def _last(items: Sequence[Item], moment: datetime) -> str:
    before = [item for item in items if item.event_time <= moment]
    return str(before[-1].body["phase"]) if before else ""


def _refused(phase: str, before: str, allowed: frozenset[str]) -> ConflictError:
    return ConflictError(
        where="phase",
        given=f"{phase} after {before or 'the opening'}",
        allowed=", ".join(sorted(allowed)) or "nothing: the case is closed",
        do="Begin one of these, say when it was, or strike out the part that was entered by mistake.",
    )
