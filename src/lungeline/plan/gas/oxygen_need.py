"""Oxygen the job takes, part by part: priming, induction, maintenance, drive gas, recovery."""

from dataclasses import dataclass

from lungeline.case import Case, Profile, Reasoned
from lungeline.plan.derive import Reason, derived, number
from lungeline.plan.gas.gas_demand import least_flow
from lungeline.plan.gas.gas_schedule import GasPhase
from lungeline.plan.gas.gas_use import GasUse
from lungeline.plan.gas.priming import Priming
from lungeline.reference import figure

LONGEST_PRIMING_MIN = 60.0  # nobody waits longer for a circle: assumption


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """Oxygen drawn in one phase on the circle. lasts_min: planned; l_min: all that draws."""

    lasts_min: float
    l_min: Reasoned


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenNeed:
    """Litres of each part, their sum, and what draws minute by minute on the circle."""

    priming_l: Reasoned
    induction_l: Reasoned
    maintenance_l: Reasoned
    drive_l: Reasoned
    recovery_l: Reasoned
    needed_l: Reasoned
    induction: Draw
    maintenance: Draw

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number of it."""
        return (
            self.priming_l,
            self.induction_l,
            self.maintenance_l,
            self.drive_l,
            self.recovery_l,
            self.needed_l,
            self.induction.l_min,
            self.maintenance.l_min,
        )

    @property
    def aside_l(self) -> float:
        """What is not there for the time on the circle: priming and recovery."""
        return number(self.priming_l) + number(self.recovery_l)

    def minutes_of(self, litres: float) -> float:
        """Return how long litres last on the circle, induction first, priming and recovery set aside."""
        left_l = max(litres - self.aside_l, 0.0)
        first_l = number(self.induction.l_min) * self.induction.lasts_min
        if left_l <= first_l:
            return _over(left_l, number(self.induction.l_min))
        return self.induction.lasts_min + _over(left_l - first_l, number(self.maintenance.l_min))


def _over(litres: float, l_min: float) -> float:
    return litres / l_min if l_min > 0.0 else float("inf")


def oxygen_need(case: Case, profile: Profile, use: GasUse) -> OxygenNeed:
    """Return the oxygen that the planned use of gas takes from its source."""
    induction, maintenance = use.schedule.phases
    peak_cmh2o, primed = use.peak_pressure_cmh2o, use.priming
    drive = _drive(case, use.minute_volume_l_min)
    draws = [_draw(case, profile, phase, drive, peak_cmh2o) for phase in (induction, maintenance)]
    parts = [
        _priming(case, primed),
        *(_fresh(case, profile, phase, peak_cmh2o) for phase in (induction, maintenance)),
        _drive_litres(case, drive),
        _recovery(case, profile),
    ]
    needed = derived(
        "supplies.oxygen_needed_l",
        sum(number(part) for part in parts),
        Reason(formula="sum of its parts", parts=tuple(parts)),
    )
    return OxygenNeed(
        priming_l=parts[0],
        induction_l=parts[1],
        maintenance_l=parts[2],
        drive_l=parts[3],
        recovery_l=parts[4],
        needed_l=needed,
        induction=draws[0],
        maintenance=draws[1],
    )


def source_share(case: Case, oxygen_fraction: float) -> float:
    """Return how much of the fresh gas comes from the oxygen source, the rest being air [1]."""
    air = figure("atmosphere.oxygen_fraction").value
    source = case.supply.concentrator_oxygen_fraction if case.supply.oxygen == "concentrator" else 1.0
    return min(max((oxygen_fraction - air) / (source - air), 0.0), 1.0) if source > air else 1.0


def _fresh_l_min(case: Case, profile: Profile, phase: GasPhase, peak_cmh2o: float | None) -> Reasoned:
    """Return what flows from the source into the circle: fresh gas, or what animal and leak take if more."""
    least = least_flow(case, profile, peak_cmh2o)
    share = source_share(case, number(phase.fresh_gas_oxygen_fraction))
    value = max(number(phase.fresh_gas_flow_l_min) * share, number(least))
    reason = Reason(
        formula="fresh gas × part that comes from the source, and not less than is used and lost",
        parts=(phase.fresh_gas_flow_l_min, phase.fresh_gas_oxygen_fraction, least),
        given={"source_fraction": share},
    )
    return derived(f"supplies.{phase.phase}_fresh_l_min", value, reason)


def _fresh(case: Case, profile: Profile, phase: GasPhase, peak_cmh2o: float | None) -> Reasoned:
    fresh = _fresh_l_min(case, profile, phase, peak_cmh2o)
    reason = Reason(formula="oxygen into the circle × minutes", parts=(fresh, phase.lasts_minutes))
    litres = number(fresh) * number(phase.lasts_minutes)
    return derived(f"supplies.oxygen_{phase.phase}_l", litres, reason)


def _draw(case: Case, profile: Profile, phase: GasPhase, drive: Reasoned, peak_cmh2o: float | None) -> Draw:
    fresh = _fresh_l_min(case, profile, phase, peak_cmh2o)
    reason = Reason(formula="oxygen into the circle + drive gas", parts=(fresh, drive))
    total = derived(f"supplies.draw_{phase.phase}_l_min", number(fresh) + number(drive), reason)
    return Draw(lasts_min=number(phase.lasts_minutes), l_min=total)


def _drive(case: Case, minute_volume_l_min: float | None) -> Reasoned:
    name, supply, s = "supplies.drive_l_min", case.supply, case.settings
    if supply.drive_gas != "oxygen" or not s.ventilator_on:
        reason = Reason(formula="no oxygen drives the ventilator", sources=("case",))
        return derived(name, 0.0, reason)
    minute_l = s.tidal_volume_l * s.respiratory_rate_per_min
    minute_l = minute_l if minute_volume_l_min is None else minute_volume_l_min
    reason = Reason(
        formula="minute volume × drive gas for each litre breathed",
        given={"minute_volume_l_min": minute_l, "drive_gas_multiple": supply.drive_gas_multiple},
        sources=("case",),
    )
    return derived(name, minute_l * supply.drive_gas_multiple, reason)


def _drive_litres(case: Case, drive: Reasoned) -> Reasoned:
    minutes = case.procedure.expected_min
    reason = Reason(formula="drive gas × minutes", parts=(drive,), given={"expected_min": minutes})
    return derived("supplies.oxygen_drive_l", number(drive) * minutes, reason)


def _priming(case: Case, primed: Priming) -> Reasoned:
    """Return what priming takes, ended after an hour where it comes to no end before."""
    lasts = primed.minutes.value
    minutes = LONGEST_PRIMING_MIN if lasts is None else min(lasts, LONGEST_PRIMING_MIN)
    share = source_share(case, case.settings.fresh_gas_oxygen_fraction)
    reason = Reason(
        formula="priming flow × minutes, an hour at most × part that comes from the source",
        parts=(primed.flow_l_min, primed.minutes),
        given={"source_fraction": share},
        note="" if lasts is not None else "Priming comes to no end: an hour of it is counted.",
    )
    return derived("supplies.oxygen_priming_l", number(primed.flow_l_min) * minutes * share, reason)


def _recovery(case: Case, profile: Profile) -> Reasoned:
    flow, minutes = profile.recovery_oxygen_l_min, case.procedure.recovery_min
    reason = Reason(
        formula="flow in recovery × minutes",
        given={"recovery_oxygen_l_min": flow, "recovery_min": minutes},
        sources=("profile", "case"),
    )
    return derived("supplies.oxygen_recovery_l", flow * minutes, reason)
