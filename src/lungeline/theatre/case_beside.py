"""The case beside a record: as it was planned, or where somebody agreed, as is usual for such an animal."""

from dataclasses import replace
from datetime import datetime
from typing import Any

from lungeline.case import Case, Settings, case_from_json
from lungeline.case.fields import described
from lungeline.case.json_form import SCHEMA
from lungeline.record import CaseState
from lungeline.theatre.case_to_plan import case_to_plan

_OF_A_VENTILATOR = frozenset(
    {"mode", "tidal_volume_l", "inspiratory_pressure_cmh2o", "respiratory_rate_per_min", "inspiratory_time_s"}
)


def case_planned(state: CaseState, *, assume: bool = False) -> Case | None:
    """Return the case of the plan kept last.

    assume: where none was kept, the case that rules of thumb make of the animal, if its weight is known.
    """
    plans = [item for item in state.items if item.kind == "plan" and not item.struck]
    if plans:
        return case_from_json(plans[-1].body["case"])
    if not assume or not state.opening.get("weight_kg"):
        return None
    return case_from_json({"schema": SCHEMA, **case_to_plan(state)})


def case_now(state: CaseState, *, assume: bool = False) -> Case | None:
    """Return the same with what is set now; None where there is none."""
    planned = case_planned(state, assume=assume)
    if planned is None:
        return None
    settings = replace(planned.settings, **settings_now(state))
    return replace(planned, settings=settings, assumed_settings=(), changes=(), faults=())


def set_since(state: CaseState, since: datetime) -> list[tuple[datetime, Case]]:
    """Return from when on the planned case was set how, the first from `since` on; nothing without a plan.

    What was set before still holds, and what was not told yet is as it was planned.
    """
    planned = case_planned(state)
    if planned is None:
        return []
    case = replace(planned, assumed_settings=(), changes=(), faults=())
    docs, told = described(Settings), dict[str, Any]()
    found = {since: case}
    for item in state.items:
        if item.kind == "setting" and not item.struck:
            told |= {key: value for key, value in item.body.items() if key in docs}
            found[max(item.event_time, since)] = replace(case, settings=replace(case.settings, **told))
    return list(found.items())


def settings_told(state: CaseState) -> Settings:
    """Return what is set as far as it was told, no guess: where nothing of a ventilator was, none runs."""
    told = settings_now(state)
    return Settings(**({"ventilator_on": bool(_OF_A_VENTILATOR & told.keys())} | told))


def settings_now(state: CaseState) -> dict[str, Any]:
    """Return by key what is set, as last told."""
    docs = described(Settings)
    return {key: it.value for key, it in state.settings.items() if key in docs}
