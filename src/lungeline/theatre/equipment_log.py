"""The log of a machine, put together for a person: every line of it, its leak tests, and what proves it."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from lungeline.case.fields import described
from lungeline.check.machine_log import LogRow, MachineLog, What
from lungeline.check.register import Item as Given
from lungeline.check.walk import SCHEMA as WALK_SCHEMA
from lungeline.record import Item, fold
from lungeline.theatre.equipment import Equipment
from lungeline.theatre.kept_checks import LEAK_SCHEMA, LIST_SCHEMA, LUNG_SCHEMA, last_limits, past_leaks
from lungeline.words import label_of, number_text

_MOST_STEPS = 5  # of a check, told in one line; all of them stand in the entry
_HEARD = "check_notice_is_fault"
_WHAT: Mapping[str, What] = {
    LEAK_SCHEMA: "leak test",
    WALK_SCHEMA: "guided check",
    LUNG_SCHEMA: "test lung",
    LIST_SCHEMA: "list",
    "machine": "registered",
    "retired": "retired",
    "signature": "signed",
    "note": "note",
}


def machine_log(equipment: Equipment, name: str) -> MachineLog:
    """Return the log of a machine, by its name, serial or id."""
    now = equipment.machine(name)
    items, _ = fold(now.entries())
    limits = last_limits(now)
    return MachineLog(
        item=now.item,
        retired=now.retired,
        rows=tuple(_row(item) for item in sorted(items, key=lambda it: it.entry.seq)
                   if item.kind != "clock"),
        past=past_leaks(now),
        limits_ml_min=(limits.pass_ml_min, limits.fail_ml_min) if limits else None,
        proof=asdict(now.store.verify(now.id)),
    )  # fmt: skip


def _row(item: Item) -> LogRow:
    what = _WHAT[item.body["schema"] if item.kind == "machine_check" else item.kind]
    return LogRow(
        seq=item.entry.seq,
        at=item.event_time.isoformat(timespec="seconds"),
        by=_by(item),
        what=what,
        says=_says(item),
        uid=item.entry.uid,
        verdict=item.body.get("verdict"),
        case=str(item.body.get("case", "")),
        struck=str(item.history[-1].body["reason"]) if item.struck else "",
        struck_by=item.history[-1].author if item.struck else "",
        list_stamp=str(item.body.get("walk", {}).get("checklist_stamp", "")),
    )


def _by(item: Item) -> str:
    """Return who made a check as they said themselves, else who entered it."""
    answers = item.body.get("walk", {}).get("answers", ())
    made = dict.fromkeys(answer["by"] for answer in answers if answer["by"])
    return ", ".join(made) or item.entry.author


def _says(item: Item) -> str:
    body: Mapping[str, Any] = item.body
    match item.kind:
        case "retired":
            return str(body["reason"])
        case "signature":
            return f"{body['role']}, up to entry {body['head_count_number']:g}"
        case "machine":
            return _facts(body)
        case "note":
            return str(body["text"])
    return {LEAK_SCHEMA: _leak, WALK_SCHEMA: _walk, LUNG_SCHEMA: _lung}.get(body["schema"], _name)(body)


def _facts(body: Mapping[str, Any]) -> str:
    told = ((doc.label, key, body.get(key)) for key, doc in described(Given).items() if key != "name")
    return ", ".join(f"{label} {_value(key, value)}" for label, key, value in told if value not in {None, ""})


def _value(key: str, value: object) -> str:
    return number_text(key, float(value)) if isinstance(value, int | float) else str(value)


def _leak(body: Mapping[str, Any]) -> str:
    past, judged = body["past"], body["judged"]
    span = f"{past['leak_low_ml_min']:.0f} to {past['leak_high_ml_min']:.0f}"
    stored = past["compliance_ml_cmh2o"]
    compliance = f", {stored:.3g} mL/cmH2O" if stored is not None else ""
    return f"{past['leak_ml_min']:.0f} ({span}) mL/min at 30 cmH2O{compliance}, by {judged['method']}"


def _walk(body: Mapping[str, Any]) -> str:
    walk = body["walk"]
    last = {answer["step"]: answer["result"] for answer in walk["answers"]}
    told = [f"{walk['form']} form, {len(last)} steps"]
    for result, word in (("fail", "failed"), ("caution", "to be looked at"), ("skipped", "skipped")):
        steps = [step.replace("_", " ") for step, found in last.items() if found == result]
        more = f" and {len(steps) - _MOST_STEPS} more" if len(steps) > _MOST_STEPS else ""
        told += [f"{word}: {', '.join(steps[:_MOST_STEPS])}{more}"] if steps else []
    told += [f"heard: {it['figures']['says']}" for it in walk["findings"] if it["code"] == _HEARD]
    return "; ".join(told)


def _lung(body: Mapping[str, Any]) -> str:
    test = body["result"]
    keys = [key for key in test if key.startswith(("set_", "measured_")) and test[key] is not None]
    keys.sort(key=lambda key: key.startswith("measured_"))
    return ", ".join(f"{label_of('machine', key)} {number_text(key, test[key])}" for key in keys)


def _name(body: Mapping[str, Any]) -> str:
    return str(body["name"])
