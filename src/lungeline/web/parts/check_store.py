"""Where checks made on the pages are kept: the log of the machine, the folder of open ones, the case.

A rehearsal beside real cases has a folder of its own and writes into no machine's log: that log is real.
"""

from collections.abc import Mapping
from contextlib import suppress
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from django.http import HttpRequest

from lungeline.check import Judged, LeakLimits, LungTestResult, limits_of_profile
from lungeline.errors import RecordError, StoreError, UnknownNameError
from lungeline.record.moment import read_moment
from lungeline.theatre.clinic_profile import clinic_profile
from lungeline.theatre.equipment import Equipment, Machine
from lungeline.theatre.kept_checks import KeptCheck, keep_leak, keep_lung, keep_walk
from lungeline.theatre.open_checks import OpenCheck, OpenChecks
from lungeline.web.api.entries import seen, told
from lungeline.web.parts.seat import desk_of, side_of
from lungeline.web.running import running

_REHEARSAL = "rehearsal"
_ML_PER_L = 1000.0


def logs(request: HttpRequest) -> bool:
    """Whether checks go into the log of their machine: not those of a rehearsal beside real cases."""
    return side_of(request) == "real" or running().demo_only


def equipment_of(request: HttpRequest) -> Equipment:
    """Return the equipment and its log."""
    return Equipment(desk=desk_of(request))


def changed_equipment(request: HttpRequest) -> Equipment:
    """Return the equipment to write into its log; refused in a rehearsal beside real cases."""
    if not logs(request):
        raise RecordError(
            where="equipment", given="a rehearsal", allowed="real checks, as the log of a machine is real",
            do="Choose real cases under Settings, or rehearse without keeping it.",
        )  # fmt: skip
    return equipment_of(request)


def open_checks(request: HttpRequest) -> OpenChecks:
    """Return the guided checks that were begun."""
    folder = running().folder
    return OpenChecks(folder if logs(request) else folder / _REHEARSAL)


def limits_here() -> LeakLimits:
    """Return the limits in force: the clinic's own, the project's where it has none."""
    return limits_of_profile(clinic_profile(running().folder))


def found_machine(request: HttpRequest, name: str) -> Machine | None:
    """Return a machine of the register; None where it is not there, or its log cannot be used now."""
    with suppress(StoreError):
        return equipment_of(request).find(name) if name else None
    return None


# -- keeping -----------------------------------------------------------------------------------------------


def kept_leak(request: HttpRequest, machine: str, judged: Judged, at: str, case: str) -> dict[str, Any]:
    """Keep a leak test in the log of its machine and the record of its case, whichever there is."""
    if _logged(request, machine, case):
        return _where(keep_leak(changed_equipment(request), machine, judged, at, case))
    plain = judged.as_json()
    stored = plain["compliance_ml_cmh2o"]
    body = {
        "item": f"leak {judged.test.at_30_cmh2o.value:.0f} mL/min at 30 cmH2O",
        "verdict": judged.verdict,
        "leak_ml_min": max(plain["leak_ml_min"], 0.0),
        "test_pressure_cmh2o": plain["at_pressure_cmh2o"],
        "compliance_l_cmh2o": None if stored is None else stored / _ML_PER_L,
    }
    return _in_case_alone(request, case, machine, body, at)


def kept_lung(
    request: HttpRequest, machine: str, result: LungTestResult, at: str, case: str
) -> dict[str, Any]:
    """Keep a test on a test lung likewise."""
    if _logged(request, machine, case):
        return _where(keep_lung(changed_equipment(request), machine, result, at, case))
    body = {"item": "ventilator on a test lung", "verdict": result.verdict}
    return _in_case_alone(request, case, machine, body, at)


def kept_walk(request: HttpRequest, check: OpenCheck) -> dict[str, Any]:
    """Keep a finished guided check likewise; once, however often that is asked for."""
    walk = check.walk
    if logs(request) and found_machine(request, walk.machine) is not None:
        return _where(keep_walk(changed_equipment(request), walk.machine, walk))
    if not walk.case:
        return {"machine": None, "case": None}
    body = {
        "item": f"guided check, {walk.form} form",
        "verdict": walk.verdict,
        "detail": walk.checklist.stamp,
    }
    return _in_case_alone(request, walk.case, walk.machine, body, walk.answers[-1].at)


def _logged(request: HttpRequest, machine: str, case: str) -> bool:
    """Whether a check goes into a log. A machine that is not registered is told of, unless a case has it."""
    if not (machine and logs(request)):
        return False
    if case and found_machine(request, machine) is None:
        return False
    equipment_of(request).machine(machine)
    return True


def _where(kept: KeptCheck) -> dict[str, Any]:
    if kept.in_case is not None:
        told(kept.in_case)
    return {
        "machine": kept.machine.item.name,
        "seq": kept.in_log.seq,
        "case": kept.in_case.case if kept.in_case else None,
    }


def _in_case_alone(
    request: HttpRequest, case: str, machine: str, body: Mapping[str, Any], at: str
) -> dict[str, Any]:
    """Enter a check into a case where no log of a machine takes it; the same check is entered once."""
    if not case:
        raise UnknownNameError(
            where="check", given=machine or "no machine", allowed="a machine of the register, or a case",
            do="Register the machine first, or open the check from a case.",
        )  # fmt: skip
    seen(request, case)
    full = {key: value for key, value in body.items() if value is not None}
    full |= {"passed": body["verdict"] == "go"} | ({"machine": machine} if machine else {})
    uid = str(uuid5(NAMESPACE_URL, f"{case}/{at}/{sorted(full.items())}"))
    moment = read_moment(at, "check.at")
    entry = desk_of(request).enter(case, "check", full, event_time=moment, uid=uid)
    return {"machine": None, "seq": None, "case": told(entry).case}
