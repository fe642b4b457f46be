"""Checks for pages and programs: leak tests judged as they are typed, and the ventilator on a test lung."""

from collections.abc import Collection, Mapping
from dataclasses import asdict
from typing import Any, Literal

from django.http import HttpRequest
from ninja import Router, Schema
from pydantic import Field

from lungeline.check import (
    Circuit,
    DecayLook,
    Filling,
    HeldFlow,
    Judged,
    LeakLimits,
    LeakTest,
    LungTest,
    PlannedBreaths,
    RiseAndFall,
    breaths_of,
    compensating_flow,
    judge_leak,
    leak_curve,
    leak_in_use,
    pressure_decay,
    rise_and_fall,
    two_pressures,
    ventilator_on_lung,
)
from lungeline.check.limits import leak_of_interest_ml_min
from lungeline.errors import MissingError
from lungeline.theatre.watching import case_now
from lungeline.web.api.check_machines import compared_with_before
from lungeline.web.api.check_machines import router as machines
from lungeline.web.api.check_said import said
from lungeline.web.api.check_walks import router as walks
from lungeline.web.api.entries import seen
from lungeline.web.parts.check_store import kept_leak, kept_lung, limits_here
from lungeline.web.parts.seat import desk_of

router = Router()
router.add_router("/machines", machines)
router.add_router("/walks", walks)
Method = Literal["compensating", "decay", "rise-fall", "two-pressures"]
_FALL = ("start_cmh2o", "end_cmh2o", "seconds_s")
_RISE_AND_FALL = (
    "flow_l_min", "rise_from_cmh2o", "rise_to_cmh2o", "rise_s", "fall_from_cmh2o", "fall_to_cmh2o", "fall_s",
)  # fmt: skip
_NEEDS: dict[Method, tuple[str, ...]] = {
    "compensating": ("pressure_cmh2o", "flow_l_min"),
    "decay": _FALL,
    "rise-fall": _RISE_AND_FALL,
    "two-pressures": ("pressure_cmh2o", "flow_l_min", "second_pressure_cmh2o", "second_flow_l_min"),
}
_PRESSURES = ("pressure_cmh2o", "start_cmh2o", "fall_from_cmh2o")  # that of the test, by method
_BRACKET = ("rises_at_l_min", "falls_at_l_min")
_LUNG_NEEDS = ("set_tidal_volume_l", "set_rate_per_min", "set_inspiratory_time_s")
_LUNG_FIELDS = frozenset(
    {
        *_LUNG_NEEDS, "set_peep_cmh2o", "compliance_l_cmh2o", "resistance_cmh2o_s_l",
        "measured_tidal_volume_l", "measured_rate_per_min", "measured_peak_cmh2o",
    }
)  # fmt: skip


class Stood(Schema):
    """What is known of the circle as it stood; leave out what is not."""

    volume_l: float | None = None
    compliance_ml_cmh2o: float | None = None
    bag_attached: bool = False
    sample_flow_l_min: float = 0.0
    peep_cmh2o: float = 0.0


class Leak(Schema):
    """A leak test as it was read. values: what the method needs, by names with their unit; at: when."""

    method: Method
    values: dict[str, float]
    circuit: Stood = Field(default_factory=Stood)
    waited_s: float | None = None
    held: bool = False
    look_s: float | None = None
    case: str = ""
    machine: str = ""
    at: str = ""
    keep: bool = False


class Lung(Schema):
    """A test on a test lung. values: set and measured, by names with their unit; at: when."""

    values: dict[str, float]
    case: str = ""
    machine: str = ""
    at: str = ""
    keep: bool = False


@router.post("/leak")
def leak(request: HttpRequest, given: Leak) -> dict[str, Any]:
    """Judge a leak test; keep it in the log of its machine and in its case where that is asked for."""
    planned = _planned(request, given.case)
    judged = _judged(given, planned or PlannedBreaths())
    told = list(judged.findings)
    kept = None
    if given.keep:
        moment = given.at or desk_of(request).clock().isoformat()
        kept = kept_leak(request, given.machine, judged, moment, given.case)
        told += compared_with_before(request, kept)
    return {
        **judged.as_json(),
        "limits_rest": _rest(judged.limits),
        "weighed": "case" if planned else "usual",
        "curves": _curves(judged, given),
        "kept": kept,
        "said": said(request, told),
    }


