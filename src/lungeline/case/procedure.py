"""What is going to be done, and how long it takes: enough to reckon supplies by."""

from dataclasses import dataclass, field
from typing import Literal, get_args

from lungeline.case.checks import check_record
from lungeline.case.fields import choice, number

ProcedureKind = Literal["elective surgery", "colic surgery", "caesarean section", "imaging", "other"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Procedure:
    """The job ahead.

    kind: what is done.
    expected_min: from connection to the circle until off it.
    off_circuit_min: hoist and transport without a circle, each way.
    recovery_min: how long oxygen is given in recovery.
    """

    kind: ProcedureKind = field(
        default="elective surgery", metadata=choice(get_args(ProcedureKind), "procedure")
    )
    expected_min: float = field(default=120.0, metadata=number(5, 900, "expected time on the circle"))
    off_circuit_min: float = field(default=3.0, metadata=number(0, 30, "time off the circle, each way"))
    recovery_min: float = field(default=45.0, metadata=number(0, 600, "oxygen in recovery"))

    def __post_init__(self) -> None:
        """Refuse what no procedure is."""
        check_record(self, "procedure")
