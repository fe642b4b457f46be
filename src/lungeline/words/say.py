"""A finding as a sentence: its wording, with its figures and their units filled in."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from string import Formatter

from lungeline.case import Finding, Severity
from lungeline.errors import UnknownNameError
from lungeline.units import unit_of
from lungeline.words.catalogue import LANGUAGES, wordings
from lungeline.words.labels import labelled_all

_UNSAID_UNITS = {"1", "multiple", "ratio"}
_DIGITS = 3
_PERCENT = 100.0
_UNKNOWN = {"en": "unknown", "de": "unbekannt"}
_YES_NO = {"en": ("no", "yes"), "de": ("nein", "ja")}
_DECIMAL_SIGN = {"en": ".", "de": ","}


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A finding in words: what is so, and what to do."""

    code: str
    severity: Severity
    says: str
    do: str


def say(finding: Finding, language: str = "en", number: Callable[[str, float], str] | None = None) -> Said:
    """Return the finding in a language. Raises UnknownNameError for a code without wording.

    number: how a person reads a number of a name; as it is stored where not given.

    >>> say(Finding(code="pressure_low_expected", severity="advice",
    ...     figures={"map_mmhg": 58.2, "least_mmhg": 70.0})).says
    'Mean arterial pressure is expected at 58.2 mmHg, below the 70 mmHg wanted.'
    """
    chosen = language if language in LANGUAGES else LANGUAGES[0]
    known = wordings(chosen)
    if finding.code not in known:
        raise UnknownNameError.nearest(where="finding", given=finding.code, valid=known)
    wording = known[finding.code]

    def read(name: str, value: float) -> str:
        return number(name, value) if number is not None else number_text(name, value, chosen)

    unknown = _UNKNOWN[chosen]
    filled = {
        name: unknown
        if value is None
        else labelled_all(value, chosen)
        if isinstance(value, str)
        else read(name, value)
        for name, value in finding.figures.items()
    }
    return Said(
        code=finding.code,
        severity=finding.severity,
        says=_filled(wording.says, filled),
        do=_filled(wording.do, filled),
    )


def placeholders(text: str) -> set[str]:
    """Return the names a wording wants filled in."""
    return {name for _, name, _, _ in Formatter().parse(text) if name}


def _filled(text: str, filled: dict[str, str]) -> str:
    return text.format(**{name: filled.get(name, "…") for name in placeholders(text)})


def number_text(name: str, value: float, language: str = "en") -> str:
    """Return a number as a person reads it, its unit behind it.

    >>> number_text("fio2_fraction", 0.931), number_text("needed_l", 12.04), number_text("rate_per_min", 6.5)
    ('93.1 %', '12 L', '6.5 /min')
    >>> number_text("rate_per_min", 6.5, "de")
    '6,5 /min'
    """
    unit = unit_of(name)
    if isinstance(value, bool):
        return _YES_NO[language][value]
    if unit is not None and unit.suffix == "fraction":
        return f"{_rounded(value * _PERCENT, language)} %"
    label = "" if unit is None or unit.label in _UNSAID_UNITS else f" {unit.label}"
    return f"{_rounded(value, language)}{label}"


def _rounded(value: float, language: str) -> str:
    """Return three digits at most behind which nobody could see, whole numbers whole."""
    if not math.isfinite(value):
        return _UNKNOWN[language]
    text = f"{value:.0f}" if abs(value) >= 10**_DIGITS else f"{value:.{_DIGITS}g}"
    return text.replace(".", _DECIMAL_SIGN[language])
