"""A simulated case as one plain object for programs: missing is null, never not-a-number."""

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from lungeline.case import case_to_json

if TYPE_CHECKING:
    from lungeline.reference import SpeciesStatus
    from lungeline.simulate.herd import HerdRun
    from lungeline.simulate.run import Run

SCHEMA = "lungeline.simulation/1"
_DIGITS = 6  # more than any of these numbers is known to


def simulation_json(result: "Run", status: "SpeciesStatus") -> dict[str, Any]:
    """Return a run as one plain object; what is missing is null, never not-a-number."""
    rules = result.case.rules_of_thumb()
    return {
        "schema": SCHEMA,
        "simulated": True,
        "validated": status.validated,
        "validation": status.reason,
        "case": case_to_json(result.case),
        "rules_of_thumb": {name: rules[name].as_json() for name in result.case.assumed_settings},
        "breaths": [_rounded(breath.as_values()) for breath in result.breaths],
        "at_end": _rounded(result.at_end.as_values()),
        "balance": _rounded(result.balance),
        "ended": result.ended,
        "advice": result.advice,
    }


def herd_json(herd: "HerdRun") -> dict[str, Any]:
    """Return the band of every quantity over time: a tenth of the animals below, the middle, nine tenths."""
    times_s = numbers(herd.times_s)
    return {
        key: {"time_s": times_s} | {name: numbers(values) for name, values in herd.percentiles(key).items()}
        for key in herd.values
    }


def _rounded(values: Mapping[str, float | None]) -> dict[str, float | None]:
    return {key: number(value) for key, value in values.items()}


def numbers(values: Any) -> list[float | None]:  # noqa: ANN401  a list or an array
    """Return each number to the digits worth keeping."""
    return [number(value) for value in values]


def number(value: float | None) -> float | None:
    """Return the number to the digits worth keeping, None where there is none."""
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.{_DIGITS}g}")
