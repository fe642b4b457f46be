"""Checks kept in the log of their machine, once each, and told in the record of the case they are for."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from lungeline.check.limits import LeakLimits
from lungeline.check.register import PastLeakTest, past_from_json, past_of
from lungeline.check.ventilator_lung import LungTestResult
from lungeline.check.verdict import Judged
from lungeline.check.walk import SCHEMA as WALK_SCHEMA
from lungeline.check.walk import Walk
from lungeline.check.walk_file import walk_from_json
from lungeline.errors import ConflictError, InputError, RecordError
from lungeline.record import Entry
from lungeline.record.store.by_kind import newest_of
from lungeline.theatre.desk import Desk
from lungeline.theatre.equipment import Equipment, Machine, uid_of

LEAK_SCHEMA, LUNG_SCHEMA = "lungeline.machine_leak/1", "lungeline.machine_lung/1"
LIST_SCHEMA = "lungeline.checklist/1"
_ML_PER_L = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCheck:
    """A check in the log of its machine, and in the record of a case where it was done for one."""

    machine: Machine
    in_log: Entry
    in_case: Entry | None = None


# -- keeping -----------------------------------------------------------------------------------------------


def keep_leak(equipment: Equipment, name: str, judged: Judged, at: str = "", case: str = "") -> KeptCheck:
    """Write a judged leak test into the log of its machine. at: when, in ISO 8601; now where not given."""
    now, moment = equipment.machine(name), _moment(equipment.desk, at)
    past = past_of(judged.test, now.item.name, moment.isoformat(timespec="seconds"))
    body = {
        "schema": LEAK_SCHEMA,
        "name": f"leak {past.leak_ml_min:.0f} mL/min at 30 cmH2O",
        "verdict": judged.verdict,
        "case": case,
        "past": past.as_json(),
        "judged": judged.as_json(),
    }
    return _kept(equipment, now, body, moment)


def keep_walk(equipment: Equipment, name: str, walk: Walk) -> KeptCheck:
    """Write a finished guided check into the log; the same check again is not written again.

    The list it was made by is written before it, the first time that list is used on the machine.
    """
    now = equipment.machine(name)
    if not walk.finished:
        raise InputError(
            where="check",
            given="a check with open steps",
            allowed="a finished one",
            do="Go on with it first.",
        )
    _keep_list(equipment, now, walk)
    told = {key: value for key, value in walk.as_json().items() if key != "checklist"}
    body = {
        "schema": WALK_SCHEMA,
        "name": f"guided check, {walk.form} form",
        "verdict": walk.verdict,
        "case": walk.case,
        "walk": told,
    }
    return _kept(equipment, now, body, datetime.fromisoformat(walk.answers[-1].at))


def keep_lung(
    equipment: Equipment, name: str, result: LungTestResult, at: str = "", case: str = ""
) -> KeptCheck:
    """Write a test of a ventilator on a test lung into its log. at: as for a leak test."""
    now, moment = equipment.machine(name), _moment(equipment.desk, at)
    body = {
        "schema": LUNG_SCHEMA,
        "name": "ventilator on a test lung",
        "verdict": result.verdict,
        "case": case,
        "result": result.as_json(),
    }
    return _kept(equipment, now, body, moment)


def _keep_list(equipment: Equipment, machine: Machine, walk: Walk) -> None:
    stamp = walk.checklist.stamp
    body = {
        "schema": LIST_SCHEMA, "name": f"list {stamp}", "stamp": stamp,
        "checklist": dict(walk.checklist.content),
    }  # fmt: skip
    # another device may do so at the same moment: one of the two lists stands, and both say the same
    with suppress(ConflictError):
        equipment.enter(machine.id, "machine_check", body, uid=_list_uid(machine, stamp))


def _list_uid(machine: Machine, stamp: str) -> str:
    return str(uuid5(NAMESPACE_URL, f"{machine.id}/list/{stamp}"))


def _kept(equipment: Equipment, machine: Machine, body: Mapping[str, Any], moment: datetime) -> KeptCheck:
    if body["case"]:
        equipment.desk.cases.find(str(body["case"]))  # a slip of the id is told before anything is written
    dated = {**body, "at": moment.isoformat(timespec="seconds")}  # what reads the same is another check later
    entry = equipment.enter(machine.id, "machine_check", dated, moment, uid=uid_of(machine.id, dated))
    told = tell_case(equipment.desk, machine, entry) if body["case"] else None
    return KeptCheck(machine=machine, in_log=entry, in_case=told)


def _moment(desk: Desk, at: str) -> datetime:
    if not at:
        return desk.clock()
    try:
        told = datetime.fromisoformat(at)
    except ValueError:
        raise InputError(
            where="check.at", given=at, allowed="a time such as 2026-05-31T07:40", do="Write date T time."
        ) from None
    return told if told.tzinfo else told.replace(tzinfo=desk.clock().tzinfo)


# -- in the record of a case -------------------------------------------------------------------------------


def tell_case(desk: Desk, machine: Machine, entry: Entry) -> Entry:
    """Enter a check of the log into the record of the case it was done for; once, however often it is told.

    What stands there names the entry of the log and its hash, so that each proves the other.
    """
    case = str(entry.body["case"])
    uid = str(uuid5(NAMESPACE_URL, f"{case}/{entry.uid}"))
    there = desk.cases.find(case).entry(uid)
    if there is not None:
        return there
    body = {
        "item": str(entry.body["name"]),
        "passed": entry.body["verdict"] == "go",
        "verdict": entry.body["verdict"],
        "machine": machine.item.name,
        **_numbers(entry),
        "log_entry": entry.uid,
        "log_count_number": entry.seq,
        "log_hash": entry.hash,
    }
    return desk.enter(case, "check", body, event_time=entry.event_time, uid=uid)


def _numbers(entry: Entry) -> dict[str, float | None]:
    if entry.body["schema"] != LEAK_SCHEMA:
        return {}
    judged = entry.body["judged"]
    stored = judged["compliance_ml_cmh2o"]
    return {
        "leak_ml_min": max(judged["leak_ml_min"], 0.0),
        "test_pressure_cmh2o": judged["at_pressure_cmh2o"],
        "compliance_l_cmh2o": None if stored is None else stored / _ML_PER_L,
    }


# -- reading -----------------------------------------------------------------------------------------------


def past_leaks(machine: Machine) -> tuple[PastLeakTest, ...]:
    """Return the leak tests of a machine, the oldest first."""
    bodies = (item.body for item in machine.checks())
    tests = [past_from_json(dict(body["past"])) for body in bodies if body["schema"] == LEAK_SCHEMA]
    return tuple(sorted(tests, key=lambda test: test.day))


def last_limits(machine: Machine) -> LeakLimits | None:
    """Return by what the last leak test of a machine was judged; None where there is none."""
    leaks = [item for item in machine.checks() if item.body["schema"] == LEAK_SCHEMA]
    if not leaks:
        return None
    told = dict(leaks[-1].body["judged"]["limits"])
    told.pop("rest_on", None)
    return LeakLimits(**told)


def kept_walks(machine: Machine) -> tuple[Walk, ...]:
    """Return the guided checks of a machine, each with the list it was made by."""
    return tuple(_walk(machine, it.body) for it in machine.checks() if it.body["schema"] == WALK_SCHEMA)


def walks_since(machine: Machine, moment: datetime) -> tuple[Walk, ...]:
    """Return the guided checks logged since a moment, the newest first, without those struck out."""
    struck: set[str | None] = set()
    found = []
    for entry in newest_of(machine.store, machine.id, {"machine_check", "strike"}):
        if entry.entry_time < moment:
            break
        if entry.kind == "strike":
            struck.add(entry.corrects)
        elif entry.body["schema"] == WALK_SCHEMA and entry.uid not in struck:
            found.append(_walk(machine, entry.body))
    return tuple(found)


def _walk(machine: Machine, body: Mapping[str, Any]) -> Walk:
    told = body["walk"]
    listed = machine.store.entry(_list_uid(machine, told["checklist_stamp"]))
    if listed is None:  # it was written before any check that was made by it
        raise RecordError(
            where=f"log of {machine.item.name}", given=f"no list {told['checklist_stamp']}",
            allowed="the list of every check", do="Check the log (verify), and take it from a backup.",
        )  # fmt: skip
    return walk_from_json({**told, "checklist": listed.body["checklist"]})


def lungs(machine: Machine) -> tuple[Mapping[str, Any], ...]:
    """Return the tests of a ventilator on a test lung, the oldest first."""
    return tuple(it.body["result"] for it in machine.checks() if it.body["schema"] == LUNG_SCHEMA)
