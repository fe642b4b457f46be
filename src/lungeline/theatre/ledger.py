"""The ledger of spare gas: what the reservoir holds, what the next manoeuvre needs, what flows in and out."""

from dataclasses import dataclass
from typing import Any

from lungeline.case import Case
from lungeline.plan.course import course
from lungeline.plan.gas.manoeuvres import ManoeuvreNeed, manoeuvre_needs
from lungeline.plan.model import Model

_SETTLED_MIN = 20.0  # after which a minute is like the next
_FLOWS = ("fresh_gas_l", "oxygen_used_l", "leaked_l", "sampled_l", "spilled_l", "room_air_l")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """What the reservoir must do with what is set now.

    ceiling_l: what it holds when full as set; lowest_l: what an animal like this leaves in it at least;
    flows_l: litres that come and go in a minute.
    """

    tidal_volume_l: float
    ceiling_l: float
    reservoir_capacity_l: float
    lowest_l: float
    flows_l: dict[str, float]
    manoeuvres: tuple[ManoeuvreNeed, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        names = ("tidal_volume_l", "ceiling_l", "reservoir_capacity_l", "lowest_l", "flows_l")
        needs = [each.as_json() for each in self.manoeuvres]
        return {name: getattr(self, name) for name in names} | {"manoeuvres": needs}


def ledger(case: Case) -> Ledger:
    """Return the ledger of a case as it is set now, by an animal like this one."""
    settings, capacity_l = case.settings, case.equipment.reservoir_capacity_l
    minute = course(case, _SETTLED_MIN).minutes[-1]
    return Ledger(
        tidal_volume_l=settings.tidal_volume_l,
        ceiling_l=min(settings.tidal_volume_l + settings.spare_volume_l, capacity_l),
        reservoir_capacity_l=capacity_l,
        lowest_l=max(minute.lowest_reservoir_l, 0.0),
        flows_l={name: getattr(minute, name) for name in _FLOWS},
        manoeuvres=manoeuvre_needs(Model(case), settings, settings.spare_volume_l),
    )
