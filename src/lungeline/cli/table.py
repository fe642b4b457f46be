"""A simulated case as text a practitioner reads: what was set, what happened, how it ended."""

import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from lungeline.case.breath import Breath
from lungeline.case.case import Case
from lungeline.case.change import Change
from lungeline.case.fields import FieldDoc, described
from lungeline.case.settings import Settings
from lungeline.figure import Figure
from lungeline.units import UNITS, convert, unit_of

_SECONDS_PER_MINUTE = 60.0
_MISSING = "–"
_NARROWEST = 5
_SAME = 1e-9  # so that 0.3 / 0.1 gives three marks, not four


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: the key of the breath it shows, its heading, the unit shown and the digits kept."""

    key: str
    heading: str
    shown_in: str
    digits: int

    @property
    def unit(self) -> str:
        """The unit under the heading."""
        return UNITS[self.shown_in].label

    def text(self, value: float | None) -> str:
        """Return a value of the key as this column shows it."""
        unit = unit_of(self.key)
        if value is None or unit is None or not math.isfinite(value):
            return _MISSING
        rounded = round(convert(value, unit.suffix, self.shown_in), self.digits) + 0.0  # no "-0"
        return f"{rounded:.{self.digits}f}"


# Headings as clinicians and ISO 19223 abbreviate them.
COLUMNS = (
    Column(key="peak_pressure_cmh2o", heading="Ppeak", shown_in="cmh2o", digits=0),
    Column(key="plateau_pressure_cmh2o", heading="Pplat", shown_in="cmh2o", digits=0),
    Column(key="end_expiratory_pressure_cmh2o", heading="PEEP", shown_in="cmh2o", digits=1),
    Column(key="tidal_volume_inspired_l", heading="VTi", shown_in="l", digits=2),
    Column(key="tidal_volume_expired_l", heading="VTe", shown_in="l", digits=2),
    Column(key="respiratory_rate_per_min", heading="rate", shown_in="per_min", digits=1),
    Column(key="etco2_mmhg", heading="EtCO2", shown_in="mmhg", digits=0),
    Column(key="paco2_mmhg", heading="PaCO2", shown_in="mmhg", digits=0),
    Column(key="pao2_mmhg", heading="PaO2", shown_in="mmhg", digits=0),
    Column(key="fio2_fraction", heading="FiO2", shown_in="percent", digits=0),
    Column(key="end_tidal_agent_fraction", heading="Et agt", shown_in="percent", digits=2),
    Column(key="spare_volume_l", heading="spare", shown_in="l", digits=1),
    Column(key="cardiac_output_l_min", heading="CO", shown_in="l_min", digits=1),
    Column(key="map_mmhg", heading="MAP", shown_in="mmhg", digits=0),
)
# What matters only in some modes, or only where it is not at its resting value.
_ONLY_IN = {
    "inspiratory_pressure_cmh2o": {"pressure"},
    "trigger_flow_l_min": {"assisted"},
    "apnoea_backup_s": {"assisted", "spontaneous"},
    "respiratory_rate_per_min": {"volume", "pressure", "assisted"},
    "inspiratory_time_s": {"volume", "pressure", "assisted"},
    "pause_s": {"volume", "pressure", "assisted"},
}
_UNLESS = {
    "slowed_expiration": False,
    "ventilator_on": True,
    "injectable_mac_multiple": 0.0,
    "dobutamine_ug_kg_min": 0.0,
    "phenylephrine_ug_kg_min": 0.0,
}


def settings_lines(settings: Settings, rules: Mapping[str, Figure]) -> list[str]:
    """Return a line for every setting that matters, those in `rules` with the rule of thumb they follow."""
    docs = [doc for doc in described(Settings).values() if matters(doc.name, settings)]
    rows = [(doc.label, with_unit(doc, getattr(settings, doc.name)), rules.get(doc.name)) for doc in docs]
    left = max(len(label) for label, _, _ in rows)
    middle = max(len(value) for _, value, _ in rows)
    return [f"  {label:<{left}}  {value:<{middle}}{_reason(rule)}".rstrip() for label, value, rule in rows]


def matters(name: str, settings: Settings) -> bool:
    """Return whether a setting says anything in the mode that is set."""
    if name in _UNLESS:
        return bool(getattr(settings, name) != _UNLESS[name])
    return settings.mode in _ONLY_IN.get(name, {settings.mode})


def with_unit(doc: FieldDoc, value: object) -> str:
    """Return the value of a field as a person reads it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.3g}{doc.unit_text}" if isinstance(value, float) else str(value)


