"""Getting awake: when it breathes again, how long off the circle is bearable, what speaks for weaning."""

from dataclasses import dataclass, replace
from typing import Any

from lungeline.case import Case, Disconnect, Finding, Profile, Reasoned
from lungeline.plan.course import Course
from lungeline.plan.derive import Reason, derived
from lungeline.plan.model import STEP_S
from lungeline.reference import figure
from lungeline.simulate.live import LiveCase

LONGEST_WAIT_MIN = 15.0
_STEP_MIN = 0.5
_SLOWER_SHARE = 0.5
_INDICATORS = (
    "limits.clinical.weaning_pao2_fio2_mmhg",
    "limits.clinical.weaning_tidal_volume_l",
    "limits.clinical.weaning_tidal_volume_ml_kg",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OffCircuit:
    """The animal off the circle, in room air: half a minute after half a minute."""

    at_min: float
    pao2_mmhg: float | None
    paco2_mmhg: float | None
    spo2_fraction: float | None

    def as_json(self) -> dict[str, float | None]:
        """Return the row as a plain object."""
        return {name: getattr(self, name) for name in ("at_min", "pao2_mmhg", "paco2_mmhg", "spo2_fraction")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Waking:
    """The end of the case. limit: the clinic's, which no forecast extends."""

    numbers: dict[str, Reasoned]
    indicators: dict[str, Reasoned]
    off_circuit: tuple[OffCircuit, ...]
    findings: tuple[Finding, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the waking as it stands in a plan."""
        return {
            **{name: each.as_json() for name, each in self.numbers.items()},
            "indicators": {name: each.as_json() for name, each in self.indicators.items()},
            "off_circuit": [row.as_json() for row in self.off_circuit],
        }


def waking(case: Case, profile: Profile, ran: Course) -> Waking:
    """Return what to expect at the end of the planned case."""
    apnoea_min, apnoea_co2 = _until_breath(ran, ventilator_on=False)
    slower_min, slower_co2 = _until_breath(ran, ventilator_on=True)
    rows = _off_circuit(ran, case, profile)
    limit = profile.off_circuit_limit_min
    simulated = {"from_min": ran.live.time_s / 60.0}
    not_within = f"not within {LONGEST_WAIT_MIN:g} min"

    def waited(name: str, value: float | None, formula: str) -> Reasoned:
        note = "" if value is not None else not_within
        reason = Reason(formula=formula, given=simulated, sources=("project-fit",), note=note)
        return derived(f"weaning.{name}", value, reason)

    stopped = "ventilator stopped at the end of the planned course, on the circle; simulated"
    slowed = "half the rate at the end of the planned course; simulated"
    numbers = {
        "breathes_after_stop_minutes": waited("breathes_after_stop_minutes", apnoea_min, stopped),
        "paco2_at_first_breath_mmhg": waited("paco2_at_first_breath_mmhg", apnoea_co2, stopped),
        "breathes_at_half_rate_minutes": waited("breathes_at_half_rate_minutes", slower_min, slowed),
        "paco2_at_half_rate_mmhg": waited("paco2_at_half_rate_mmhg", slower_co2, slowed),
        "off_circuit_limit_minutes": derived(
            "weaning.off_circuit_limit_minutes",
            limit,
            Reason(
                formula="the clinic's limit; counts down, no forecast extends it",
                given={"planned_min": case.procedure.off_circuit_min},
                sources=("profile",),
            ),
        ),
    }
    return Waking(
        numbers=numbers, indicators=_indicators(), off_circuit=rows, findings=_findings(case, profile, rows)
    )


def _indicators() -> dict[str, Reasoned]:
    found = {}
    for name in _INDICATORS:
        published = figure(name)
        key = name.rpartition(".")[2]
        reason = Reason(
            formula="as published, above it weaning went well", parts=(published,), note=published.note
        )
        found[key] = derived(
            f"weaning.{key}", published.value, reason, low=published.low, high=published.high
        )
    return found


def _continued(ran: Course) -> LiveCase:
    """Return a case that goes on from the end of the course, which stays as it is."""
    live = LiveCase(ran.live.case, dt_s=STEP_S)
    live.settle(ran.live.settings)
    live.restore(ran.live.state())
    return live


def _until_breath(ran: Course, *, ventilator_on: bool) -> tuple[float | None, float | None]:
    """Return minutes until the animal breathes by itself, and its arterial carbon dioxide then."""
    live = _continued(ran)
    now = live.settings
    slower = max(_SLOWER_SHARE * now.respiratory_rate_per_min, 1.0)
    after = (
        replace(now, respiratory_rate_per_min=slower) if ventilator_on else replace(now, ventilator_on=False)
    )
    live.settle(after)
    began_s, seen = live.time_s, 0
    while live.time_s - began_s < 60.0 * LONGEST_WAIT_MIN:
        live.advance(60.0 * _STEP_MIN)
        for breath in live.breaths[seen:]:
            if (breath.own_breaths_per_min or 0.0) > 0.0:
                return max(breath.time_s - began_s, 0.0) / 60.0, breath.paco2_mmhg
        seen = len(live.breaths)
    return None, None


def _off_circuit(ran: Course, case: Case, profile: Profile) -> tuple[OffCircuit, ...]:
    live = _continued(ran)
    span_min = max(profile.off_circuit_limit_min, case.procedure.off_circuit_min)
    began = live.breaths[-1] if live.breaths else ran.minutes[-1].breath
    rows = [_row(0.0, began)]
    began_s = live.time_s
    live.manoeuvre(Disconnect(minutes=span_min))
    rows += [
        _row((breath.time_s - began_s) / 60.0, breath) for breath in live.breaths if breath.time_s > began_s
    ]
    return tuple(rows)


def _row(at_min: float, breath: Any) -> OffCircuit:  # noqa: ANN401  a breath, of a run or of its end
    return OffCircuit(
        at_min=at_min,
        pao2_mmhg=breath.pao2_mmhg,
        paco2_mmhg=breath.paco2_mmhg,
        spo2_fraction=breath.spo2_fraction,
    )


def _findings(case: Case, profile: Profile, rows: tuple[OffCircuit, ...]) -> tuple[Finding, ...]:
    found = []
    planned, limit = case.procedure.off_circuit_min, profile.off_circuit_limit_min
    if planned > limit:
        figures: dict[str, float | str | None] = {"planned_min": planned, "limit_min": limit}
        found.append(
            Finding(
                code="off_circuit_beyond_limit",
                severity="caution",
                about="weaning.off_circuit_limit_minutes",
                figures=figures,
            )
        )
    low = next((row for row in rows if (row.pao2_mmhg or 0.0) < profile.least_pao2_mmhg), None)
    if low is not None:
        found.append(
            Finding(
                code="off_circuit_oxygen_low",
                severity="caution",
                about="weaning.off_circuit",
                figures={
                    "at_min": low.at_min,
                    "pao2_mmhg": low.pao2_mmhg,
                    "least_mmhg": profile.least_pao2_mmhg,
                },
            )
        )
    return tuple(found)
