"""One anaesthetic: the animal, where and with what, what is set, what is done, and what goes wrong."""

from dataclasses import dataclass, field
from typing import Any

from lungeline.case.animal import Animal
from lungeline.case.change import Change
from lungeline.case.checks import check_record
from lungeline.case.defaults import RULED_SETTINGS, Circumstances, filled, not_said, rule_of_thumb
from lungeline.case.equipment import Equipment
from lungeline.case.fault_event import FaultEvent
from lungeline.case.fields import text
from lungeline.case.place import Place
from lungeline.case.procedure import Procedure
from lungeline.case.settings import Settings
from lungeline.case.start import Start
from lungeline.case.supply import Cylinder, Supply
from lungeline.case.timeline import Stretch, stretches
from lungeline.errors import InputError, OutOfRangeError, UnknownNameError
from lungeline.figure import Figure
from lungeline.units import convert


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """Everything a run needs to know. Only the animal must be given; rules of thumb fill in the settings.

    animal: who lies there.
    place: the air around.
    start: how things stand at the beginning.
    equipment: what the animal breathes through.
    settings: what is set at the beginning, complete once the case is made.
    changes: what is done later, in order of time.
    faults: what goes wrong.
    procedure: the job ahead.
    supply: where oxygen comes from, and what else must last.
    cylinders: at hand, with their gauge readings.
    title: one line for a person.
    assumed_settings: the settings nobody chose, filled in by rule of thumb.
    """

    animal: Animal
    place: Place = field(default_factory=Place)
    start: Start = field(default_factory=Start)
    equipment: Equipment = field(default_factory=Equipment)
    settings: Settings = field(default_factory=Settings)
    changes: tuple[Change, ...] = ()
    faults: tuple[FaultEvent, ...] = ()
    procedure: Procedure = field(default_factory=Procedure)
    supply: Supply = field(default_factory=Supply)
    cylinders: tuple[Cylinder, ...] = ()
    title: str = field(default="", metadata=text(200, "title"))
    assumed_settings: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Fill in what was not said, put changes and faults in order, and refuse what cannot be together."""
        check_record(self, "case")
        self._fill_in()
        self._keep("changes", tuple(sorted(self.changes, key=lambda change: change.at_min)))
        self._keep("faults", tuple(sorted(self.faults, key=lambda fault: fault.at_min)))
        _check_equipment(self.equipment)
        _check_start(self.start, self.equipment)
        self.timeline()

    def _fill_in(self) -> None:
        unknown = [name for name in self.assumed_settings if name not in RULED_SETTINGS]
        if unknown:
            raise UnknownNameError.nearest(
                where="case.assumed_settings", given=str(unknown[0]), valid=RULED_SETTINGS
            )
        left = not_said(self.settings)
        assumed = {*left, *self.assumed_settings}
        self._keep("settings", filled(self.settings, left, self.circumstances))
        self._keep("assumed_settings", tuple(name for name in RULED_SETTINGS if name in assumed))

    def _keep(self, name: str, value: Any) -> None:  # noqa: ANN401  any of the fields above
        object.__setattr__(self, name, value)

    @property
    def circumstances(self) -> Circumstances:
        """What rules of thumb look at."""
        return Circumstances(animal=self.animal, equipment=self.equipment, start=self.start)

    def timeline(self) -> tuple[Stretch, ...]:
        """Return the settings from change to change, complete, beginning with those at 0 min.

        Where a change moves the tidal volume or the rate, spare volume and inspiratory time follow if
        nobody chose them. Changes at one time give one stretch each; the last of them holds.
        """
        first = Stretch(from_min=0.0, settings=self.settings, assumed_settings=self.assumed_settings)
        return tuple(stretches(first, self.changes, self.circumstances))

    def settings_at(self, at_min: float) -> Settings:
        """Return what is set at a time, changes of that very minute included."""
        return [part.settings for part in self.timeline() if part.from_min <= at_min or not part.from_min][-1]

    def rules_of_thumb(self) -> dict[str, Figure]:
        """Return for every setting that has one its rule of thumb, in the setting's unit, used or not."""
        return {name: rule_of_thumb(name, self.settings, self.circumstances) for name in RULED_SETTINGS}


def _check_equipment(equipment: Equipment) -> None:
    hoses_l = 2 * equipment.hose_volume_l
    if hoses_l >= equipment.circle_volume_l:
        raise InputError(
            where="equipment.circle_volume_l",
            given=f"circle_volume_l = {equipment.circle_volume_l:g}, "
            f"hose_volume_l = {equipment.hose_volume_l:g}",
            allowed="a circle that holds more than its two hoses, which it includes",
            do=f"Write circle_volume_l above {hoses_l:g}, or a smaller hose_volume_l.",
        )


def _check_start(start: Start, equipment: Equipment) -> None:
    content_l, capacity_l = start.reservoir_content_l, equipment.reservoir_capacity_l
    if content_l is not None and content_l > capacity_l:
        raise OutOfRangeError(
            where="start.reservoir_content_l",
            given=content_l,
            allowed=f"0 to {capacity_l:g} L, which the reservoir holds (equipment.reservoir_capacity_l)",
            do="Correct one of the two.",
        )
    agent_fraction = convert(start.circle_agent_percent or 0.0, "percent", "fraction")
    if agent_fraction + (start.circle_oxygen_fraction or 0.0) > 1:
        raise OutOfRangeError(
            where="start.circle_oxygen_fraction",
            given=f"circle_oxygen_fraction = {start.circle_oxygen_fraction:g}, "
            f"circle_agent_percent = {start.circle_agent_percent:g}",
            allowed="oxygen and agent together not above 1",
            do="Lower one of the two.",
        )
