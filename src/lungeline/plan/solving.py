"""Settings that reach the wanted carbon dioxide under the pressure, flow and time there is.

Rate first, at the clinic's tidal volume; then tidal volume; what cannot be had is said, with what stands
in the way. The model is asked after every move.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

from lungeline.case import Breath, Case, Finding, Profile, Settings
from lungeline.plan.model import Model
from lungeline.reference import figure
from lungeline.units import convert

MOST_MOVES = 12
AIM_INSIDE_FRACTION = 0.25  # of the band, from the edge that was missed
MOST_VOLUME_CHANGE = 1.15  # at a time
LEAST_VOLUME_SHARE = 0.7  # of the lowest usual volume, where pressure asks for it; assumption
OWN_BREATHS_SHARE = 0.2  # of the set rate: above it the animal rules its carbon dioxide itself
_LONGEST_PART_OF_BREATH = 0.4  # inspiration to expiration 1:1.5, no shorter
_FLOW_MARGIN = 1.02
_SETTABLE_STEP = ((2.0, 0.1), (0.5, 0.05), (0.0, 0.01))  # what a person can set, by size


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """How far settings may move.

    volume_l, rate_per_min: lowest and highest; fixed: settings that do not move.
    """

    volume_l: tuple[float, float]
    rate_per_min: tuple[float, float]
    fixed: frozenset[str]


def room(case: Case, settings: Settings, fixed: frozenset[str]) -> Room:
    """Return the room a species' rules of thumb leave around the settings begun with."""
    species = case.animal.species
    volume = figure(f"defaults.{species}.tidal_volume_ml_kg")
    rate = figure(f"defaults.{species}.respiratory_rate_per_min")
    litres = convert(case.animal.weight_kg, "ml", "l")
    return Room(
        volume_l=(
            LEAST_VOLUME_SHARE * min(volume.low * litres, settings.tidal_volume_l),
            max(volume.high * litres, settings.tidal_volume_l),
        ),
        rate_per_min=(
            min(rate.low, settings.respiratory_rate_per_min),
            max(2.0 * rate.high, settings.respiratory_rate_per_min),
        ),
        fixed=fixed,
    )


def time_constant_s(breath: Breath, settings: Settings, expiratory_resistance_cmh2o_s_l: float) -> float:
    """Return resistance times compliance as read off a breath: the gap from peak to plateau, and the limb."""
    flow = settings.tidal_volume_l / settings.inspiratory_time_s
    gap = (breath.peak_pressure_cmh2o or 0.0) - (breath.plateau_pressure_cmh2o or 0.0)
    resistance = max(gap, 0.0) / flow + expiratory_resistance_cmh2o_s_l
    return resistance * (breath.compliance_l_cmh2o or 0.0)


def highest_rate_per_min(model: Model, settings: Settings, profile: Profile) -> float:
    """Return the fastest rate that leaves time to breathe out, and inspiration its part of the breath."""
    tau_s = time_constant_s(
        model.steady(settings), settings, model.case.equipment.expiratory_resistance_cmh2o_s_l
    )
    blown_s = settings.inspiratory_time_s + settings.pause_s
    by_time = 60.0 / (blown_s + profile.expiration_time_constants_number * tau_s)
    return min(by_time, 60.0 * _LONGEST_PART_OF_BREATH / blown_s)


def solved(
    model: Model, settings: Settings, space: Room, profile: Profile
) -> tuple[Settings, tuple[Finding, ...]]:
    """Return settings that bring PaCO2 into the profile's band, and what stood in the way if they cannot."""
    settings, findings = _within_flow(model, settings, space)
    blocked: str | None = None
    for _ in range(MOST_MOVES):
        moved, blocked = _moved(model, settings, space, profile)
        if moved == settings:
            break
        if blocked == "pressure":  # what was too large once is not tried again
            space = replace(space, volume_l=(space.volume_l[0], moved.tidal_volume_l))
        settings, more = _within_flow(model, moved, space)
        findings = more or findings
    return settings, (*findings, *_judged(model, settings, profile, blocked))


def _moved(  # noqa: PLR0911  one way out for each thing that can be moved
    model: Model, settings: Settings, space: Room, profile: Profile
) -> tuple[Settings, str | None]:
    """Return the next settings to ask about, and what blocks where they stay the same."""
    breath = model.steady(settings)
    peak, paco2 = breath.peak_pressure_cmh2o or 0.0, breath.paco2_mmhg or 0.0
    low, high = profile.paco2_low_mmhg, profile.paco2_high_mmhg
    over = peak > profile.accepted_peak_cmh2o
    if over and (smaller := _volume(settings, space, _share_of_pressure(settings, breath, profile))):
        return smaller, "pressure"
    if low <= paco2 <= high:
        return settings, None
    aim = (
        high - AIM_INSIDE_FRACTION * (high - low)
        if paco2 > high
        else low + AIM_INSIDE_FRACTION * (high - low)
    )
    fastest = min(space.rate_per_min[1], highest_rate_per_min(model, settings, profile))
    if faster := _rate(settings, space, paco2 / aim, fastest):
        return faster, None
    if paco2 > high and not over:
        spare_pressure = _share_of_pressure(settings, breath, profile)
        larger = _volume(settings, space, min(paco2 / aim, MOST_VOLUME_CHANGE, spare_pressure))
        if larger and larger.tidal_volume_l > settings.tidal_volume_l:
            return larger, None
    if paco2 < low and _breathes_itself(settings, breath):
        return settings, "its own breathing"
    if paco2 < low and (smaller := _volume(settings, space, max(paco2 / aim, 1.0 / MOST_VOLUME_CHANGE))):
        return smaller, None
    return settings, _what_blocks(settings, space, paco2 > high, over, fastest)


