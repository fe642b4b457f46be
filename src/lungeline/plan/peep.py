"""What PEEP buys and costs: oxygenation against output, and the PEEP that delivers most oxygen."""

from dataclasses import dataclass, replace

from lungeline.case import Profile, Settings
from lungeline.plan.model import Model

STEPS_CMH2O = (0.0, 5.0, 10.0, 15.0, 20.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class PeepStep:
    """One PEEP, all else the same, after half an hour."""

    peep_cmh2o: float
    peak_pressure_cmh2o: float
    pao2_mmhg: float
    shunt_fraction: float
    cardiac_output_l_min: float
    map_mmhg: float
    oxygen_delivery_l_min: float

    def as_json(self) -> dict[str, float]:
        """Return the step as a plain object."""
        return {name: getattr(self, name) for name in PeepStep.__dataclass_fields__}


def peep_steps(model: Model, settings: Settings, profile: Profile) -> tuple[PeepStep, ...]:
    """Return what each PEEP up to the clinic's highest would do, the one set now among them."""
    wanted = {step for step in STEPS_CMH2O if step <= profile.highest_peep_cmh2o} | {settings.peep_cmh2o}
    return tuple(_step(model, replace(settings, peep_cmh2o=peep)) for peep in sorted(wanted))


def _step(model: Model, settings: Settings) -> PeepStep:
    breath = model.steady(settings)
    return PeepStep(
        peep_cmh2o=settings.peep_cmh2o,
        peak_pressure_cmh2o=breath.peak_pressure_cmh2o or 0.0,
        pao2_mmhg=breath.pao2_mmhg or 0.0,
        shunt_fraction=breath.shunt_fraction or 0.0,
        cardiac_output_l_min=breath.cardiac_output_l_min or 0.0,
        map_mmhg=breath.map_mmhg or 0.0,
        oxygen_delivery_l_min=model.oxygen_delivery_l_min(settings),
    )


def best_step(steps: tuple[PeepStep, ...], profile: Profile) -> PeepStep:
    """Return the step that delivers most oxygen of those under the accepted peak; the lowest if none is."""
    under = [step for step in steps if step.peak_pressure_cmh2o <= profile.accepted_peak_cmh2o] or [steps[0]]
    return max(under, key=lambda step: step.oxygen_delivery_l_min)
