"""A story of the demonstration: a case file, whose record it is, and what is told beside the readings."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lungeline.case import Case, Change, FaultEvent, case_from_json
from lungeline.case.json_form import SCHEMA

_STORY = ("opening", "author", "began_min_ago", "minutes", "seed", "gases_at_min", "told")


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Something that happens besides what is measured."""

    at_min: float
    kind: str
    body: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """A case of the demonstration.

    case: animal and equipment, without what the story changes or breaks.
    began_min_ago: how long before now the animal was connected [min].
    minutes: how long it is ventilated [min].
    gases_at_min: when blood is drawn [min].
    """

    case: Case
    changes: tuple[Change, ...]
    faults: tuple[FaultEvent, ...]
    opening: Mapping[str, Any]
    author: str
    began_min_ago: float
    minutes: float
    seed: int
    gases_at_min: tuple[float, ...]
    told: tuple[Told, ...]


def read_story(text: str) -> Story:
    """Return the story of a file."""
    table = tomllib.loads(text)
    own = {name: table.pop(name) for name in _STORY}
    table["schema"] = SCHEMA
    whole = case_from_json(table)
    told = tuple(Told(at_min=row.pop("at_min"), kind=row.pop("kind"), body=row) for row in own.pop("told"))
    bare = case_from_json({key: part for key, part in table.items() if key not in {"changes", "faults"}})
    return Story(
        case=bare,
        changes=whole.changes,
        faults=whole.faults,
        told=told,
        gases_at_min=tuple(own.pop("gases_at_min")),
        **own,
    )
