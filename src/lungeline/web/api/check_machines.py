"""The equipment for pages and programs: what there is, its log, how its leak goes, what is due."""

from dataclasses import asdict
from typing import Any

from django.http import HttpRequest
from ninja import Body, Router, Schema
from pydantic import Field

from lungeline.case import Finding
from lungeline.case.fields import described
from lungeline.check import (
    PastLeakTest,
    Trend,
    against_before,
    due,
    item_from_json,
    leak_curve,
    past_from_json,
    trend_of,
    worse,
)
from lungeline.check.register import Item, Number
from lungeline.theatre.equipment import Equipment, Machine
from lungeline.theatre.equipment_log import machine_log
from lungeline.theatre.kept_checks import last_limits, past_leaks
from lungeline.web.api.check_said import said
from lungeline.web.entrance.attempts import pin_tried
from lungeline.web.parts.check_store import changed_equipment, equipment_of

router = Router()
_NUMBERS: tuple[Number, ...] = ("leak_ml_min", "compliance_ml_cmh2o")


class Why(Schema):
    """Why equipment is retired, or an entry struck out."""

    reason: str = Field(min_length=1, max_length=500)


class Signed(Schema):
    """A signature under a log: as what one signs, and the PIN of somebody who has one."""

    role: str = Field(default="responsible for the equipment", min_length=1, max_length=200)
    pin: str = Field(default="", max_length=50)


@router.get("")
def machines(request: HttpRequest) -> dict[str, Any]:
    """List the equipment, with the course of its leak and what is due."""
    equipment = equipment_of(request)
    return {"machines": [_told(request, equipment, it) for it in equipment.machines()], "fields": _fields()}


@router.post("", response={201: dict[str, Any]})
def add(request: HttpRequest, given: Body[dict[str, Any]]) -> tuple[int, dict[str, Any]]:
    """Register a piece of equipment."""
    equipment = changed_equipment(request)
    return 201, _told(request, equipment, equipment.add(item_from_json(given)))


@router.post("/{machine}/changes", response={201: dict[str, Any]})
def change(request: HttpRequest, machine: str, given: Body[dict[str, Any]]) -> tuple[int, dict[str, Any]]:
    """Change what is known of it; what it was stays in the log."""
    equipment = changed_equipment(request)
    return 201, _told(request, equipment, equipment.change(machine, given))


@router.post("/{machine}/retirement", response={201: dict[str, Any]})
def retire(request: HttpRequest, machine: str, given: Why) -> tuple[int, dict[str, Any]]:
    """Say that it is no longer used."""
    equipment = changed_equipment(request)
    return 201, _told(request, equipment, equipment.retire(machine, given.reason))


@router.get("/{machine}/log")
def log(request: HttpRequest, machine: str) -> dict[str, Any]:
    """Return its whole log, with what proves it."""
    equipment = equipment_of(request)
    told = machine_log(equipment, machine)
    today = equipment.desk.clock().date().isoformat()
    return {**told.as_json(today), "said": said(request, told.findings(today))}


@router.post("/{machine}/log/{seq}/strike", response={201: dict[str, Any]})
def strike(request: HttpRequest, machine: str, seq: int, given: Why) -> tuple[int, dict[str, Any]]:
    """Strike an entry out of its log; it stays in view."""
    changed_equipment(request).strike(machine, seq, given.reason)
    return 201, log(request, machine)


@router.post("/{machine}/log/signature", response={201: dict[str, Any]})
def sign(request: HttpRequest, machine: str, given: Signed) -> tuple[int, dict[str, Any]]:
    """Sign its log as it now stands."""
    equipment = changed_equipment(request)
    with pin_tried(equipment.desk.author, request, given.pin):
        equipment.sign(machine, role=given.role, pin=given.pin or None)
    return 201, log(request, machine)


def compared_with_before(request: HttpRequest, kept: dict[str, Any]) -> list[Finding]:
    """Return how a leak test just kept compares with those before it; nothing where no log has it."""
    if not kept["machine"]:
        return []
    machine = equipment_of(request).machine(kept["machine"])
    past = past_leaks(machine)
    bodies = (item.body["past"] for item in machine.checks() if item.entry.seq == kept["seq"])
    return [
        *(finding for body in bodies for finding in against_before(past_from_json(dict(body)), past)),
        *worse(past, machine.item.name),
    ]


# -- as an object ------------------------------------------------------------------------------------------


def _told(request: HttpRequest, equipment: Equipment, it: Machine) -> dict[str, Any]:
    past, limits = past_leaks(it), last_limits(it)
    today = equipment.desk.clock().date().isoformat()
    findings = [*([] if it.retired else due([it.item], today)), *worse(past, it.item.name)]
    return {
        **it.item.as_json(),
        "id": it.id,
        "retired": it.retired,
        "tests": [test.as_json() for test in past],
        "courses": {name: _course(past, it.item.name, name) for name in _NUMBERS},
        "limits": {"pass_ml_min": limits.pass_ml_min, "fail_ml_min": limits.fail_ml_min} if limits else None,
        "said": said(request, findings),
    }


def _course(past: tuple[PastLeakTest, ...], machine: str, name: Number) -> dict[str, Any]:
    """Return a number over days, the first test's day 0, with its trend and the line of it."""
    told = [(test.day, found) for test in past if (found := test.interval(name)) is not None]
    first = told[0][0] if told else 0.0
    days, values = [day - first for day, _ in told], [found[0] for _, found in told]
    trend: Trend = trend_of(past, machine, name)
    return {
        "at_days": days,
        "values": values,
        "low": [found[1] for _, found in told],
        "high": [found[2] for _, found in told],
        "trend": asdict(trend),
        "line": leak_curve.trend_line(trend, days, values),
    }


def _fields() -> list[dict[str, Any]]:
    """Return the fields of the register, in order."""
    return [
        {"key": key, "kind": doc.kind, "choices": list(doc.choices or ()), "low": doc.low, "high": doc.high}
        for key, doc in described(Item).items()
    ]
