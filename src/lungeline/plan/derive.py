"""Numbers worked out from figures and other numbers: they keep what went in, and are no surer than it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, cast

from lungeline.case import Reasoned
from lungeline.figure import Basis, Figure

# Surest first. What was worked out is at best derived, whatever went in.
_SUREST_FIRST: tuple[Basis, ...] = ("measured", "consensus", "derived", "fitted", "assumption", "memory")
_AT_BEST: Basis = "derived"

Part = Figure | Reasoned


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why a number is what it is: the rule, and what went in.

    formula: the rule as a person would write it. parts: figures and numbers that went in.
    given: what else went in, by names that carry their unit. sources: of what was given.
    """

    formula: str
    parts: tuple[Part, ...] = ()
    given: Mapping[str, float | str | None] | None = None
    sources: tuple[str, ...] = ()
    note: str = ""

    @property
    def basis(self) -> Basis:
        """The weakest basis of what went in."""
        return max((_AT_BEST, *(part.basis for part in self.parts)), key=_SUREST_FIRST.index)

    def all_sources(self) -> tuple[str, ...]:
        """Return every source once, in the order of what went in."""
        found: list[str] = []
        for part in self.parts:
            found.extend((part.source,) if isinstance(part, Figure) else part.sources)
        found.extend(self.sources)
        return tuple(dict.fromkeys(found))

    def inputs(self) -> dict[str, float | str | None]:
        """Return what went in, by name."""
        return {**{part.name: part.value for part in self.parts}, **(self.given or {})}


def derived(
    name: str,
    value: float | None,
    reason: Reason,
    *,
    low: float | None = None,
    high: float | None = None,
) -> Reasoned:
    """Return a number with its reason; low and high where its spread is known."""
    return Reasoned(
        name=name,
        value=value,
        low=low,
        high=high,
        formula=reason.formula,
        inputs=reason.inputs(),
        basis=reason.basis,
        sources=reason.all_sources(),
        note=reason.note,
    )


def number(reasoned: Reasoned) -> float:
    """Return the value of a number that always has one."""
    return cast("float", reasoned.value)


def by_last_name(numbers: Iterable[Reasoned]) -> dict[str, Any]:
    """Return numbers as they stand in a plan, by the last part of their names."""
    return {each.name.rpartition(".")[2]: each.as_json() for each in numbers}
