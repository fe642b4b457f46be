"""The ventilator's settings: the clinic's rule first, then what the model finds for this animal."""

import math
from dataclasses import dataclass, replace
from typing import Any

from lungeline.case import Case, Finding, Profile, Reasoned, Settings
from lungeline.physics.leaks import leak_ml_min
from lungeline.physics.ventilation_timing import (
    expiratory_time_s,
    inspiratory_expiratory_ratio,
    mean_inspiratory_flow_l_s,
    minute_volume_l_min,
)
from lungeline.plan.derive import Reason, derived
from lungeline.plan.gas.gas_demand import LEAK_TEST_CMH2O
from lungeline.plan.model import STEADY_MIN, Model
from lungeline.plan.peep import PeepStep, best_step, peep_steps
from lungeline.plan.solving import highest_rate_per_min, room, solved, time_constant_s
from lungeline.plan.starting import Starting
from lungeline.reference import figure, species_status
from lungeline.units import convert

_TRIGGER_OVER_LEAK_MULTIPLE = 2.0
_BACKUP_BREATHS = 2.0
_LEAST_BACKUP_S = 10.0
SOLVED = ("tidal_volume_l", "respiratory_rate_per_min", "inspiratory_time_s", "peep_cmh2o")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ventilation:
    """Settings of the ventilator with what they mean.

    settings: complete but for the pressure limit, which waits for the herd; numbers: what follows from them;
    peep_steps: what each PEEP would do; best_peep_cmh2o: the one that delivers most oxygen.
    """

    settings: Settings
    reasons: dict[str, Reasoned]
    numbers: dict[str, Reasoned]
    peep_steps: tuple[PeepStep, ...]
    best_peep_cmh2o: float
    findings: tuple[Finding, ...]

    def as_json(self) -> dict[str, Any]:
        """Return what follows from the settings; they themselves stand under `settings`."""
        return {
            **{key: number.as_json() for key, number in self.numbers.items()},
            "best_peep_cmh2o": self.best_peep_cmh2o,
            "peep_steps": [step.as_json() for step in self.peep_steps],
        }


def ventilation(model: Model, begun: Starting, profile: Profile) -> Ventilation:
    """Return settings solved with the model, or, for a species it was not checked on, the rule of thumb."""
    status = species_status(model.case.animal.species)
    steps = peep_steps(model, begun.settings, profile)
    best = best_step(steps, profile)
    if status.validated:
        settings = _with_peep(begun, best, profile)
        settings, findings = solved(model, settings, room(model.case, settings, begun.fixed), profile)
    else:
        settings = begun.settings
        told = {"species": status.species, "reason": status.reason}
        findings = (Finding(code="species_not_validated", severity="stop", about="settings", figures=told),)
    settings = _assisted(model, settings, begun.fixed)
    return Ventilation(
        settings=settings,
        reasons=_reasons(model, begun, settings, best),
        numbers=_numbers(model, settings, profile),
        peep_steps=steps,
        best_peep_cmh2o=best.peep_cmh2o,
        findings=(*findings, *_peep_findings(steps, settings, profile)),
    )


def _with_peep(begun: Starting, best: PeepStep, profile: Profile) -> Settings:
    """Take the PEEP that delivers most oxygen, unless one was asked for or the clinic has its own."""
    if "peep_cmh2o" in begun.fixed or profile.peep_cmh2o is not None:
        return begun.settings
    return replace(begun.settings, peep_cmh2o=best.peep_cmh2o)


def _assisted(model: Model, settings: Settings, fixed: frozenset[str]) -> Settings:
    """Set trigger and back-up for breaths the animal may begin: above what a leak looks like."""
    changes: dict[str, float] = {}
    if "trigger_flow_l_min" not in fixed:
        leak, beat = leak_at_peep_l_min(model.case, settings), cardiac_oscillation_l_min(model.case)
        above = _TRIGGER_OVER_LEAK_MULTIPLE * leak + beat
        changes["trigger_flow_l_min"] = max(settings.trigger_flow_l_min, float(math.ceil(above)))
    if "apnoea_backup_s" not in fixed:
        breath_s = 60.0 / settings.respiratory_rate_per_min
        changes["apnoea_backup_s"] = max(float(math.ceil(_BACKUP_BREATHS * breath_s)), _LEAST_BACKUP_S)
    return replace(settings, **changes)  # type: ignore[arg-type]  # both are numbers


