"""A guided check as lines of JSON: the first says by what list, form and machine, each other is an answer.

Whoever keeps it adds a line for each answer, so that nothing answered is lost when the program is killed.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from lungeline.check.checklist import Form
from lungeline.check.checklist_file import checklist_from_tables
from lungeline.check.limits import LeakLimits
from lungeline.check.walk import SCHEMA, Answer, Walk
from lungeline.errors import InputError


def forms_offered(past: Iterable[Walk], machine: str, now: str) -> tuple[Form, ...]:
    """Return the forms on offer: the short one only after a full one of this machine today, gone well.

    One in which a step was skipped that means stop when it fails was not full.
    """
    today = datetime.fromisoformat(now).date()
    full = any(
        walk.form == "full"
        and walk.machine == machine
        and walk.finished
        and walk.verdict != "stop"
        and not walk.left_out
        and datetime.fromisoformat(walk.answers[-1].at).date() == today
        for walk in past
        if walk.answers
    )
    return ("full", "short", "after") if full else ("full", "after")


def head_line(walk: Walk) -> str:
    """Return the first line of a walk's file."""
    return json.dumps(walk.head(), ensure_ascii=False)


def answer_line(answer: Answer) -> str:
    """Return the line of one answer."""
    return json.dumps(answer.as_json(), ensure_ascii=False)


def walk_from_lines(lines: Sequence[str]) -> Walk:
    """Return the walk written in lines. A last line that was not written to its end is left out.

    Raises InputError where the first line is not that of a walk, or a line between is damaged.
    """
    head = _object(lines[0]) if lines else None
    if head is None or head.get("schema") != SCHEMA:
        raise InputError(
            where="check file",
            given=lines[0][:40] if lines else "nothing",
            allowed=f"a first line of {SCHEMA}",
            do="Give the file of a check, or begin a new one.",
        )
    rows = [_object(line) for line in lines[1:]]
    if rows and rows[-1] is None:
        rows.pop()
    if None in rows:
        raise InputError(
            where="check file", given=f"line {rows.index(None) + 2}", allowed="JSON", do="Restore the file."
        )
    return walk_from_json({**head, "answers": [row for row in rows if row is not None]})


def walk_from_json(given: Mapping[str, Any]) -> Walk:
    """Return the walk of a plain object, as `Walk.as_json` gives it."""
    return Walk(
        checklist=checklist_from_tables(given["checklist"]),
        form=given["form"],
        machine=given["machine"],
        species=given["species"],
        case=given.get("case", ""),
        began_at=given["began_at"],
        limits=LeakLimits(**given["limits"]),
        answers=tuple(_answer(row) for row in given["answers"]),
    )


def _answer(row: Mapping[str, Any]) -> Answer:
    return Answer(**{**row, "notices": tuple(row.get("notices", ()))})


def _object(line: str) -> dict[str, Any] | None:
    try:
        found = json.loads(line)
    except ValueError:
        return None
    return found if isinstance(found, dict) else None
