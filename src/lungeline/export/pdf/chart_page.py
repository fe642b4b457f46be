"""A blank chart for when the power fails: five minutes a column, the planned values in the first."""

import math
from collections.abc import Iterator
from typing import Any

from lungeline.case import Settings
from lungeline.case.fields import described
from lungeline.export.pdf.heading import not_validated_mark, profile_text, weight_band
from lungeline.export.pdf.number_print import UNKNOWN, amount, band, of, text
from lungeline.plan import Plan

_COLUMN_MIN = 5
_COLUMNS = 24  # two hours
_HEAVY_EVERY = 3  # a line to count quarters of an hour by
_MOST_SHEETS = 8
_WRITTEN = (
    "Animal, number", "Date", "In charge", "Anaesthetist", "Assistant", "Tube mm, cuff", "Leak test mL/min",
    "Connected at", "Off the circle at", "Standing at",
)  # fmt: skip
_HOW = (
    "Planned: as set; in brackets what is expected of 10 to 90 % of animals, SIMULATED. "
    "Write the clock time above each column. Write what you measure, every five minutes. "
    "Strike a wrong figure through with one line, initials and time; never erase it."
)


def chart_page(plan: Plan) -> dict[str, Any]:
    """Return the content of the blank chart: a sheet for every two hours that are expected."""
    span_min = _COLUMN_MIN * _COLUMNS
    sheets = min(max(math.ceil(plan.case.procedure.expected_min / span_min), 1), _MOST_SHEETS)
    starts = range(0, sheets * span_min, span_min)
    animal, job = plan.case.animal, plan.case.procedure
    weight = f"{text('weight_kg', animal.weight_kg)} ({weight_band(plan)})"
    return {
        "kind": "chart",
        "title": "Anaesthetic chart",
        "known": f"{animal.species}, {weight}, {animal.position}, {animal.condition}; {job.kind}",
        "profile": f"{profile_text(plan)}{not_validated_mark(plan)}",
        "written": list(_WRITTEN),
        "how": _HOW,
        "planned_head": "planned",
        "clock": "clock time",
        "sheets": [list(range(first, first + span_min, _COLUMN_MIN)) for first in starts],
        "column_min": _COLUMN_MIN,
        "heavy_every": _HEAVY_EVERY,
        "rows": list(_rows(plan)),
        "bands": [
            {"label": "Drugs", "unit": "mg, mL, route", "lines": 3},
            {"label": "Fluids", "unit": "L, mL/h", "lines": 1},
            {"label": "Remarks", "unit": "position, events", "lines": 2},
        ],
        "later": list(_later(plan)),
        "later_word": "Planned later:",
        "signature": "Signed, time",
    }  # fmt: skip


def _rows(plan: Plan) -> Iterator[dict[str, str]]:
    """Yield each row with what was planned: what is set stands as set, what is expected in brackets."""
    settings, expected = plan.settings, plan.expected.numbers

    def foreseen(key: str) -> str:
        number = expected.get(key)
        if number is None:
            return ""
        spread = band(number)
        return f"({spread or of(number)['value']})"

    def dialled(key: str) -> str:
        value = amount(key, getattr(settings, key))
        return value["value"]

    yield _row("Heart rate", "/min", foreseen("heart_rate_per_min"))
    yield _row("Mean arterial pressure", "mmHg", foreseen("map_mmhg"))
    yield _row("Respiratory rate", "/min", dialled("respiratory_rate_per_min"))
    yield _row("Tidal volume", "L", dialled("tidal_volume_l"))
    yield _row("Peak pressure", "cmH2O", foreseen("peak_pressure_cmh2o"))
    yield _row("PEEP", "cmH2O", dialled("peep_cmh2o"))
    yield _row("EtCO2", "mmHg", foreseen("etco2_mmhg"))
    yield _row("FiO2", "%", foreseen("fio2_fraction"))
    yield _row("Fresh gas", "L/min", dialled("fresh_gas_flow_l_min"))
    yield _row(f"{settings.agent}, dial", "%", dialled("vaporiser_percent"))
    yield _row(f"{settings.agent}, end-tidal", "%", foreseen("end_tidal_agent_fraction"))
    yield _row("SpO2", "%", foreseen("spo2_fraction"))
    yield _row("Temperature", "\N{DEGREE SIGN}C", "")
    yield _row("Spare gas", "L", dialled("spare_volume_l"))


def _row(label: str, unit: str, planned: str) -> dict[str, str]:
    return {"label": label, "unit": unit, "planned": planned if planned != UNKNOWN else ""}


def _later(plan: Plan) -> Iterator[dict[str, Any]]:
    docs = described(Settings)
    for change in plan.changes:
        told = (f"{docs[name].label} {text(name, value)}" for name, value in change.settings.items())
        yield {"at_min": change.at_min, "told": f"after {text('at_min', change.at_min)} {', '.join(told)}"}
