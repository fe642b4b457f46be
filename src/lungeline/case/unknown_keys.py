"""What is said of a key we do not know: another unit, a trade abbreviation, the wrong section, a slip."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from lungeline.case.fields import FieldDoc
from lungeline.case.refusals import shown
from lungeline.errors import InputError, UnitError, UnknownNameError
from lungeline.units import UNITS, Unit, convert, unit_of

# What the trade says for short, and the key it means.
_SHORT_FOR = {
    "vt": "tidal_volume_l",
    "tv": "tidal_volume_l",
    "rr": "respiratory_rate_per_min",
    "f": "respiratory_rate_per_min",
    "rate": "respiratory_rate_per_min",
    "ti": "inspiratory_time_s",
    "ie_ratio": "inspiratory_time_s",
    "pip": "pressure_limit_cmh2o",
    "pmax": "pressure_limit_cmh2o",
    "cpap": "peep_cmh2o",
    "fgf": "fresh_gas_flow_l_min",
    "fio2": "fresh_gas_oxygen_fraction",
    "iso": "vaporiser_percent",
    "dial": "vaporiser_percent",
    "bag": "reservoir_capacity_l",
    "name": "title",
    "breed": "species",
}
# A dose by weight, and the unit it is once the weight is known.
_WITHOUT_WEIGHT = {"ml_kg": "ml", "l_kg": "l", "ml_kg_min": "ml_min", "ml_cmh2o_kg": "ml_cmh2o"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Hints:
    """What is known beyond the table: the animal's weight, and in which section each key belongs."""

    weight_kg: float | None = None
    sections: Mapping[str, str] = field(default_factory=dict)


def unknown_key(
    key: str, value: object, docs: Mapping[str, FieldDoc], where: str, hints: Hints
) -> InputError:
    """Refuse a key that the section does not have, with the best advice there is."""
    for doc in docs.values():
        if _stem(key) in {_stem(doc.key), _stem(doc.name)}:
            advised = _other_unit(key, value, doc, where, hints.weight_kg)
            if advised is not None:
                return advised
    allowed = ", ".join(docs) or "no keys here"
    given = str(shown(key))
    meant = _SHORT_FOR.get(key.casefold())
    if meant in docs:
        return UnknownNameError(where=where, given=given, allowed=allowed, do=f"Write {meant}.")
    if key in hints.sections:
        do = f"Move {key} to {hints.sections[key]}."
        return UnknownNameError(where=where, given=given, allowed=allowed, do=do)
    return UnknownNameError.nearest(where=where, given=given, valid=docs)


def _stem(key: str) -> str:
    unit = unit_of(key)
    return key if unit is None else key.removesuffix(f"_{unit.suffix}")


def _other_unit(
    key: str, value: object, doc: FieldDoc, where: str, weight_kg: float | None
) -> UnitError | None:
    """Advise on a key that is ours but for its unit; None where the units are foreign to each other."""
    given, wanted = unit_of(key), doc.unit
    if wanted is None:
        return None
    allowed = f"{doc.key}, {doc.allowed}"
    if given is None:
        return UnitError(
            where=where, given=key, allowed=allowed, do=f"Write {doc.key}: the key names its unit."
        )
    if given.suffix in _WITHOUT_WEIGHT:
        return _by_weight(key, value, doc, where, weight_kg)
    if given.quantity != wanted.quantity:
        return None
    do = _converted(key, value, doc, given)
    return UnitError(where=where, given=key, allowed=allowed, do=do)


def _converted(key: str, value: object, doc: FieldDoc, given: Unit) -> str:
    number = _as_number(value)
    if number is None or doc.unit is None:
        return f"Write {doc.key}, not {key}."
    right = convert(number, given.suffix, doc.unit.suffix)
    reason = f": {number:g} {given.label} is {right:.4g}{doc.unit_text}" if given != doc.unit else ""
    return f"Write {doc.key} = {right:.4g}{reason}."


def _by_weight(
    key: str, value: object, doc: FieldDoc, where: str, weight_kg: float | None
) -> UnitError | None:
    given, wanted = unit_of(key), doc.unit
    if given is None or wanted is None:
        return None
    number, suffix = _as_number(value), _WITHOUT_WEIGHT[given.suffix]
    if UNITS[suffix].quantity != wanted.quantity:
        return None
    do = f"Write {doc.key} for the whole animal: multiply by its weight."
    if number is not None and weight_kg is not None:
        whole = convert(number * weight_kg, suffix, wanted.suffix)
        reason = f"{number:g} {given.label} in {weight_kg:g} kg is {whole:.4g} {wanted.label}"
        do = f"Write {doc.key} = {whole:.4g}: {reason}."
    return UnitError(where=where, given=key, allowed=f"{doc.key}, {doc.allowed}", do=do)


def _as_number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        return float(value)
    except OverflowError:
        return None
