"""What is asked for of an infusion: drug, strength of the bag, its size, and when it shall run."""

from dataclasses import dataclass

from lungeline.errors import OutOfRangeError


@dataclass(frozen=True, slots=True, kw_only=True)
class InfusionOrder:
    """What is asked for: a drug and use, the strength in the bag, its size, and how long it shall run.

    strength: as in "0.5 mg/mL", empty where it is signed or there is only one. container_ml: bag or syringe.
    start_min and end_min: on the clock of the case; end_min None where the end is not known.
    """

    drug: str
    use: str
    strength: str = ""
    container_ml: float | None = None
    start_min: float = 0.0
    end_min: float | None = None
    drops_per_ml_number: float | None = None

    def __post_init__(self) -> None:
        """Refuse an empty bag, and an end before the start."""
        if self.container_ml is not None and not self.container_ml > 0:
            raise OutOfRangeError(
                where="infusion.container_ml",
                given=self.container_ml,
                allowed="above 0 mL",
                do="Give the volume of the bag or syringe.",
            )
        if self.end_min is not None and self.end_min <= self.start_min:
            raise OutOfRangeError(
                where="infusion.end_min",
                given=self.end_min,
                allowed=f"after the start at {self.start_min:g} min",
                do="Correct start or end.",
            )
