"""Where oxygen comes from, and what else must last."""

from dataclasses import dataclass, field
from typing import Literal, get_args

from lungeline.case.checks import check_record
from lungeline.case.fields import choice, number, switch, text

OxygenSource = Literal["pipeline", "cylinders", "concentrator"]
DriveGas = Literal["none", "oxygen", "air"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """What flows in, and what drives the machine.

    oxygen: where the oxygen comes from; cylinders listed stand by where it is another.
    drive_gas: what drives the ventilator, "none" for electricity.
    drive_gas_multiple: drive gas used for each litre of minute volume.
    concentrator_l_min, concentrator_oxygen_fraction: most it gives, and what it gives.
    agent_liquid_ml: in the vaporiser and the bottle.
    """

    oxygen: OxygenSource = field(default="pipeline", metadata=choice(get_args(OxygenSource), "oxygen"))
    drive_gas: DriveGas = field(default="none", metadata=choice(get_args(DriveGas), "drive gas"))
    drive_gas_multiple: float = field(default=1.0, metadata=number(0, 3, "drive gas per litre breathed"))
    concentrator_l_min: float = field(default=8.0, metadata=number(0.5, 100, "flow of the concentrator"))
    concentrator_oxygen_fraction: float = field(
        default=0.93, metadata=number(0.21, 1, "oxygen of the concentrator")
    )
    agent_liquid_ml: float | None = field(default=None, metadata=number(0, 5000, "liquid agent"))

    def __post_init__(self) -> None:
        """Refuse what no supply is."""
        check_record(self, "supply")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """Cylinders of one kind with one gauge reading.

    size: a size of the reference, such as "us_h" or "metric_50l"; or else water_capacity_l.
    gauge_bar: pressure read; read_min_ago: how old the reading is.
    temperature_c: of the cylinder when it was read.
    count_number: how many such cylinders, each at that pressure.
    connected: whether it is on the machine now.
    """

    gauge_bar: float = field(metadata=number(0, 320, "gauge"))
    size: str = field(default="", metadata=text(40, "size of the cylinder"))
    water_capacity_l: float | None = field(default=None, metadata=number(0.3, 200, "water capacity"))
    count_number: float = field(default=1.0, metadata=number(1, 40, "how many"))
    read_min_ago: float = field(default=0.0, metadata=number(0, 100000, "age of the reading"))
    temperature_c: float = field(default=15.0, metadata=number(-30, 55, "temperature of the cylinder"))
    connected: bool = field(default=True, metadata=switch("connected"))

    def __post_init__(self) -> None:
        """Refuse what no cylinder is."""
        check_record(self, "cylinders")
