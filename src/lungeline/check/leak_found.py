"""What a leak test found, by whatever method: the leak with its interval, and what it could not have seen."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from lungeline.case import Finding, Reasoned
from lungeline.check.circuit import Circuit
from lungeline.check.leak_law import REFERENCE_PRESSURE_CMH2O, Law, exponents, law_in_words, leak_at
from lungeline.check.uncertainty import Spread, detection_limit

Method = Literal["compensating flow", "pressure decay", "rise and fall", "two pressures"]
SCHEMA = "lungeline.leak_test/1"
_TRIES, _MORE = 6, 1.02


@dataclass(frozen=True, slots=True, kw_only=True)
class LeakTest:
    """The outcome of one leak test.

    leak: at the pressure of the test, its interval the one the leak lies in 95 times of 100.
    detection_limit: smallest leak that would have shown in 95 of 100 such tests.
    exponent: how the leak grows with pressure, None where the test does not tell.
    compliance: of the circle, None where neither known nor measured.
    others: what simpler formulas make of the same readings.
    """

    method: Method
    leak: Reasoned
    at_pressure_cmh2o: float
    detection_limit: Reasoned
    exponent: Reasoned | None = None
    compliance: Reasoned | None = None
    others: tuple[Reasoned, ...] = ()
    findings: tuple[Finding, ...] = field(default=())

    @property
    def spread(self) -> Spread:
        """The leak and its interval [mL/min]."""
        return spread_in(self.leak)

    @property
    def seen(self) -> bool:
        """Whether the test tells a leak from none."""
        return self.spread.low > 0.0

    @property
    def exponent_number(self) -> float | None:
        """The exponent where it is known."""
        return self.exponent.value if self.exponent else None

    @property
    def laws(self) -> tuple[float, float, float]:
        """The least, the middle and the greatest exponent the leak may have."""
        return exponents(spread_in(self.exponent) if self.exponent else None)

    @property
    def law(self) -> Law:
        """What the exponent means."""
        return law_in_words(spread_in(self.exponent) if self.exponent else None)

    @property
    def at_30_cmh2o(self) -> Spread:
        """The leak at 30 cmH2O, by which tests at other pressures are compared [mL/min]."""
        return leak_at(self.spread, self.at_pressure_cmh2o, REFERENCE_PRESSURE_CMH2O, self.laws)

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number of it."""
        told = (self.leak, self.detection_limit, self.exponent, self.compliance, *self.others)
        return tuple(item for item in told if item is not None)

    def as_json(self) -> dict[str, Any]:
        """Return the outcome as a plain object."""
        at_30 = self.at_30_cmh2o
        return {
            "schema": SCHEMA,
            "method": self.method,
            "leak_ml_min": self.leak.value,
            "leak_low_ml_min": self.leak.low,
            "leak_high_ml_min": self.leak.high,
            "at_pressure_cmh2o": self.at_pressure_cmh2o,
            "leak_at_30_cmh2o_ml_min": at_30.value,
            "leak_at_30_cmh2o_low_ml_min": at_30.low,
            "leak_at_30_cmh2o_high_ml_min": at_30.high,
            "detection_limit_ml_min": self.detection_limit.value,
            "leak_exponent": self.exponent.value if self.exponent else None,
            "leak_exponent_low": self.exponent.low if self.exponent else None,
            "leak_exponent_high": self.exponent.high if self.exponent else None,
            "leak_law": self.law,
            "compliance_ml_cmh2o": self.compliance.value if self.compliance else None,
            "compliance_low_ml_cmh2o": self.compliance.low if self.compliance else None,
            "compliance_high_ml_cmh2o": self.compliance.high if self.compliance else None,
            "others": {item.name.rpartition(".")[2]: item.value for item in self.others},
            "findings": [finding.as_json() for finding in self.findings],
            "why": [item.why() for item in self.numbers],
        }


