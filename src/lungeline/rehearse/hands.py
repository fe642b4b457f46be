"""What a trainer can do to a rehearsal: each checked before anything changes."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from lungeline.case.checks import checked_value
from lungeline.case.fields import described
from lungeline.case.settings import Settings
from lungeline.errors import MissingError, OutOfRangeError, UnknownNameError
from lungeline.simulate.faults import FAULTS

Hand = Literal["fault", "set", "hide", "freeze", "show", "say", "note", "mark"]
HANDS: tuple[Hand, ...] = get_args(Hand)
# non-technical skills as anaesthetists are rated in them: Fletcher et al. 2003, Br J Anaesth 90:580
BEHAVIOURS = ("task management", "team working", "situation awareness", "decision making")
_LEAST_RATING, _MOST_RATING = 1, 5
_MOST_TEXT = 500
_LONGEST_MIN = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """Something the trainer did: when [s since the learner took over], what, with what."""

    at_s: float
    hand: Hand
    given: Mapping[str, Any] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return {"at_s": self.at_s, "hand": self.hand, "with": dict(self.given)}


def checked_hand(what: str, given: Mapping[str, Any], instruments: Collection[str]) -> dict[str, Any]:
    """Return what is given with a trainer's act as it is used; raises InputError for what cannot be done."""
    if what not in HANDS:
        raise UnknownNameError.nearest(where="trainer", given=what, valid=HANDS)
    unknown = set(given) - _TAKES[what][0]
    if unknown:
        raise UnknownNameError.nearest(where=f"trainer {what}", given=min(unknown), valid=_TAKES[what][0])
    return _TAKES[what][1](given, instruments)


def _fault(given: Mapping[str, Any], _: Collection[str]) -> dict[str, Any]:
    return {
        "code": _among("trainer fault", given.get("code"), FAULTS),
        "severity": _number("severity", given.get("severity", 1.0), 0.0, 1.0),
        "over_min": _number("over_min", given.get("over_min", 0.0), 0.0, _LONGEST_MIN),
    }


def _set(given: Mapping[str, Any], _: Collection[str]) -> dict[str, Any]:
    docs = described(Settings)
    if not given:
        raise MissingError(where="trainer set", given="nothing", allowed=", ".join(docs), do="Give one.")
    return {key: checked_value(docs[key], value, f"set.{key}") for key, value in given.items()}


def _instrument(given: Mapping[str, Any], instruments: Collection[str]) -> dict[str, Any]:
    return {"key": _among("instrument", given.get("key"), instruments)}


def _text(given: Mapping[str, Any], _: Collection[str]) -> dict[str, Any]:
    text = str(given.get("text", "")).strip()
    if not 0 < len(text) <= _MOST_TEXT:
        raise OutOfRangeError(
            where="text", given=f"{len(text)} letters", allowed=f"1 to {_MOST_TEXT}", do="Say it shorter."
        )
    return {"text": text}


def _mark(given: Mapping[str, Any], _: Collection[str]) -> dict[str, Any]:
    rating = _number("rating", given.get("rating"), _LEAST_RATING, _MOST_RATING)
    return {"behaviour": _among("behaviour", given.get("behaviour"), BEHAVIOURS), "rating": round(rating)}


def _among(where: str, given: object, valid: Collection[str]) -> str:
    if given not in valid:
        raise UnknownNameError.nearest(where=where, given=str(given), valid=valid)
    return str(given)


def _number(where: str, given: object, low: float, high: float) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float) or not low <= given <= high:
        raise OutOfRangeError(
            where=f"trainer {where}", given=given, allowed=f"{low:g} to {high:g}", do="Give such a number."
        )
    return float(given)


_Check = Callable[[Mapping[str, Any], Collection[str]], dict[str, Any]]
_TAKES: Mapping[str, tuple[frozenset[str], _Check]] = {
    "fault": (frozenset({"code", "severity", "over_min"}), _fault),
    "set": (frozenset(described(Settings)), _set),
    "hide": (frozenset({"key"}), _instrument),
    "freeze": (frozenset({"key"}), _instrument),
    "show": (frozenset({"key"}), _instrument),
    "say": (frozenset({"text"}), _text),
    "note": (frozenset({"text"}), _text),
    "mark": (frozenset({"behaviour", "rating"}), _mark),
}