def _reason(rule: Figure | None) -> str:
    return f"  * {f'{rule.note} '.lstrip()}[{rule.source}]" if rule else ""


def breath_lines(breaths: Sequence[Breath], case: Case, every_min: float, end_min: float) -> list[str]:
    """Return the table: the first breath, the last one before every so many minutes, and what was done."""
    rows = [*_breath_rows(breaths, every_min, end_min)]
    cells = [["min", *(column.heading for column in COLUMNS)], ["", *(column.unit for column in COLUMNS)]]
    cells += [[f"{round(minute, 2):g}", *_cells(breath)] for minute, breath in rows]
    widths = [max(_NARROWEST, *map(len, column)) for column in zip(*cells, strict=True)]
    lines = ["  ".join(f"{cell:>{width}}" for cell, width in zip(row, widths, strict=True)) for row in cells]
    timed = [(minute, 0, line) for (minute, _), line in zip(rows, lines[2:], strict=True)]
    timed += [
        (minute, 1, f"{round(minute, 2):>{widths[0]}g}  > {what}") for minute, what in events(case, end_min)
    ]
    return [*lines[:2], *(line for _, _, line in sorted(timed, key=lambda row: row[:2]))]


def _breath_rows(
    breaths: Sequence[Breath], every_min: float, end_min: float
) -> Iterator[tuple[float, Breath | None]]:
    """Yield the first whole breath, then at every mark the last breath that ended since the mark before."""
    ended_min = [*(breath.time_s / _SECONDS_PER_MINUTE for breath in breaths[1:]), end_min]
    first = next((breath for breath in breaths if breath.respiratory_rate_per_min), None)
    if first is not None:
        yield first.time_s / _SECONDS_PER_MINUTE, first
    whole = math.ceil(end_min / every_min - _SAME)
    before = 0
    for mark in (min(place * every_min, end_min) for place in range(1, whole + 1)):
        until = min(bisect_right(ended_min, mark), len(breaths))
        yield mark, breaths[until - 1] if until > before else None
        before = until


def _cells(breath: Breath | None) -> list[str]:
    if breath is None:
        return [_MISSING] * len(COLUMNS)
    return [column.text(getattr(breath, column.key)) for column in COLUMNS]


def events(case: Case, end_min: float) -> list[tuple[float, str]]:
    """Return what is done and what goes wrong before the end, by time [min], in words."""
    found = [(change.at_min, change_text(change)) for change in case.changes]
    for fault in case.faults:
        found.append((fault.at_min, f"fault {fault.code}, severity {fault.severity_fraction:g}"))
        if fault.until_min is not None:
            found.append((fault.until_min, f"fault {fault.code} ends"))
    return sorted((event for event in found if event[0] < end_min), key=lambda event: event[0])


def change_text(change: Change) -> str:
    """Return a change in words: the settings with their new values, or the manoeuvre with its numbers."""
    record = change.settings if change.manoeuvre is None else None
    if record is not None:
        docs = described(Settings)
        return ", ".join(
            f"{docs[name].label} {with_unit(docs[name], value)}" for name, value in record.items()
        )
    values = (
        _numbers(doc, getattr(change.manoeuvre, doc.name))
        for doc in described(type(change.manoeuvre)).values()
    )
    return f"{getattr(change.manoeuvre, 'kind', '')}: {', '.join(values)}"


def _numbers(doc: FieldDoc, value: float | tuple[float, ...]) -> str:
    numbers = value if isinstance(value, tuple) else (value,)
    return f"{doc.label} {', '.join(f'{number:g}' for number in numbers)}{doc.unit_text}"


def balance_line(balance: Mapping[str, float]) -> str:
    """Return how well the gases add up."""
    if not balance:
        return "Gas balance: not kept."
    gas, worst_l = max(balance.items(), key=lambda item: abs(item[1]))
    return f"Gas balance: every gas accounted for within {abs(worst_l):.1g} L (worst: {gas})."


def herd_lines(bands: Iterable[tuple[str, float | None, float | None, float | None]]) -> list[str]:
    """Return a line a quantity: where one animal in ten lies below, the middle, one in ten above."""
    rows = [("at the end", "1 in 10 below", "middle", "1 in 10 above")]
    columns = {column.key: column for column in COLUMNS}
    for key, *values in bands:
        column = columns[key]
        low, middle, high = (column.text(value) for value in values)
        rows.append((f"{column.heading} {column.unit}", low, middle, high))
    width = max(len(row[0]) for row in rows)
    return [f"  {row[0]:<{width}}" + "".join(f"  {cell:>13}" for cell in row[1:]) for row in rows]
