"""How a field of a case is described, once: what kind it is, its allowed range, how it is called.

The description stands in the field's metadata; checking, messages and the glossary all read it there.
"""

from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass, fields
from typing import Any, Literal

from lungeline.units import Unit, unit_of

_UNSAID = {"1", "multiple", "ratio"}  # labels that add nothing behind a number
Kind = Literal["number", "numbers", "choice", "switch", "text"]


def number(low: float, high: float, label: str) -> dict[str, Any]:
    """Describe a number; low and high are the bounds of what is possible, in the unit of the field's name."""
    return {"kind": "number", "low": low, "high": high, "label": label}


def numbers(low: float, high: float, label: str, most: int) -> dict[str, Any]:
    """Describe a list of one to `most` numbers."""
    return {"kind": "numbers", "low": low, "high": high, "label": label, "most": most}


def choice(options: tuple[str, ...], label: str) -> dict[str, Any]:
    """Describe one word out of a few."""
    return {"kind": "choice", "choices": options, "label": label}


def switch(label: str) -> dict[str, Any]:
    """Describe a yes or no."""
    return {"kind": "switch", "label": label}


def text(longest: int, label: str) -> dict[str, Any]:
    """Describe a line of free text of at most `longest` characters."""
    return {"kind": "text", "most": longest, "label": label}


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldDoc:
    """What is known of one field. `key` is its name in files; `required` means it has no default."""

    name: str
    key: str
    kind: Kind
    label: str
    unit: Unit | None
    low: float | None
    high: float | None
    choices: tuple[str, ...]
    most: int
    required: bool
    may_be_none: bool

    @property
    def allowed(self) -> str:
        """What may be written, in words."""
        if self.kind == "choice":
            return ", ".join(self.choices)
        if self.kind == "switch":
            return "true or false"
        if self.kind == "text":
            return f"one line of text, at most {self.most} characters"
        span = f"{self.low:g} to {self.high:g}{self.unit_text}"
        return f"a number from {span}" if self.kind == "number" else f"1 to {self.most} numbers from {span}"

    @property
    def unit_text(self) -> str:
        """The unit as it follows a number, with its space; nothing where the number has none."""
        return f" {self.unit.label}" if self.unit and self.unit.label not in _UNSAID else ""


_DESCRIBED: dict[type, Mapping[str, FieldDoc]] = {}


def described(record: type) -> Mapping[str, FieldDoc]:
    """Return the described fields of a record by their key in files."""
    if record not in _DESCRIBED:
        docs = (_doc(field) for field in fields(record) if "kind" in field.metadata)
        _DESCRIBED[record] = {doc.key: doc for doc in docs}
    return _DESCRIBED[record]


def _doc(field: "Field[Any]") -> FieldDoc:
    told = field.metadata
    return FieldDoc(
        name=field.name,
        key=told.get("key", field.name),
        kind=told["kind"],
        label=told["label"],
        unit=unit_of(field.name) if told["kind"] in {"number", "numbers"} else None,
        low=told.get("low"),
        high=told.get("high"),
        choices=told.get("choices", ()),
        most=told.get("most", 0),
        required=field.default is MISSING and field.default_factory is MISSING,
        may_be_none=field.default is None,
    )
