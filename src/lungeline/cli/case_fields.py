"""What can be entered into a case on the command line: an option for every field of every kind of entry."""

import argparse
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from lungeline.errors import InputError, MissingError
from lungeline.record import KINDS

if TYPE_CHECKING:
    from lungeline.case.fields import FieldDoc

_DEST = "field:"
_NOT_ENTERED = frozenset({"opening", "signature", "clock", "correction", "strike"})
_TEXT_KINDS, _TEXT = ("note", "addendum"), "text"
# measured before set: `--respiratory-rate-per-min 6` is what was read, unless --kind setting says otherwise
_ORDER = (
    "reading", "gases", "phase", "controlled", "drug", "infusion", "fluid", "event", "check", "team",
    "handover", "recovery", "outcome", "advice", "setting", "note",
)  # fmt: skip


def enterable() -> list[str]:
    """Return the kinds a person can enter."""
    return [code for code in KINDS if code not in _NOT_ENTERED]


def add_field_options(parser: argparse.ArgumentParser, kinds: Iterable[str]) -> None:
    """Add an option for every field of some kinds; ranges are checked by the record, which says more."""
    options: dict[str, list[tuple[str, FieldDoc]]] = {}
    for code in kinds:
        for key, doc in KINDS[code].docs.items():
            options.setdefault(key, []).append((code, doc))
    for key, docs in options.items():
        kinds_text = ", ".join(code for code, _ in docs)
        doc = docs[0][1]
        told = f"{kinds_text}: {doc.label}".replace("%", "%%")
        flag = f"--{key.replace('_', '-')}"
        if doc.kind == "switch":
            parser.add_argument(
                flag, dest=_DEST + key, action=argparse.BooleanOptionalAction, default=None, help=told
            )
        else:
            kind = float if doc.kind == "number" else str
            unit = (doc.unit.suffix if doc.unit else key.rpartition("_")[2]).upper()
            parser.add_argument(flag, dest=_DEST + key, type=kind, metavar=unit, help=told)
    if set(_TEXT_KINDS) & set(kinds):
        parser.add_argument("--text", dest=_DEST + _TEXT, help="note, addendum: the text")


def fields_given(args: argparse.Namespace) -> dict[str, Any]:
    """Return the fields that were given, by their keys."""
    given = vars(args).items()
    return {
        name.removeprefix(_DEST): value
        for name, value in given
        if name.startswith(_DEST) and value is not None
    }


def kind_meant(given: Mapping[str, Any]) -> str:
    """Return the kind of entry that the fields given make up. Raises InputError where there is none.

    >>> kind_meant({"map_mmhg": 72.0}), kind_meant({"drug": "ketamine", "amount_mg": 1100.0})
    ('reading', 'drug')
    """
    if not given:
        raise MissingError(
            where="case enter", given="nothing", allowed="what happened", do="See case enter --help."
        )
    for code in _ORDER:
        docs = KINDS[code].docs
        known = {_TEXT} if code == "note" else {*docs, *(("reason",) if code == "setting" else ())}
        required = {key for key, doc in docs.items() if doc.required}
        if given.keys() <= known and required <= given.keys():
            return code
    raise InputError(
        where="case enter",
        given=", ".join(sorted(given)),
        allowed="fields that make up one entry: " + "; ".join(map(_told, _ORDER)),
        do="Name the kind with --kind, and enter what is of another kind by itself.",
    )


def _told(code: str) -> str:
    required = [key for key, doc in KINDS[code].docs.items() if doc.required]
    return f"{code} ({', '.join(required)})" if required else code
