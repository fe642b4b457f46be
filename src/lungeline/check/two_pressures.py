"""The law of a leak, from the flows that hold two pressures: one hole, fine gaps, or something that moves."""

import math
from dataclasses import replace

from lungeline.case import Finding, Reasoned
from lungeline.check.compensating_flow import HeldFlow, compensating_flow, held_draws, held_leak
from lungeline.check.leak_found import LeakTest
from lungeline.check.leak_law import LAMINAR_NUMBER, ORIFICE_NUMBER
from lungeline.check.uncertainty import DRAWS, Spread, spread_of
from lungeline.errors import InputError
from lungeline.physics.leaks import leak_exponent_number

_FEWEST = DRAWS // 10  # draws that must give an exponent for it to be told
_LEAST_RATIO_NUMBER = 1.2  # of the pressures; nearer ones tell nothing


def two_pressures(first: HeldFlow, second: HeldFlow, of_interest_ml_min: float | None = None) -> LeakTest:
    """Return the leak at the higher pressure, with its law.

    of_interest_ml_min: leak the test should be able to see; that of the project's limits where None.
    Raises InputError for pressures too near to each other.
    """
    low, high = sorted((first, second), key=lambda test: test.pressure_cmh2o)
    if high.pressure_cmh2o < _LEAST_RATIO_NUMBER * low.pressure_cmh2o:
        raise InputError(
            where="two_pressures.pressure_cmh2o",
            given=f"{low.pressure_cmh2o:g} and {high.pressure_cmh2o:g}",
            allowed=f"two pressures, one at least {_LEAST_RATIO_NUMBER:g} times the other",
            do="Test at 20 and 30 cmH2O, say.",
        )
    low, high = replace(low, reading="lower"), replace(high, reading="higher")
    found = compensating_flow(high, of_interest_ml_min)
    spread = _exponent(low, high)
    return replace(
        found,
        method="two pressures",
        exponent=_number(spread, low, high) if spread else None,
        findings=(*found.findings, *_findings(spread)),
    )


def _exponent(low: HeldFlow, high: HeldFlow) -> Spread | None:
    """Return the exponent with its interval; None where no leak is left to tell it by."""
    leaks = held_leak(low), held_leak(high)
    if min(leaks) <= 0.0:
        return None
    for tests in ((low, high), tuple(_without_bracket(test) for test in (low, high))):
        pairs = zip(*map(held_draws, tests), strict=True)
        drawn = [_solved(low, high, *pair) for pair in pairs]
        told = [value for value in drawn if not math.isnan(value)]
        if len(told) >= _FEWEST:
            return spread_of(_solved(low, high, *leaks), told)
    return None


def _without_bracket(test: HeldFlow) -> HeldFlow:
    """Return the test as it is told by the flow that holds alone: two brackets may leave few draws."""
    return replace(test, rises_at_l_min=None, falls_at_l_min=None)


def _solved(low: HeldFlow, high: HeldFlow, low_ml_min: float, high_ml_min: float) -> float:
    return float(leak_exponent_number(high_ml_min, high.pressure_cmh2o, low_ml_min, low.pressure_cmh2o))


def _number(spread: Spread, low: HeldFlow, high: HeldFlow) -> Reasoned:
    return Reasoned(
        name="check.leak_exponent_number",
        value=spread.value,
        low=spread.low,
        high=spread.high,
        formula="ln(leak ÷ leak) ÷ ln(pressure ÷ pressure)",
        inputs={
            "lower_pressure_cmh2o": low.pressure_cmh2o,
            "lower_flow_l_min": low.flow_l_min,
            "higher_pressure_cmh2o": high.pressure_cmh2o,
            "higher_flow_l_min": high.flow_l_min,
        },
        basis="measured",
        sources=("case", "project-assumption"),
        note="0.5 is one hole, 1 many fine gaps. Above 1 something opens with pressure, such as a valve.",
    )


def _findings(spread: Spread | None) -> list[Finding]:
    if spread is None:
        return [Finding(code="leak_law_not_told", severity="note", about="check.leak_exponent_number")]
    figures = {"leak_exponent_number": spread.value}
    if spread.low > LAMINAR_NUMBER:
        return [
            Finding(
                code="leak_opens_with_pressure",
                severity="caution",
                about="check.leak_exponent_number",
                figures=figures,
            )
        ]
    if spread.high < ORIFICE_NUMBER:
        return [
            Finding(
                code="leak_closes_with_pressure",
                severity="caution",
                about="check.leak_exponent_number",
                figures=figures,
            )
        ]
    return []