def leak_at_peep_l_min(case: Case, settings: Settings) -> float:
    """Return the leak at the end of expiration, which a flow trigger may take for a breath."""
    e = case.equipment
    leak = leak_ml_min(
        settings.peep_cmh2o, e.leak_at_30_cmh2o_ml_min, LEAK_TEST_CMH2O, e.leak_exponent_number
    )
    return convert(float(leak), "ml_min", "l_min")


def cardiac_oscillation_l_min(case: Case) -> float:
    """Return the flow at the airway that a heart beat makes, which a flow trigger may take for a breath."""
    return convert(
        figure("breathing.cardiac_oscillation_ml_kg_min").value * case.animal.weight_kg, "ml_min", "l_min"
    )


def _reasons(model: Model, begun: Starting, settings: Settings, best: PeepStep) -> dict[str, Reasoned]:
    """Return for every setting where its value comes from."""
    found = {}
    for name, rule in begun.reasons.items():
        value = getattr(settings, name)
        if name in SOLVED and value != rule.value:
            formula = "rule of thumb, moved with the simulated animal until PaCO2, pressure and time agree"
            if name == "peep_cmh2o":
                formula = "the PEEP that delivers most oxygen to the simulated animal under the accepted peak"
            given: dict[str, float | str | None] = {
                "after_min": STEADY_MIN,
                "paco2_mmhg": model.steady(settings).paco2_mmhg,
                "best_peep_cmh2o": best.peep_cmh2o,
            }
            reason = Reason(formula=formula, parts=(rule,), given=given, sources=("project-fit", "profile"))
            found[name] = derived(f"settings.{name}", value, reason)
        elif value != rule.value:
            formula = "rule of thumb, raised above twice the leak and the heart beat; back-up: two breaths"
            given = {
                "leak_at_peep_l_min": leak_at_peep_l_min(model.case, settings),
                "cardiac_oscillation_l_min": cardiac_oscillation_l_min(model.case),
            }
            reason = Reason(formula=formula, parts=(rule,), given=given, sources=("project-assumption",))
            found[name] = derived(f"settings.{name}", value, reason)
        else:
            found[name] = replace(rule, name=f"settings.{name}")
    return found