def spread_in(number: Reasoned) -> Spread:
    """Return a number with its interval, which is the number itself where none is known."""
    value = number.value if number.value is not None else 0.0
    low = value if number.low is None else number.low
    return Spread(value=value, low=low, high=value if number.high is None else number.high)


def leak_number(
    spread: Spread, formula: str, inputs: dict[str, float | str | None], note: str = ""
) -> Reasoned:
    """Return a leak found by readings."""
    return Reasoned(
        name="check.leak_ml_min",
        value=spread.value,
        low=spread.low,
        high=spread.high,
        formula=formula,
        inputs=inputs,
        basis="measured",
        sources=("case", "project-assumption"),
        note=note or "Interval: 95 of 100, by the error of each reading.",
    )


def unless_still(spread: Spread, *, moved: bool) -> Spread:
    """Return a leak's interval, down to nothing where the needle may well not have moved at all."""
    return spread if moved else replace(spread, low=min(spread.low, 0.0))


def limit_number(of_nothing: Sequence[float], by_needle_ml_min: float = 0.0) -> Reasoned:
    """Return the detection limit, from what the same test makes of a tight circle.

    by_needle_ml_min: smallest leak that moves the needle by enough.
    """
    return Reasoned(
        name="check.detection_limit_ml_min",
        value=max(detection_limit(of_nothing), by_needle_ml_min),
        formula="what a leak must be found as to show + what 95 of 100 are not read less by",
        basis="derived",
        sources=("project-assumption",),
        note="A smaller leak may well be there and not show.",
    )


def about_the_circuit(circuit: Circuit) -> list[Finding]:
    """Return what must be said of the circle as it stood when it was tested."""
    found = []
    if circuit.bag_attached:
        found.append(Finding(code="leak_test_bag_attached", severity="advice", about="circuit.bag_attached"))
    if circuit.peep_cmh2o > 0.0:
        found.append(
            Finding(
                code="leak_test_peep_device",
                severity="caution",
                about="circuit.peep_cmh2o",
                figures={"peep_cmh2o": circuit.peep_cmh2o},
            )
        )
    if circuit.sample_flow_l_min > 0.0:
        found.append(
            Finding(
                code="leak_test_sample_flow",
                severity="note",
                about="circuit.sample_flow_l_min",
                figures={"sample_flow_ml_min": circuit.sample_ml_min},
            )
        )
    return found


def not_seen(
    spread: Spread, limit: Reasoned, of_interest_ml_min: float, needed: Callable[[], float | None]
) -> list[Finding]:
    """Return what must be said where the test could not have seen a leak that matters.

    needed: returns how long a look must be, None where no length helps; only called where it matters.
    """
    limit_ml_min = limit.value or 0.0
    if limit_ml_min > of_interest_ml_min:
        needed_s = needed()
        return [
            Finding(
                code="leak_test_blind" if needed_s is None else "leak_test_too_short",
                severity="caution",
                about="check.detection_limit_ml_min",
                figures={
                    "detection_limit_ml_min": limit_ml_min,
                    "leak_of_interest_ml_min": of_interest_ml_min,
                    "needed_s": needed_s,
                },
            )
        ]
    if spread.low > 0.0:
        return []
    return [
        Finding(
            code="leak_not_seen",
            severity="note",
            about="check.leak_ml_min",
            figures={"detection_limit_ml_min": limit_ml_min},
        )
    ]


def look_needed_s(
    limit_at: Callable[[float], float], look_s: float, of_interest_ml_min: float, longest_s: float
) -> float | None:
    """Return how long a look must be for a leak of interest to show, None where no length helps.

    limit_at: detection limit of the same test with a look of so many seconds.
    """
    needed_s = look_s
    for _ in range(_TRIES):
        limit = limit_at(needed_s)
        if limit <= of_interest_ml_min:
            return needed_s
        # errors of reading go down with time; a little more, so that the next try is long enough
        needed_s *= _MORE * limit / of_interest_ml_min
        if needed_s > longest_s:
            return None
    return None
