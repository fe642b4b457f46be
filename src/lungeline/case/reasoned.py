"""A number that can be asked why: what it was worked out from, by what formula, on whose word."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from lungeline.errors import InputError
from lungeline.figure import Basis, Figure
from lungeline.units import unit_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Reasoned:
    """One number of a plan with its reason.

    name: dotted, the unit at its end, such as "supplies.oxygen_minutes".
    value: None where it cannot be told; then `note` says why.
    low, high: where the number may lie, None where no spread is known.
    formula: the rule in words and signs, as a person would write it: "content ÷ flow".
    inputs: what went in, by names that carry their unit.
    basis: how sure, the weakest of what went in.
    sources: keys of sources; "profile" for what the clinic chose, "case" for what was given.
    note: what else one must know.
    """

    name: str
    value: float | None
    formula: str
    inputs: Mapping[str, float | str | None] = field(default_factory=dict)
    low: float | None = None
    high: float | None = None
    basis: Basis = "derived"
    sources: tuple[str, ...] = ()
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse a number without unit, or without a reason."""
        if unit_of(self.name) is None:
            raise InputError(
                where=self.name, given=self.name, allowed="a name that ends in a unit", do="Add the unit."
            )
        if not self.formula or not self.sources:
            raise InputError(
                where=self.name, given="no formula or source", allowed="both", do="Say where it comes from."
            )

    @property
    def unit(self) -> str:
        """Suffix of the unit the name carries."""
        unit = unit_of(self.name)
        return unit.suffix if unit else ""

    def as_json(self) -> dict[str, Any]:
        """Return the number as it stands in a plan: value and spread; its reason is asked for apart."""
        return {"value": self.value, "low": self.low, "high": self.high}

    def why(self) -> dict[str, Any]:
        """Return the number with everything that led to it."""
        return {
            "name": self.name,
            **self.as_json(),
            "unit": self.unit,
            "formula": self.formula,
            "inputs": dict(self.inputs),
            "basis": self.basis,
            "sources": list(self.sources),
            "note": self.note,
        }


def from_figure(name: str, figure: Figure, factor: float = 1.0, *, formula: str = "") -> Reasoned:
    """Return a published figure, times a factor, as a number of a plan."""
    return Reasoned(
        name=name,
        value=figure.value * factor,
        low=figure.low * factor,
        high=figure.high * factor,
        formula=formula or "as published",
        inputs={figure.name: figure.value},
        basis=figure.basis,
        sources=(figure.source,),
        note=figure.note,
    )