def _numbers(model: Model, settings: Settings, profile: Profile) -> dict[str, Reasoned]:
    breath, e = model.steady(settings), model.case.equipment
    rate, blown_s, pause_s = (
        settings.respiratory_rate_per_min,
        settings.inspiratory_time_s,
        settings.pause_s,
    )
    out_s = float(expiratory_time_s(rate, blown_s, pause_s))
    flow = float(mean_inspiratory_flow_l_s(settings.tidal_volume_l, blown_s))
    tau_s = time_constant_s(breath, settings, e.expiratory_resistance_cmh2o_s_l)
    ratio = float(inspiratory_expiratory_ratio(blown_s, out_s)) if out_s > 0.0 else None
    cpap = figure("limits.clinical.cpap_cmh2o")
    set_values = {
        "tidal_volume_l": settings.tidal_volume_l,
        "respiratory_rate_per_min": rate,
        "inspiratory_time_s": blown_s,
        "pause_s": pause_s,
    }
    table: list[tuple[str, float | None, Reason]] = [
        ("cycle_s", 60.0 / rate, Reason(formula="60 ÷ rate", given=set_values, sources=("case",))),
        (
            "expiratory_time_s",
            out_s,
            Reason(
                formula="60 ÷ rate, less inspiratory time and pause",
                given=set_values,
                sources=("case",),
            ),
        ),
        (
            "inspiratory_expiratory_ratio",
            ratio,
            Reason(formula="inspiratory ÷ expiratory time", given=set_values, sources=("case",)),
        ),
        (
            "mean_inspiratory_flow_l_s",
            flow,
            Reason(
                formula="tidal volume ÷ inspiratory time",
                given={**set_values, "flow_ceiling_l_s": e.flow_ceiling_l_s},
                sources=("case",),
            ),
        ),
        (
            "minute_volume_l_min",
            float(minute_volume_l_min(settings.tidal_volume_l, rate)),
            Reason(formula="tidal volume × rate", given=set_values, sources=("case",)),
        ),
        (
            "time_constant_s",
            tau_s,
            Reason(
                formula="((peak less plateau) ÷ mean flow + expiratory limb) × compliance",
                given={
                    "peak_pressure_cmh2o": breath.peak_pressure_cmh2o,
                    "plateau_pressure_cmh2o": breath.plateau_pressure_cmh2o,
                    "compliance_l_cmh2o": breath.compliance_l_cmh2o,
                    "expiratory_resistance_cmh2o_s_l": e.expiratory_resistance_cmh2o_s_l,
                },
                sources=("project-fit",),
            ),
        ),
        (
            "highest_rate_per_min",
            highest_rate_per_min(model, settings, profile),
            Reason(
                formula="60 ÷ (inspiration + pause + wanted time constants × time constant)",
                given={
                    "time_constant_s": tau_s,
                    "expiration_time_constants_number": profile.expiration_time_constants_number,
                },
                sources=("profile", "project-fit"),
            ),
        ),
        (
            "leak_at_peep_l_min",
            leak_at_peep_l_min(model.case, settings),
            Reason(
                formula="leak at 30 cmH2O × (PEEP ÷ 30)^exponent",
                given={
                    "leak_at_30_cmh2o_ml_min": e.leak_at_30_cmh2o_ml_min,
                    "leak_exponent_number": e.leak_exponent_number,
                    "peep_cmh2o": settings.peep_cmh2o,
                },
                sources=("case",),
            ),
        ),
        (
            "cpap_cmh2o",
            cpap.value,
            Reason(
                formula="as published; stays as PEEP when control starts, until taken off",
                parts=(cpap,),
            ),
        ),
    ]
    return {name: derived(f"ventilation.{name}", value, reason) for name, value, reason in table}


def _peep_findings(steps: tuple[PeepStep, ...], settings: Settings, profile: Profile) -> tuple[Finding, ...]:
    """Say what the chosen PEEP costs where it costs much, and where oxygen stays low whatever is done."""
    chosen = next((step for step in steps if step.peep_cmh2o == settings.peep_cmh2o), None)
    most = max(steps, key=lambda step: step.oxygen_delivery_l_min)
    found = []
    if chosen and chosen.oxygen_delivery_l_min < 0.95 * most.oxygen_delivery_l_min:
        found.append(
            Finding(
                code="peep_costs_delivery",
                severity="advice",
                about="settings.peep_cmh2o",
                figures={
                    "peep_cmh2o": chosen.peep_cmh2o,
                    "delivery_l_min": chosen.oxygen_delivery_l_min,
                    "best_peep_cmh2o": most.peep_cmh2o,
                    "best_delivery_l_min": most.oxygen_delivery_l_min,
                },
            )
        )
    if chosen and chosen.pao2_mmhg < profile.least_pao2_mmhg:
        found.append(
            Finding(
                code="oxygen_low_expected",
                severity="caution",
                about="expected.pao2_mmhg",
                figures={"pao2_mmhg": chosen.pao2_mmhg, "least_mmhg": profile.least_pao2_mmhg},
            )
        )
    if chosen and chosen.map_mmhg < profile.least_map_mmhg:
        found.append(
            Finding(
                code="pressure_low_expected",
                severity="advice",
                about="expected.map_mmhg",
                figures={"map_mmhg": chosen.map_mmhg, "least_mmhg": profile.least_map_mmhg},
            )
        )
    return tuple(found)
