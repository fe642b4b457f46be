"""In which units a person reads numbers. What is stored never changes."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest

from lungeline.errors import UnknownNameError
from lungeline.units import UNITS, convert, unit_of
from lungeline.words import PAGE_LANGUAGES

# quantity in a name's suffix, and the units a person may read it in, the stored one first
CHOICES: Mapping[str, tuple[str, ...]] = {
    "cmh2o": ("cmh2o", "mbar", "kpa"),
    "mmhg": ("mmhg", "kpa"),
    "kg": ("kg", "lb"),
    "c": ("c", "f"),
}
COOKIE = "lungeline_view"
_PERCENT, _DIGITS, _WHOLE_FROM = 100.0, 3, 1000


def view_of(request: HttpRequest) -> dict[str, str]:
    """Return how this browser shows things: language, theme, and a unit for each of `CHOICES`."""
    kept = dict(part.split(":", 1) for part in request.COOKIES.get(COOKIE, "").split("|") if ":" in part)
    view = {
        "language": kept.get("language", "") if kept.get("language") in PAGE_LANGUAGES else PAGE_LANGUAGES[0],
        "theme": kept.get("theme", "") if kept.get("theme") in {"light", "dark"} else "auto",
    }
    for stored, readable in CHOICES.items():
        view[stored] = kept[stored] if kept.get(stored) in readable else stored
    return view


def check_view(view: Mapping[str, Any]) -> None:
    """Refuse a choice there is not."""
    for key, value in view.items():
        allowed = {"language": PAGE_LANGUAGES, "theme": ("auto", "light", "dark"), **CHOICES}.get(key)
        if allowed is None or value not in allowed:
            raise UnknownNameError.nearest(
                where=f"view.{key}", given=str(value), valid=allowed or ("language",)
            )


def conversions() -> dict[str, dict[str, Any]]:
    """Return how each stored unit is read in others, for scripts: value * factor + offset, and its label."""
    table: dict[str, dict[str, Any]] = {}
    for stored, readable in CHOICES.items():
        for unit in readable:
            offset = convert(0.0, stored, unit)
            factor = convert(1.0, stored, unit) - offset
            table[f"{stored}>{unit}"] = {"factor": factor, "offset": offset, "label": UNITS[unit].label}
    return table


def labels() -> dict[str, str]:
    """Return the label of every unit by its suffix, longest first, for scripts that read names."""
    suffixes = sorted(UNITS, key=len, reverse=True)
    return {suffix: "%" if suffix == "fraction" else UNITS[suffix].label for suffix in suffixes}


def read_in(name: str, value: float, view: Mapping[str, str]) -> tuple[float, str]:
    """Return a stored number as this person reads it, with the label of its unit."""
    unit = unit_of(name)
    if unit is None:
        return value, ""
    if unit.suffix == "fraction":
        return value * _PERCENT, "%"
    wanted = view.get(unit.suffix, unit.suffix)
    label = UNITS[wanted].label
    return convert(value, unit.suffix, wanted), "" if label in {"1", "multiple", "ratio"} else label


def text_in(name: str, value: float, view: Mapping[str, str]) -> str:
    """Return a stored number as this person reads it, with its unit and decimal sign."""
    read, label = read_in(name, value, view)
    text = f"{read:.0f}" if abs(read) >= _WHOLE_FROM else f"{read:.{_DIGITS}g}"
    return f"{text.replace('.', ',') if view['language'] == 'de' else text} {label}".strip()
