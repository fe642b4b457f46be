"""Where the plan starts: what was asked for, then the clinic's choice, then the rule of thumb."""

from dataclasses import dataclass, replace

from lungeline.case import Case, Profile, Reasoned, Settings, from_figure
from lungeline.units import convert, unit_of

# Settings a clinic may have chosen, and the place of that choice in the profile.
_CHOSEN = {
    "respiratory_rate_per_min": "respiratory_rate_per_min",
    "inspiratory_time_s": "inspiratory_time_s",
    "peep_cmh2o": "peep_cmh2o",
}
_LONGEST_PART_OF_BREATH = 1 / 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Starting:
    """Settings before the model was asked.

    settings: complete; fixed: those the case asks for, which a plan does not change;
    reasons: by setting, where each came from.
    """

    settings: Settings
    fixed: frozenset[str]
    reasons: dict[str, Reasoned]


def starting(case: Case, profile: Profile) -> Starting:
    """Return the settings a clinic would begin with."""
    asked = frozenset(case.rules_of_thumb()) - frozenset(case.assumed_settings)
    settings = case.settings
    chosen: dict[str, float] = {}
    if profile.tidal_volume_ml_kg is not None and "tidal_volume_l" not in asked:
        chosen["tidal_volume_l"] = convert(profile.tidal_volume_ml_kg * case.animal.weight_kg, "ml", "l")
    for name, place in _CHOSEN.items():
        value = getattr(profile, place)
        if value is not None and name not in asked:
            chosen[name] = value
    settings = replace(settings, **chosen)  # type: ignore[arg-type]  # all of them are numbers
    if "inspiratory_time_s" not in asked | chosen.keys():
        longest_s = _LONGEST_PART_OF_BREATH * 60.0 / settings.respiratory_rate_per_min
        settings = replace(settings, inspiratory_time_s=min(settings.inspiratory_time_s, longest_s))
    return Starting(settings=settings, fixed=asked, reasons=_reasons(case, settings, asked, chosen, profile))


def _reasons(
    case: Case, settings: Settings, asked: frozenset[str], chosen: dict[str, float], profile: Profile
) -> dict[str, Reasoned]:
    found = {}
    for name, rule in case.rules_of_thumb().items():
        value = getattr(settings, name)
        if name in asked:
            found[name] = _told(name, value, "as asked for", "case")
        elif name in chosen:
            found[name] = _told(name, value, f"the clinic's choice, profile {profile.name}", "profile")
        else:
            found[name] = replace(from_figure(f"rule_of_thumb.{name}", rule), value=value)
    return found


def _told(name: str, value: float, formula: str, source: str) -> Reasoned:
    unit = unit_of(name)
    return Reasoned(
        name=f"rule_of_thumb.{name}",
        value=value,
        formula=formula,
        inputs={name: value} if unit else {},
        basis="consensus",
        sources=(source,),
    )