@router.post("/lung")
def lung(request: HttpRequest, given: Lung) -> dict[str, Any]:
    """Compare what a ventilator delivered to a test lung with what was set and what is to be expected."""
    _check_there("test lung", given.values, _LUNG_NEEDS)
    known = {name: value for name, value in given.values.items() if name in _LUNG_FIELDS}
    result = ventilator_on_lung(LungTest(**known))
    moment = given.at or desk_of(request).clock().isoformat()
    kept = kept_lung(request, given.machine, result, moment, given.case) if given.keep else None
    return {**result.as_json(), "kept": kept, "said": said(request, result.findings)}


# -- a leak ------------------------------------------------------------------------------------------------


def _judged(given: Leak, breaths: PlannedBreaths) -> Judged:
    limits = limits_here()
    needs = _NEEDS[given.method]
    _check_there(f"leak by {given.method}", given.values, needs)
    pressure = next((given.values[name] for name in _PRESSURES if name in needs), 30.0)
    test = _tested(given, leak_of_interest_ml_min(max(pressure, 1.0), limits))
    return judge_leak(test, leak_in_use(test, breaths), limits)


def _tested(given: Leak, interest: float) -> LeakTest:
    circuit = Circuit(**given.circuit.dict())
    filling = Filling(waited_s=given.waited_s, held=given.held)
    read: dict[str, Any] = {name: given.values[name] for name in _NEEDS[given.method]}
    if given.method == "decay":
        return pressure_decay(DecayLook(circuit=circuit, filling=filling, **read), interest)
    if given.method == "rise-fall":
        test = RiseAndFall(circuit=circuit, waited_s=given.waited_s, held=given.held, **read)
        return rise_and_fall(test, interest)
    first = _held(given, circuit, filling, ("pressure_cmh2o", "flow_l_min"))
    if given.method == "compensating":
        return compensating_flow(first, interest)
    second = _held(given, circuit, filling, ("second_pressure_cmh2o", "second_flow_l_min"))
    return two_pressures(first, second, interest)


def _held(given: Leak, circuit: Circuit, filling: Filling, names: tuple[str, str]) -> HeldFlow:
    told: dict[str, Any] = {}
    if given.method == "compensating":
        told = {name: given.values[name] for name in _BRACKET if name in given.values}
    if given.look_s is not None:
        told["look_s"] = given.look_s
    pressure, flow = (given.values[name] for name in names)
    return HeldFlow(pressure_cmh2o=pressure, flow_l_min=flow, circuit=circuit, filling=filling, **told)


def _planned(request: HttpRequest, case: str) -> PlannedBreaths | None:
    """Return the breaths a case plans, None where no case is told or none is planned yet."""
    planned = case_now(seen(request, case).state) if case else None
    return breaths_of(planned) if planned is not None else None


def _curves(judged: Judged, given: Leak) -> dict[str, Any]:
    test, read = judged.test, given.values
    told: dict[str, Any] = {"growth": asdict(leak_curve.growth(test, judged.limits))}
    if test.compliance is None:
        return told
    if given.method == "decay":
        told["fall"] = asdict(leak_curve.fall(test, read["start_cmh2o"], read["seconds_s"]))
    if given.method == "rise-fall":
        told["rise"] = asdict(
            leak_curve.rise(test, read["flow_l_min"], read["rise_from_cmh2o"], read["rise_s"])
        )
        told["fall"] = asdict(leak_curve.fall(test, read["fall_from_cmh2o"], read["fall_s"]))
    return told


def _rest(limits: LeakLimits) -> str:
    """Return what limits rest on: the clinic's signature, nobody's, or this project's default."""
    if limits.signed_by:
        return "signed"
    return "project" if limits.numbers() == LeakLimits().numbers() else "unsigned"


def _check_there(where: str, values: Mapping[str, float], needs: Collection[str]) -> None:
    missing = [name for name in needs if name not in values]
    if missing:
        raise MissingError(
            where=where, given="nothing for " + ", ".join(missing), allowed=", ".join(needs),
            do="Type what was read.",
        )  # fmt: skip
