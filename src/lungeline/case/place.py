"""Where the anaesthetic takes place."""

from dataclasses import dataclass, field

from lungeline.case.checks import check_record
from lungeline.case.fields import number


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """The air around.

    altitude_m: height above sea level, from which the pressure follows where it is not given.
    barometric_pressure_mmhg: pressure as measured there (not reduced to sea level).
    """

    altitude_m: float = field(default=0.0, metadata=number(-450, 5500, "altitude"))
    barometric_pressure_mmhg: float | None = field(
        default=None, metadata=number(350, 820, "barometric pressure")
    )

    def __post_init__(self) -> None:
        """Refuse places where nobody anaesthetises."""
        check_record(self, "place")
