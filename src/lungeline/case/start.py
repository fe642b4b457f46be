"""How things stand when the case begins."""

from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from lungeline.case.checks import check_record
from lungeline.case.fields import choice, number

State = Literal["induced", "settled"]

# None stands only until the record is made: then the state has decided.
_BY_STATE: Any = None
_INJECTABLE_MAC_MULTIPLE: dict[str, float] = {"induced": 0.8, "settled": 0.0}  # assumption


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """What is already in the animal, in the circle and in the reservoir.

    state: induced is just connected, lung still open, no agent aboard; settled is after some 40 min.
    injectable_mac_multiple: depth that drugs given by needle still lend, as parts of MAC; 0.8 just induced.
    reservoir_content_l: gas in the reservoir; None for as much as it may hold.
    circle_oxygen_fraction: oxygen in the gas of the circle; None for what the state implies.
    circle_agent_percent: agent in the gas of the circle; None for what the state implies.
    lung_oxygen_fraction: oxygen in the lung; None for what the state implies.
    """

    state: State = field(default="settled", metadata=choice(get_args(State), "state at the start"))
    injectable_mac_multiple: float = field(default=_BY_STATE, metadata=number(0, 2, "depth by needle"))
    reservoir_content_l: float | None = field(default=None, metadata=number(0, 80, "gas in the reservoir"))
    circle_oxygen_fraction: float | None = field(default=None, metadata=number(0, 1, "oxygen in the circle"))
    circle_agent_percent: float | None = field(default=None, metadata=number(0, 20, "agent in the circle"))
    lung_oxygen_fraction: float | None = field(default=None, metadata=number(0, 1, "oxygen in the lung"))

    def __post_init__(self) -> None:
        """Refuse an impossible start, and let the state decide what was not said."""
        check_record(self, "start")
        if self.injectable_mac_multiple is None:
            object.__setattr__(self, "injectable_mac_multiple", _INJECTABLE_MAC_MULTIPLE[self.state])
