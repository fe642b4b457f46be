"""One simulated experiment, set up as a study was, from which several of its numbers are read."""

from dataclasses import dataclass

from lungeline.evidence.comparison import Comparison, printed
from lungeline.evidence.measures import QUANTITIES, Quantity
from lungeline.evidence.shared_runs import Course, SharedRuns


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A quantity read off a course at a time, or at its end."""

    course: Course
    quantity: Quantity
    at_min: float | None = None

    def __call__(self, runs: SharedRuns) -> float:
        """Run the course where nobody has yet, and read."""
        found = self.quantity.measure(runs.shown(self.course, self.at_min))
        return found / self.course.case.animal.weight_kg if self.quantity.per_kg else found


@dataclass(frozen=True, slots=True, kw_only=True)
class Experiment:
    """A course that repeats one arm of a study.

    arm: as the study's numbers name it; set_up: in words, for a person; at_min: when it is read, None at the
    end; target_of_fit: whether the parameters were fitted to what is read here.
    """

    study: str
    arm: str = ""
    set_up: str
    course: Course
    at_min: float | None = None
    target_of_fit: bool = False

    def compare(self, key: str, name: str) -> Comparison:
        """Return the comparison with the number of this name."""
        quantity = QUANTITIES[name]
        return Comparison(
            key=key,
            study=self.study,
            quantity=quantity.words,
            set_up=self.set_up,
            published=printed(self.study, name, self.arm),
            target_of_fit=self.target_of_fit,
            run=Reading(course=self.course, quantity=quantity, at_min=self.at_min),
        )
