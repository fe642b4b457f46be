"""What a person does once, by hand or with one button."""

from dataclasses import dataclass, field
from typing import ClassVar, TypeAlias, get_args

from lungeline.case.checks import check_record
from lungeline.case.fields import number, numbers

_LONGEST_HOLD_S = 120.0
_LONGEST_BY_HAND_MIN = 240.0
_MOST_STEPS = 20


class _Checked:
    """A manoeuvre refuses what cannot be done."""

    __slots__ = ()

    def __post_init__(self) -> None:
        """Check each field against its allowed range."""
        check_record(self, "manoeuvre")


@dataclass(frozen=True, slots=True, kw_only=True)
class DeepBreath(_Checked):
    """One large breath.

    volume_l: of that breath.
    inspiratory_time_s: time it takes to go in.
    """

    kind: ClassVar[str] = "deep breath"
    volume_l: float = field(metadata=number(0.05, 60, "volume"))
    inspiratory_time_s: float = field(default=3.0, metadata=number(0.3, 30, "inspiratory time"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Recruitment(_Checked):
    """Pressures held one after the other to open closed lung.

    pressures_cmh2o: each step's airway pressure.
    hold_s: time each is held.
    """

    kind: ClassVar[str] = "recruitment"
    pressures_cmh2o: tuple[float, ...] = field(metadata=numbers(5, 100, "pressures", _MOST_STEPS))
    hold_s: float = field(default=12.0, metadata=number(1, _LONGEST_HOLD_S, "hold"))


@dataclass(frozen=True, slots=True, kw_only=True)
class InspiratoryHold(_Checked):
    """A breath held in, to read the plateau.

    hold_s: how long.
    """

    kind: ClassVar[str] = "inspiratory hold"
    hold_s: float = field(default=3.0, metadata=number(0.2, _LONGEST_HOLD_S, "hold"))


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpiratoryHold(_Checked):
    """Breathing stopped after a breath out, to read trapped gas.

    hold_s: how long.
    """

    kind: ClassVar[str] = "expiratory hold"
    hold_s: float = field(default=5.0, metadata=number(0.2, _LONGEST_HOLD_S, "hold"))


@dataclass(frozen=True, slots=True, kw_only=True)
class HandVentilation(_Checked):
    """Breaths squeezed by hand.

    minutes: how long.
    volume_l: of each.
    rate_per_min: how often.
    """

    kind: ClassVar[str] = "hand ventilation"
    minutes: float = field(metadata=number(0.1, _LONGEST_BY_HAND_MIN, "minutes"))
    volume_l: float = field(metadata=number(0.05, 40, "volume"))
    rate_per_min: float = field(metadata=number(0.5, 60, "rate"))


@dataclass(frozen=True, slots=True, kw_only=True)
class DemandValve(_Checked):
    """Off the circle, breathing or being ventilated by a demand valve.

    minutes: how long.
    rate_per_min: how often it is pressed.
    """

    kind: ClassVar[str] = "demand valve"
    minutes: float = field(metadata=number(0.1, _LONGEST_BY_HAND_MIN, "minutes"))
    rate_per_min: float = field(default=6.0, metadata=number(0.5, 60, "rate"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Disconnect(_Checked):
    """Off the circle, open to the air.

    minutes: how long.
    """

    kind: ClassVar[str] = "disconnect"
    minutes: float = field(metadata=number(0.05, _LONGEST_BY_HAND_MIN, "minutes"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Flush(_Checked):
    """Oxygen past the vaporiser into the circle.

    seconds_s: how long the button is held.
    """

    kind: ClassVar[str] = "flush"
    seconds_s: float = field(metadata=number(0.5, _LONGEST_HOLD_S, "time the button is held"))


Manoeuvre: TypeAlias = (
    DeepBreath
    | Recruitment
    | InspiratoryHold
    | ExpiratoryHold
    | HandVentilation
    | DemandValve
    | Disconnect
    | Flush
)
MANOEUVRES: dict[str, type[Manoeuvre]] = {record.kind: record for record in get_args(Manoeuvre)}
