"""Figure: a number that knows its unit, range, basis and where it was published. Source: where that is."""

import math
from dataclasses import dataclass
from typing import Literal, get_args

from lungeline.errors import InputError
from lungeline.units import UNITS

Basis = Literal["measured", "consensus", "derived", "fitted", "memory", "assumption"]
Seen = Literal["full text", "abstract", "second-hand", "computed", "memory", "not applicable"]


def _refuse(where: str, given: object, allowed: str) -> InputError:
    return InputError(where=where, given=given, allowed=allowed, do="Correct the figure where it is written.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One published (or unpublished) place a figure comes from.

    key: short name, such as "tucker2022"; citation: authors, journal, year, identifier.
    """

    key: str
    citation: str
    identifier: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number that can be asked: what unit, how sure, from where.

    value, low, high: in `unit` (a suffix of `units.UNITS`); low and high are the plausible range or
    published spread, equal to value where none is known. source: key of a Source; place: where in it.
    """

    name: str
    value: float
    unit: str
    low: float
    high: float
    basis: Basis
    source: str
    place: str = ""
    seen: Seen = "memory"
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse a figure that could not be trusted: no unit, no source, an impossible range."""
        if self.unit not in UNITS:
            raise _refuse(f"{self.name}.unit", self.unit, "a suffix of the units table")
        if self.basis not in get_args(Basis):
            raise _refuse(f"{self.name}.basis", self.basis, ", ".join(get_args(Basis)))
        if self.seen not in get_args(Seen):
            raise _refuse(f"{self.name}.seen", self.seen, ", ".join(get_args(Seen)))
        if not self.source:
            raise _refuse(f"{self.name}.source", self.source, "the key of a source")
        numbers = (self.low, self.value, self.high)
        if not all(map(math.isfinite, numbers)) or not self.low <= self.value <= self.high:
            raise _refuse(self.name, numbers, "finite numbers with low <= value <= high")

    @property
    def rests_on_memory(self) -> bool:
        """Whether nobody has seen this figure in its source."""
        return self.basis == "memory" or self.seen == "memory"

    def as_json(self) -> dict[str, str | float]:
        """Return the figure as a plain object."""
        return {
            "name": self.name,
            "value": self.value,
            "unit": self.unit,
            "low": self.low,
            "high": self.high,
            "basis": self.basis,
            "source": self.source,
            "place": self.place,
            "seen": self.seen,
            "note": self.note,
        }
