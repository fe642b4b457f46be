"""Numbers that are possible, but look like a slip of unit or place: said, never corrected."""

from collections.abc import Callable, Iterator

from lungeline.case import Case, Finding
from lungeline.plan.starting import Starting
from lungeline.units import convert

_ALIKE = 0.12  # how near a number must be to the one it may have been meant for
_FAR = 0.4  # how far it must be from the usual to be doubted
_LEAST_DIAL_PERCENT = 0.1
_LEAST_LEAK_ML_MIN = 10.0
_LEAST_PEEP_CMH2O = 2.0
_LIKELY_PEEP_CMH2O = (3.0, 20.0)
_LEAST_DOBUTAMINE_UG_KG_MIN = 0.02
_LEAST_DRIVE_SHARE = 0.45  # of a breath, above which inspiration is longer than common
_Slip = tuple[str, str, dict[str, float | str | None]]


def slips(case: Case, begun: Starting) -> tuple[Finding, ...]:
    """Return a finding for every number asked for that looks like a slip, which it names."""
    found = (slip for look in _LOOKS for slip in look(case, begun))
    return tuple(
        Finding(code=code, severity="caution", about=about, figures=figures) for code, about, figures in found
    )


def _near(one: float, other: float) -> bool:
    return abs(one - other) <= _ALIKE * abs(other)


def _far(one: float, other: float) -> bool:
    return abs(one - other) > _FAR * abs(other)


def _swapped(case: Case, begun: Starting) -> Iterator[_Slip]:
    """Rate and volume in each other's place."""
    if not {"tidal_volume_l", "respiratory_rate_per_min"} <= begun.fixed:
        return
    volume, rate = case.settings.tidal_volume_l, case.settings.respiratory_rate_per_min
    rules = case.rules_of_thumb()
    usual_l, usual_rate = rules["tidal_volume_l"].value, rules["respiratory_rate_per_min"].value
    if _near(volume, usual_rate) and _near(rate, usual_l) and _far(volume, usual_l):
        told: dict[str, float | str | None] = {
            "tidal_volume_l": volume,
            "respiratory_rate_per_min": rate,
            "usual_volume_l": usual_l,
            "usual_rate_per_min": usual_rate,
        }
        yield "slip_rate_and_volume_swapped", "settings.tidal_volume_l", told


def _per_kilogram(case: Case, begun: Starting) -> Iterator[_Slip]:
    """Volume for each kilogram, taken as the whole."""
    if "tidal_volume_l" not in begun.fixed:
        return
    volume, usual = case.settings.tidal_volume_l, case.rules_of_thumb()["tidal_volume_l"].value
    per_kg = convert(usual, "l", "ml") / case.animal.weight_kg
    if _near(volume, per_kg) and _far(volume, usual):
        told: dict[str, float | str | None] = {"tidal_volume_l": volume, "usual_volume_l": usual}
        yield "slip_per_kilogram", "settings.tidal_volume_l", told


def _inverse(case: Case, begun: Starting) -> Iterator[_Slip]:
    """Inspiration longer than expiration: I:E turned round."""
    s = case.settings
    cycle_s = 60.0 / s.respiratory_rate_per_min
    if "inspiratory_time_s" in begun.fixed and s.inspiratory_time_s > _LEAST_DRIVE_SHARE * cycle_s:
        told: dict[str, float | str | None] = {
            "inspiratory_time_s": s.inspiratory_time_s,
            "expiratory_time_s": cycle_s - s.inspiratory_time_s - s.pause_s,
        }
        yield "slip_ratio_inverted", "settings.inspiratory_time_s", told


def _dial(case: Case, begun: Starting) -> Iterator[_Slip]:
    """Fraction where per cent is wanted."""
    dial = case.settings.vaporiser_percent
    if "vaporiser_percent" in begun.fixed and 0.0 < dial < _LEAST_DIAL_PERCENT:
        told: dict[str, float | str | None] = {"vaporiser_percent": dial, "meant_percent": 100.0 * dial}
        yield "slip_fraction_for_percent", "settings.vaporiser_percent", told


def _leak(case: Case, _begun: Starting) -> Iterator[_Slip]:
    """Litres where millilitres are wanted."""
    leak = case.equipment.leak_at_30_cmh2o_ml_min
    if 0.0 < leak < _LEAST_LEAK_ML_MIN:
        told: dict[str, float | str | None] = {"leak_ml_min": leak, "meant_ml_min": 1000.0 * leak}
        yield "slip_litres_for_millilitres", "equipment.leak_at_30_cmh2o_ml_min", told


def _peep(case: Case, begun: Starting) -> Iterator[_Slip]:
    """Kilopascal where centimetres of water are wanted."""
    peep = case.settings.peep_cmh2o
    meant = convert(peep, "kpa", "cmh2o")
    low, high = _LIKELY_PEEP_CMH2O
    if "peep_cmh2o" in begun.fixed and 0.0 < peep < _LEAST_PEEP_CMH2O and low <= meant <= high:
        told: dict[str, float | str | None] = {"peep_cmh2o": peep, "meant_cmh2o": meant}
        yield "slip_kilopascal_for_water", "settings.peep_cmh2o", told


def _inotrope(case: Case, _begun: Starting) -> Iterator[_Slip]:
    """Milligram where microgram is wanted."""
    rate = case.settings.dobutamine_ug_kg_min
    if 0.0 < rate < _LEAST_DOBUTAMINE_UG_KG_MIN:
        told: dict[str, float | str | None] = {"rate_ug_kg_min": rate, "meant_ug_kg_min": 1000.0 * rate}
        yield "slip_milligram_for_microgram", "settings.dobutamine_ug_kg_min", told


_LOOKS: tuple[Callable[[Case, Starting], Iterator[_Slip]], ...] = (
    _swapped,
    _per_kilogram,
    _inverse,
    _dial,
    _leak,
    _peep,
    _inotrope,
)
