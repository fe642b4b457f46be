"""What supplies are reckoned from: the schedule of fresh gas and agent, the priming, the breathing."""

from dataclasses import dataclass

from lungeline.case import Case, Profile
from lungeline.plan.gas.gas_schedule import GasSchedule, gas_schedule
from lungeline.plan.gas.priming import Priming, priming


@dataclass(frozen=True, slots=True, kw_only=True)
class GasUse:
    """The planned use of gas.

    minute_volume_l_min: for drive gas; None for tidal volume times rate of the case.
    peak_pressure_cmh2o: for the leak; None for the highest the clinic accepts.
    """

    schedule: GasSchedule
    priming: Priming
    minute_volume_l_min: float | None = None
    peak_pressure_cmh2o: float | None = None


def planned_use(case: Case, profile: Profile) -> GasUse:
    """Return the use of gas that follows from case and profile alone."""
    return GasUse(schedule=gas_schedule(case, profile), priming=priming(case, profile))
