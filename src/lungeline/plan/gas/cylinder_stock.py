"""Oxygen in the cylinders at hand: from size or water capacity, gauge and temperature, as a real gas."""

from dataclasses import dataclass
from typing import Any

from lungeline.case import Case, Cylinder, Finding, Profile, Reasoned
from lungeline.errors import MissingError, UnknownNameError
from lungeline.physics.cylinders import (
    content_by_factor_l,
    cylinder_content_l,
    endurance_whole_min,
    gauge_at_15c_bar,
)
from lungeline.plan.derive import Part, Reason, by_last_name, derived, number
from lungeline.reference import figure, figures
from lungeline.simulate.setup import barometric_pressure_mmhg
from lungeline.units import convert

_METRIC = "metric_"
_OVERFILLED = 1.1  # gauge at 15 °C over the pressure of a full one, beyond doubt: assumption
_UNSURE_FRACTION = 0.1  # contents by the book and by the gas law further apart than this need a word


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderStock:
    """Cylinders of one kind and one reading. content_l, usable_l: of all of them together.

    minutes: whole minutes they last at the draw of maintenance, what must stay in them kept back.
    gauge_expires_minutes: how long the reading still holds, 0 where it holds no longer.
    """

    label: str
    count_number: float
    connected: bool
    content_l: Reasoned
    usable_l: Reasoned
    minutes: Reasoned
    gauge_age_minutes: Reasoned
    gauge_expires_minutes: Reasoned
    findings: tuple[Finding, ...] = ()

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number of it."""
        return (
            self.content_l,
            self.usable_l,
            self.minutes,
            self.gauge_age_minutes,
            self.gauge_expires_minutes,
        )

    def as_json(self) -> dict[str, Any]:
        """Return the cylinders as they stand in a plan."""
        told = {"label": self.label, "count_number": self.count_number, "connected": self.connected}
        return {**told, **by_last_name(self.numbers)}


def cylinder_stock(
    case: Case, profile: Profile, cylinder: Cylinder, place: int, draw: Reasoned
) -> CylinderStock:
    """Return what is in cylinders of one kind. place: counted from 1, for their name.

    Raises MissingError where neither size nor water capacity is given, UnknownNameError for no known size.
    """
    name = f"supplies.cylinder_{place}"
    content = content_l(case, cylinder, name)
    usable = _usable(case, profile, cylinder, content, name)
    lasts = endurance_whole_min(number(usable), 0.0, number(draw))
    age, expires = _gauge(profile, cylinder, name)
    return CylinderStock(
        label=_label(cylinder),
        count_number=cylinder.count_number,
        connected=cylinder.connected,
        content_l=content,
        usable_l=usable,
        minutes=derived(
            f"{name}.lasts_minutes",
            float(lasts) if number(draw) > 0.0 else None,
            Reason(formula="what may be used ÷ draw of maintenance, rounded down", parts=(usable, draw)),
        ),
        gauge_age_minutes=age,
        gauge_expires_minutes=expires,
        findings=tuple(_findings(profile, cylinder, content, name)),
    )


def cylinder_sizes() -> tuple[str, ...]:
    """Return the sizes of the reference."""
    found = {name.split(".")[1] for name in figures() if name.startswith("cylinders.")}
    return tuple(sorted(size for size in found if size.startswith(("uk_", "us_", _METRIC))))


def _label(cylinder: Cylinder) -> str:
    return cylinder.size or f"{cylinder.water_capacity_l:g} L"


def _water(cylinder: Cylinder) -> tuple[float, tuple[Part, ...], float, float]:
    """Return the water capacity of one, what says so, and its range [L]."""
    if cylinder.water_capacity_l is not None:
        return cylinder.water_capacity_l, (), cylinder.water_capacity_l, cylinder.water_capacity_l
    if not cylinder.size:
        raise MissingError(
            where="cylinders.size",
            given="neither size nor water_capacity_l",
            allowed=f"a size ({', '.join(cylinder_sizes())}) or water_capacity_l",
            do="Add one of the two to [[cylinders]]; the capacity is stamped on the shoulder.",
        )
    if cylinder.size not in cylinder_sizes():
        raise UnknownNameError.nearest(where="cylinders.size", given=cylinder.size, valid=cylinder_sizes())
    if cylinder.size.startswith(_METRIC):
        litres = float(cylinder.size.removeprefix(_METRIC).removesuffix("l"))
        return litres, (), litres, litres
    published = figure(f"cylinders.{cylinder.size}.water_l")
    return published.value, (published,), published.low, published.high


def content_l(case: Case, cylinder: Cylinder, name: str) -> Reasoned:
    """Return what the cylinders hold, in litres at 15 °C and 1 atm, down to ambient pressure."""
    water_l, parts, low_l, high_l = _water(cylinder)
    ambient_mmhg = barometric_pressure_mmhg(case)
    each_l = float(cylinder_content_l(1.0, cylinder.gauge_bar, cylinder.temperature_c, ambient_mmhg))
    book = _by_factor(cylinder)
    estimates = [low_l * each_l, high_l * each_l, *book]
    reason = Reason(
        formula="water capacity × (density at gauge - density at ambient) ÷ density at 15 °C and 1 atm × "
        "how many; range: water capacities and factors in print",
        parts=parts,
        given={
            "water_capacity_l": water_l,
            "gauge_bar": cylinder.gauge_bar,
            "temperature_c": cylinder.temperature_c,
            "barometric_pressure_mmhg": ambient_mmhg,
            "count_number": cylinder.count_number,
        },
        sources=("coolprop", "case"),
    )
    return derived(
        f"{name}.content_l",
        water_l * each_l * cylinder.count_number,
        reason,
        low=min(estimates) * cylinder.count_number,
        high=max(estimates) * cylinder.count_number,
    )


def _by_factor(cylinder: Cylinder) -> list[float]:
    """Return contents of one by the factors printed for its size, none where there are none [L]."""
    factor = figures().get(f"cylinders.{cylinder.size}.factor_l_psi")
    if factor is None or cylinder.water_capacity_l is not None:
        return []
    psi = convert(cylinder.gauge_bar, "bar", "psi")
    return [float(content_by_factor_l(psi, 0.0, each)) for each in (factor.low, factor.high)]


def _usable(case: Case, profile: Profile, cylinder: Cylinder, content: Reasoned, name: str) -> Reasoned:
    """Return what may be used: the reserve stays, or the residual pressure where that is more."""
    residual = figure("cylinders.residual_bar")
    ambient_mmhg = barometric_pressure_mmhg(case)
    full, left = (
        float(cylinder_content_l(1.0, gauge, cylinder.temperature_c, ambient_mmhg))
        for gauge in (cylinder.gauge_bar, residual.value)
    )
    left_fraction = 1.0 if full <= 0.0 else min(left / full, 1.0)
    kept_fraction = max(profile.reserve_fraction, left_fraction)
    reason = Reason(
        formula="content × (1 - the reserve, or what the residual pressure holds if that is more)",
        parts=(content, residual),
        given={"reserve_fraction": profile.reserve_fraction, "residual_fraction": left_fraction},
        sources=("profile",),
    )
    used_fraction = 1.0 - kept_fraction
    return derived(
        f"{name}.usable_l",
        number(content) * used_fraction,
        reason,
        low=(content.low or 0.0) * used_fraction,
        high=(content.high or 0.0) * used_fraction,
    )


def _gauge(profile: Profile, cylinder: Cylinder, name: str) -> tuple[Reasoned, Reasoned]:
    age = derived(
        f"{name}.gauge_age_minutes",
        cylinder.read_min_ago,
        Reason(formula="time since the gauge was read", sources=("case",)),
    )
    reason = Reason(
        formula="how long a reading holds - its age",
        parts=(age,),
        given={"gauge_valid_min": profile.gauge_valid_min},
        sources=("profile",),
    )
    left_min = max(profile.gauge_valid_min - cylinder.read_min_ago, 0.0)
    return age, derived(f"{name}.gauge_expires_minutes", left_min, reason)


def _findings(profile: Profile, cylinder: Cylinder, content: Reasoned, name: str) -> list[Finding]:
    told: dict[str, float | str | None] = {
        "cylinder": _label(cylinder),
        "gauge_bar": cylinder.gauge_bar,
        "gauge_age_minutes": cylinder.read_min_ago,
        "gauge_valid_min": profile.gauge_valid_min,
        "content_l": content.value,
        "low_l": content.low,
        "high_l": content.high,
    }
    found = []
    if cylinder.read_min_ago > profile.gauge_valid_min:
        found.append(
            Finding(code="gauge_reading_old", severity="caution", about=f"{name}.content_l", figures=told)
        )
    if content.low is not None and content.low < number(content) * (1.0 - _UNSURE_FRACTION):
        found.append(
            Finding(code="cylinder_content_unsure", severity="advice", about=content.name, figures=told)
        )
    full_bar = _full_bar(cylinder)
    if full_bar and _at_15c_bar(cylinder) > full_bar * _OVERFILLED:
        more = {**told, "full_bar": full_bar}
        found.append(Finding(code="gauge_above_full", severity="caution", about=content.name, figures=more))
    return found


def _at_15c_bar(cylinder: Cylinder) -> float:
    return float(gauge_at_15c_bar(cylinder.gauge_bar, cylinder.temperature_c))


def _full_bar(cylinder: Cylinder) -> float | None:
    """Return the pressure of a full one of this size, where it is printed [bar]."""
    bar = figures().get(f"cylinders.{cylinder.size}.fill_bar")
    psi = figures().get(f"cylinders.{cylinder.size}.fill_psi")
    if bar is not None:
        return bar.high
    return None if psi is None else convert(psi.high, "psi", "bar")
