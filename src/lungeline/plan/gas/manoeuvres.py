"""What each usual manoeuvre takes out of the reservoir, asked of the simulated animal."""

from dataclasses import dataclass, replace
from typing import Any

from lungeline.case import Case, DeepBreath, Finding, Manoeuvre, Recruitment, Settings
from lungeline.physics.circle import mixed_fraction
from lungeline.plan.model import STEP_S, Model
from lungeline.reference import figure
from lungeline.simulate.live import LiveCase

_WIDE_RESERVOIR_L = 80.0  # so that a manoeuvre shows all it would take
_AIR_OXYGEN_FRACTION = 0.2093
_DEEP_BREATH_MULTIPLE = 2.0
_PEEP_STEP_CMH2O = 5.0
_PEEP_TIME_S = 60.0
_MINUTES_BEFORE = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ManoeuvreNeed:
    """What one manoeuvre takes out of the reservoir at its fullest."""

    name: str
    needed_l: float
    there_l: float
    one_delivery: bool
    oxygen_after_fraction: float
    agent_after_share_fraction: float

    @property
    def short_l(self) -> float:
        """Gas that is not there: drawn in as room air, or a breath cut short."""
        return max(self.needed_l - self.there_l, 0.0)

    def as_json(self) -> dict[str, Any]:
        """Return the need as a plain object."""
        names = ("name", "needed_l", "there_l", "short_l", "one_delivery", "oxygen_after_fraction")
        return {name: getattr(self, name) for name in (*names, "agent_after_share_fraction")}


def manoeuvre_needs(model: Model, settings: Settings, spare_l: float) -> tuple[ManoeuvreNeed, ...]:
    """Return what each usual manoeuvre would take, from a reservoir wide enough to show it."""
    tidal_l = settings.tidal_volume_l
    wide = replace(
        model.case.equipment,
        reservoir_capacity_l=max(_WIDE_RESERVOIR_L, model.case.equipment.reservoir_capacity_l),
    )
    case = replace(
        model.case,
        equipment=wide,
        settings=replace(
            settings, spare_volume_l=wide.reservoir_capacity_l - tidal_l, pressure_limit_cmh2o=100.0
        ),
        assumed_settings=(),
    )
    live = LiveCase(case, dt_s=STEP_S)
    live.advance(60.0 * _MINUTES_BEFORE)
    kept, full_l = live.state(), wide.reservoir_capacity_l
    pressures = tuple(
        figure(f"limits.recruitment.{name}_pressure_cmh2o").value for name in ("first", "second", "first")
    )
    hold_s = figure("limits.recruitment.hold_s").value
    asked: list[tuple[str, Manoeuvre | None]] = [
        (
            f"one deep breath of {_DEEP_BREATH_MULTIPLE:g} tidal volumes",
            DeepBreath(volume_l=_DEEP_BREATH_MULTIPLE * tidal_l),
        ),
        (
            f"recruitment {'-'.join(f'{each:g}' for each in pressures)} cmH2O",
            Recruitment(pressures_cmh2o=pressures, hold_s=hold_s),
        ),
        (f"PEEP {settings.peep_cmh2o + _PEEP_STEP_CMH2O:g} cmH2O", None),
    ]
    found = []
    for name, manoeuvre in asked:
        live.restore(kept)
        live.settle(case.settings)
        del live.breaths[:]
        full_l = live.reservoir_l()
        if manoeuvre is None:
            live.settle(replace(case.settings, peep_cmh2o=settings.peep_cmh2o + _PEEP_STEP_CMH2O))
            live.advance(_PEEP_TIME_S)
        else:
            live.manoeuvre(manoeuvre)
            live.advance(2.0 * 60.0 / settings.respiratory_rate_per_min)
        lowest_l = min(
            (b.spare_volume_l for b in live.breaths if b.spare_volume_l is not None), default=full_l
        )
        found.append(_need(model.case, settings, name, full_l - lowest_l - tidal_l, spare_l))
    return tuple(found)


def _need(case: Case, settings: Settings, name: str, needed_l: float, spare_l: float) -> ManoeuvreNeed:
    """Return a manoeuvre's need beyond a tidal volume, and what room air in its place would do."""
    needed_l = max(needed_l, 0.0)
    short_l = max(needed_l - spare_l, 0.0)
    circle_l = case.equipment.circle_volume_l
    oxygen = settings.fresh_gas_oxygen_fraction
    after = float(mixed_fraction(circle_l, oxygen, short_l, _AIR_OXYGEN_FRACTION))
    return ManoeuvreNeed(
        name=name,
        needed_l=needed_l,
        there_l=spare_l,
        one_delivery=needed_l + settings.tidal_volume_l <= case.equipment.reservoir_capacity_l,
        oxygen_after_fraction=after,
        agent_after_share_fraction=circle_l / (circle_l + short_l),
    )


def manoeuvre_findings(needs: tuple[ManoeuvreNeed, ...]) -> tuple[Finding, ...]:
    """Return what there is to say of manoeuvres the planned spare does not cover."""
    found = []
    for need in needs:
        if need.short_l <= 0.0:
            continue
        code = "manoeuvre_needs_more_gas" if need.one_delivery else "manoeuvre_beyond_reservoir"
        figures: dict[str, float | str | None] = {
            "name": need.name,
            "needed_l": need.needed_l,
            "there_l": need.there_l,
            "oxygen_after_fraction": need.oxygen_after_fraction,
        }
        found.append(Finding(code=code, severity="caution", about="spare.manoeuvres", figures=figures))
    return tuple(found)
