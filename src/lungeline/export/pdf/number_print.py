"""Numbers for print: value and unit apart, so that the value can stand large; microgram spelled out."""

from lungeline.case import Reasoned
from lungeline.plan.drugs.labels import printed
from lungeline.words import number_text

UNKNOWN = "\N{EN DASH}"
Amount = dict[str, str]


def text(name: str, value: float | str | None) -> str:
    """Return a value as a person reads it, its unit behind it.

    >>> text("volume_ml", 1.65), text("dose_ug_kg", 80.0), text("volume_ml", None)
    ('1.65 mL', '80 microgram/kg', '–')
    """
    if value is None:
        return UNKNOWN
    return value if isinstance(value, str) else printed(number_text(name, value))


def amount(name: str, value: float | str | None) -> Amount:
    """Return value and unit apart.

    >>> amount("fresh_gas_oxygen_fraction", 0.95)
    {'value': '95', 'unit': '%'}
    """
    shown = text(name, value)
    if isinstance(value, str):
        return {"value": shown, "unit": ""}
    number, _, unit = shown.partition(" ")
    return {"value": number, "unit": unit}


def of(number: Reasoned) -> Amount:
    """Return value and unit of a number of a plan."""
    return amount(number.name, number.value)


def band(number: Reasoned) -> str:
    """Return the range of a number, empty where there is none.

    >>> band(Reasoned(name="etco2_mmhg", value=40.0, low=36.0, high=44.5, formula="x", sources=("s",)))
    '36 to 44.5'
    """
    low, high = number.low, number.high
    if low is None or high is None or low == high:
        return ""
    ends = [amount(number.name, end)["value"] for end in (low, high)]
    return " to ".join(ends) if ends[0] != ends[1] else ""


def plain(name: str) -> str:
    """Return a name of the program as words.

    >>> plain("calcium_gluconate")
    'calcium gluconate'
    """
    return name.replace("_", " ").replace(".", " ")
