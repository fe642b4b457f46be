"""The content of an entry as a line of text: its fields by their labels, with units."""

from collections.abc import Mapping
from typing import Any

from lungeline.record import KINDS
from lungeline.units import unit_of
from lungeline.words.say import number_text

_SWITCHES_SAID_APART = frozenset({"estimated", "artefact"})
_SPEAK_FOR_THEMSELVES = frozenset({"drug", "what", "item", "detail", "text"})


def entry_text(kind: str, body: Mapping[str, Any]) -> str:
    """Return the content of an entry of a kind, fields in the order of the kind.

    >>> entry_text("reading", {"map_mmhg": 72.0, "etco2_mmhg": 41.0})
    'mean arterial pressure 72 mmHg, end-tidal carbon dioxide 41 mmHg'
    >>> entry_text("note", {"text": "washed"})
    'washed'
    """
    if kind == "plan":
        return f"plan for a {body['case']['animal']['species']}, {len(body.get('doses', ()))} doses"
    if kind in {"note", "addendum"}:
        return str(body["text"])
    if kind == "correction":
        return f"{body['reason']}: {entry_text(str(body['kind']), body['body'])}"
    if kind in {"machine", "machine_check"}:
        return str(body.get("name") or body["schema"])
    docs = KINDS[kind].docs
    order = {key: place for place, key in enumerate(docs)}
    fields = sorted(body.items(), key=lambda field: order.get(field[0], len(order)))
    told = [_field(_label(kind, key), key, value) for key, value in fields if _is_told(key, value)]
    return ", ".join(told)


def label_of(kind: str, key: str) -> str:
    """Return what a person calls a field of a kind, without its unit."""
    docs = KINDS[kind].docs
    if key in docs and docs[key].label:
        return docs[key].label
    unit = unit_of(key)
    return (key.removesuffix(f"_{unit.suffix}") if unit else key).replace("_", " ")


def _label(kind: str, key: str) -> str:
    """Return the label of a field, nothing where its value says enough."""
    doc = KINDS[kind].docs.get(key)
    speaks = key in _SPEAK_FOR_THEMSELVES or (doc is not None and doc.kind == "choice")
    return "" if speaks else label_of(kind, key)


def _is_told(key: str, value: object) -> bool:
    return value is not False and key not in _SWITCHES_SAID_APART


def _field(label: str, key: str, value: object) -> str:
    if value is True:
        return label
    if isinstance(value, int | float):
        return f"{label} {number_text(key, float(value))}"
    return f"{label} {value}" if label else str(value)
