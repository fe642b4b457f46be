"""The content of an entry as a line of text: its fields by their labels, with units."""

from collections.abc import Callable, Mapping
from typing import Any

from lungeline.record import KINDS
from lungeline.units import unit_of
from lungeline.words.labels import labelled
from lungeline.words.say import number_text

Number = Callable[[str, float], str]

_SWITCHES_SAID_APART = frozenset({"estimated", "artefact"})
_FOR_PROOF_ONLY = frozenset({"log_entry", "log_hash"})
_SPEAK_FOR_THEMSELVES = frozenset({"drug", "what", "item", "detail", "text"})


def entry_text(kind: str, body: Mapping[str, Any], language: str = "en", number: Number | None = None) -> str:
    """Return the content of an entry of a kind, fields in the order of the kind.

    number: how a person reads a number of a name; as it is stored where not given.

    >>> entry_text("reading", {"map_mmhg": 72.0, "etco2_mmhg": 41.0})
    'mean arterial pressure 72 mmHg, end-tidal carbon dioxide 41 mmHg'
    >>> entry_text("reading", {"map_mmhg": 72.5}, "de")
    'mittlerer arterieller Druck 72,5 mmHg'
    >>> entry_text("note", {"text": "washed"})
    'washed'
    """
    if kind == "plan":
        species = labelled(body["case"]["animal"]["species"], language)
        pattern = labelled("plan for a {species}, {count} doses", language)
        return pattern.format(species=species, count=len(body.get("doses", ())))
    if kind in {"note", "addendum"}:
        return str(body["text"])
    if kind == "correction":
        return f"{body['reason']}: {entry_text(str(body['kind']), body['body'], language, number)}"
    if kind in {"machine", "machine_check"}:
        return str(body.get("name") or body["schema"])
    return ", ".join(_said(kind, key, value, language, number) for key, value in _in_order(kind, body))


def entry_fields(
    kind: str, body: Mapping[str, Any], language: str = "en", number: Number | None = None
) -> list[tuple[str, str]]:
    """Return the content of an entry of a kind as labels and values.

    >>> entry_fields("phase", {"phase": "wean"}, "de")
    [('Abschnitt', 'Entwöhnung')]
    """
    if not KINDS[kind].docs:
        return [(labelled(KINDS[kind].label, language), entry_text(kind, body, language, number))]
    return [
        (label_of(kind, key, language), value_text(kind, key, value, language, number))
        for key, value in _in_order(kind, body)
    ]


def label_of(kind: str, key: str, language: str = "en") -> str:
    """Return what a person calls a field of a kind, without its unit."""
    docs = KINDS[kind].docs
    if key in docs and docs[key].label:
        return labelled(docs[key].label, language)
    unit = unit_of(key)
    return (key.removesuffix(f"_{unit.suffix}") if unit else key).replace("_", " ")


def value_text(kind: str, key: str, value: object, language: str = "en", number: Number | None = None) -> str:
    """Return a value of a field as a person reads it."""
    if isinstance(value, bool):
        return number_text(key, value, language)
    if isinstance(value, int | float):
        return number(key, float(value)) if number else number_text(key, float(value), language)
    doc = KINDS[kind].docs.get(key)
    return labelled(str(value), language) if doc is not None and doc.kind == "choice" else str(value)


def _in_order(kind: str, body: Mapping[str, Any]) -> list[tuple[str, Any]]:
    order = {key: place for place, key in enumerate(KINDS[kind].docs)}
    fields = sorted(body.items(), key=lambda field: order.get(field[0], len(order)))
    return [(key, value) for key, value in fields if _is_told(key, value)]


def _said(kind: str, key: str, value: object, language: str, number: Number | None) -> str:
    """Return a field: label and value, the value alone where it says enough, the label alone for a yes."""
    doc = KINDS[kind].docs.get(key)
    text = value_text(kind, key, value, language, number)
    if key in _SPEAK_FOR_THEMSELVES or (doc is not None and doc.kind == "choice"):
        return text
    label = label_of(kind, key, language)
    return label if value is True else f"{label} {text}"


def _is_told(key: str, value: object) -> bool:
    return value is not False and key not in _SWITCHES_SAID_APART | _FOR_PROOF_ONLY
