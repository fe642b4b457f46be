"""Something that goes wrong during the case."""

from dataclasses import dataclass, field

from lungeline.case.checks import check_record
from lungeline.case.fields import number, text
from lungeline.errors import InputError, OutOfRangeError

LONGEST_CASE_MIN = 1440.0  # a day


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultEvent:
    """One fault, by its code in the register of faults, from when to when and how bad.

    code: as listed by `lungeline figures --faults`; whether it exists is known where faults are simulated.
    at_min: when it begins.
    severity_fraction: 0 nothing to 1 as bad as it gets; written `severity` in files.
    until_min: when it ends, None for not at all.
    """

    code: str = field(metadata=text(60, "code of the fault"))
    at_min: float = field(metadata=number(0, LONGEST_CASE_MIN, "time it begins"))
    severity_fraction: float = field(default=1.0, metadata=number(0, 1, "severity") | {"key": "severity"})
    until_min: float | None = field(default=None, metadata=number(0, LONGEST_CASE_MIN, "time it ends"))

    def __post_init__(self) -> None:
        """Refuse a fault without a name, or one that ends before it begins."""
        check_record(self, "fault")
        if not self.code.strip():
            raise InputError(
                where="fault.code", given=self.code, allowed="the code of a fault", do="Name the fault."
            )
        if self.until_min is not None and self.until_min <= self.at_min:
            raise OutOfRangeError(
                where=f"fault {self.code}.until_min",
                given=self.until_min,
                allowed=f"after at_min = {self.at_min:g}",
                do="Correct one of the two times, or leave until_min out.",
            )