def _breathes_itself(settings: Settings, breath: Breath) -> bool:
    return (breath.own_breaths_per_min or 0.0) > OWN_BREATHS_SHARE * settings.respiratory_rate_per_min


def _what_blocks(settings: Settings, space: Room, too_high: bool, over: bool, fastest: float) -> str:  # noqa: FBT001  read once, by name above
    if {"tidal_volume_l", "respiratory_rate_per_min"} <= space.fixed:
        return "settings asked for"
    if not too_high:
        return "lowest rate and volume"
    if over or settings.tidal_volume_l < space.volume_l[1] * 0.99:
        return "pressure"
    return "time to breathe out" if fastest < space.rate_per_min[1] else "highest rate and volume"


def _share_of_pressure(settings: Settings, breath: Breath, profile: Profile) -> float:
    """Return by what the volume may be multiplied until the peak is the accepted one."""
    driving = (breath.peak_pressure_cmh2o or 0.0) - settings.peep_cmh2o
    return max(profile.accepted_peak_cmh2o - settings.peep_cmh2o, 1.0) / max(driving, 0.1)


def _rate(settings: Settings, space: Room, factor: float, fastest: float) -> Settings | None:
    """Return the settings at another rate, None where it cannot move."""
    if "respiratory_rate_per_min" in space.fixed:
        return None
    now = settings.respiratory_rate_per_min
    lowest = space.rate_per_min[0]
    wanted = min(max(now * factor, lowest), max(fastest, lowest))
    wanted = settable(wanted, down=factor > 1.0 and wanted >= fastest)
    if wanted == now or (wanted > now) != (factor > 1.0):
        return None
    return replace(settings, respiratory_rate_per_min=wanted)


def _volume(settings: Settings, space: Room, factor: float) -> Settings | None:
    """Return the settings at another tidal volume, None where it cannot move."""
    if "tidal_volume_l" in space.fixed:
        return None
    low, high = space.volume_l
    wanted = settable(min(max(settings.tidal_volume_l * factor, low), high), down=factor < 1.0)
    if wanted == settings.tidal_volume_l or (wanted > settings.tidal_volume_l) != (factor > 1.0):
        return None
    return replace(settings, tidal_volume_l=wanted)


def settable_step(value: float) -> float:
    """Return the step in which a person can set a value of this size."""
    return next(step for size, step in _SETTABLE_STEP if value >= size)


def settable(value: float, *, down: bool = False) -> float:
    """Return the nearest value a person can set, or the one below.

    >>> settable(5.4321), settable(0.4321), settable(7.96, down=True)
    (5.4, 0.43, 7.9)
    """
    step = settable_step(value)
    marks = value / step
    return round(step * (int(marks + 1e-9) if down else round(marks)), 4)


def _within_flow(model: Model, settings: Settings, space: Room) -> tuple[Settings, tuple[Finding, ...]]:
    """Lengthen inspiration where the machine could not give the volume in its time."""
    ceiling = model.case.equipment.flow_ceiling_l_s
    needed_s = _FLOW_MARGIN * settings.tidal_volume_l / ceiling
    if settings.inspiratory_time_s >= needed_s:
        return settings, ()
    fixed = "inspiratory_time_s" in space.fixed
    told = {
        "tidal_volume_l": settings.tidal_volume_l,
        "inspiratory_time_s": settings.inspiratory_time_s,
        "needed_time_s": needed_s,
        "flow_ceiling_l_s": ceiling,
    }
    code = "flow_beyond_machine" if fixed else "inspiration_lengthened"
    finding = Finding(
        code=code,
        severity="stop" if fixed else "note",
        about="settings.inspiratory_time_s",
        figures=told,
    )
    if fixed:
        return settings, (finding,)
    return replace(settings, inspiratory_time_s=settable(needed_s + 0.05)), (finding,)


def _judged(model: Model, settings: Settings, profile: Profile, blocked: str | None) -> tuple[Finding, ...]:
    """Say what the settings found do not reach."""
    breath = model.steady(settings)
    found: list[Finding] = []

    def say(code: str, about: str, **figures: float | str | None) -> None:
        found.append(Finding(code=code, severity="caution", about=about, figures=figures))

    paco2, peak = breath.paco2_mmhg or 0.0, breath.peak_pressure_cmh2o or 0.0
    if not profile.paco2_low_mmhg <= paco2 <= profile.paco2_high_mmhg:
        say(
            "carbon_dioxide_outside_band",
            "expected.paco2_mmhg",
            paco2_mmhg=paco2,
            low_mmhg=profile.paco2_low_mmhg,
            high_mmhg=profile.paco2_high_mmhg,
            stands_in_the_way=blocked or "nothing found",
        )
    if peak > profile.accepted_peak_cmh2o:
        say(
            "peak_above_accepted",
            "expected.peak_pressure_cmh2o",
            peak_cmh2o=peak,
            accepted_cmh2o=profile.accepted_peak_cmh2o,
        )
    _judge_expiration(model, settings, profile, say)
    return tuple(found)


def _judge_expiration(model: Model, settings: Settings, profile: Profile, say: Callable[..., None]) -> None:
    breath = model.steady(settings)
    tau_s = time_constant_s(breath, settings, model.case.equipment.expiratory_resistance_cmh2o_s_l)
    left_s = 60.0 / settings.respiratory_rate_per_min - settings.inspiratory_time_s - settings.pause_s
    if left_s < profile.expiration_time_constants_number * tau_s * 0.999:
        say(
            "expiration_too_short",
            "settings.respiratory_rate_per_min",
            expiratory_time_s=left_s,
            time_constant_s=tau_s,
            wanted_number=profile.expiration_time_constants_number,
        )
