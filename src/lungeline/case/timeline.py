"""The settings from change to change."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from lungeline.case.change import Change
from lungeline.case.coherence import check_settings
from lungeline.case.defaults import FOLLOWS, Circumstances, filled
from lungeline.case.settings import Settings
from lungeline.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A stretch of the case in which nobody turns a knob.

    from_min: when it begins.
    settings: what is set, complete.
    assumed_settings: which of them nobody chose.
    """

    from_min: float
    settings: Settings
    assumed_settings: tuple[str, ...]


def stretches(first: Stretch, changes: Iterable[Change], given: Circumstances) -> Iterator[Stretch]:
    """Yield each stretch in turn. Raises InputError where one is reached that cannot be set."""
    check_settings(first.settings, given, first.assumed_settings)
    yield first
    for change in changes:
        if change.settings:
            first = _after(first, change, given)
            where = f"settings after the change at {change.at_min:g} min"
            check_settings(first.settings, given, first.assumed_settings, where)
            yield first


def _after(before: Stretch, change: Change, given: Circumstances) -> Stretch:
    agent = change.settings.get("agent", before.settings.agent)
    if agent != before.settings.agent:
        raise InputError(
            where=f"settings after the change at {change.at_min:g} min.agent",
            given=agent,
            allowed=f"{before.settings.agent}, as at the start: a case knows one agent",
            do="Write vaporiser_percent = 0 to end it, and another case for another agent.",
        )
    assumed = tuple(name for name in before.assumed_settings if name not in change.settings)
    again = [name for name in assumed if FOLLOWS.get(name) in change.settings]
    settings = filled(replace(before.settings, **change.settings), again, given)
    return Stretch(from_min=change.at_min, settings=settings, assumed_settings=assumed)
