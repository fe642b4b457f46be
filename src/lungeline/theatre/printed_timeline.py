"""A rehearsal over time, made ready to be drawn: what the learner saw, and what was hidden."""

from collections.abc import Iterator

from lungeline.export.pdf.rehearsal_sheets import Curve, Drawn, Marked, Pane, Style
from lungeline.rehearse.debrief import clock
from lungeline.rehearse.quantities import deed_told, label
from lungeline.rehearse.timeline import Timeline, Track
from lungeline.simulate.faults import FAULTS

_PERCENT = 100.0


def drawn(line: Timeline) -> Drawn:
    """Return what is to be drawn of a rehearsal: eight panes, faults, and what happened or was done."""
    panes = (
        _pane("SpO2 and FiO2", "%", _seen(line, "spo2_fraction"), _seen(line, "fio2_fraction", "rings"),
              most_top=_PERCENT),
        _pane("Arterial oxygen", "mmHg", _seen(line, "pao2_mmhg"), _behind_it(line, "pao2_mmhg"),
              least_top=100.0, rule=60.0, hidden=True),
        _pane("Carbon dioxide", "mmHg", _seen(line, "etco2_mmhg"), _behind_it(line, "paco2_mmhg"),
              _seen(line, "paco2_mmhg", "rings"), least_top=60.0),
        _pane("Mean arterial pressure", "mmHg", _seen(line, "map_mmhg"), least_top=100.0, rule=70.0),
        _pane("Cardiac output", "L/min", _behind_it(line, "cardiac_output_l_min"),
              least_top=5.0, hidden=True),
        _pane("Shunt", "%", _behind_it(line, "shunt_fraction"), hidden=True, least_top=20.0),
        _pane("Peak pressure", "cmH2O", _seen(line, "peak_pressure_cmh2o"), least_top=30.0, rule=40.0),
        _pane("Spare gas", "L", _seen(line, "spare_volume_l"), _behind_it(line, "spare_volume_l"),
              least_top=2.0),
        _pane("Faults, how grave", "%", *(_fault(track) for track in line.severities), hidden=True,
              most_top=_PERCENT),
    )  # fmt: skip
    return Drawn(end_s=line.end_s, panes=[pane for pane in panes if pane.curves], marks=list(_marks(line)))


def _pane(  # noqa: PLR0913  what a pane consists of
    title: str,
    unit: str,
    *curves: Curve | None,
    hidden: bool = False,
    least_top: float = 1.0,
    most_top: float | None = None,
    rule: float | None = None,
) -> Pane:
    there = [curve for curve in curves if curve is not None]
    return Pane(
        title=title, unit=unit, curves=there, hidden=hidden, least_top=least_top, most_top=most_top, rule=rule
    )


def _seen(line: Timeline, key: str, style: Style = "dots") -> Curve | None:
    track = line.of(key)
    return None if track is None else _curve(track, label(key), style)


def _behind_it(line: Timeline, key: str) -> Curve | None:
    track = line.of(key, hidden=True)
    there = track is not None and any(value is not None for value in track.values)
    return _curve(track, f"{label(key)}, hidden", "line") if there and track is not None else None


def _fault(track: Track) -> Curve:
    points = [(at_s, (value or 0.0) * _PERCENT) for at_s, value in _pairs(track)]
    return Curve(label=FAULTS[track.key].title, style="steps", points=points)


def _curve(track: Track, name: str, style: Style) -> Curve:
    scale = _PERCENT if track.key.endswith("_fraction") else 1.0
    points = [(at_s, None if value is None else value * scale) for at_s, value in _pairs(track)]
    return Curve(label=name, style=style, points=points)


def _pairs(track: Track) -> Iterator[tuple[float, float | None]]:
    return zip(track.times_s, track.values, strict=True)


def _marks(line: Timeline) -> Iterator[Marked]:
    for it in line.told:
        words = it.says or f"{it.name.replace('_', ' ')} (unseen)"
        yield Marked(at_s=it.at_s, text=f"{clock(it.at_s)} {' '.join(words.split())}", sort="happened")
    for act in line.acts:
        found = f" \N{EN DASH} {act.shown}" if act.shown else ""
        yield Marked(
            at_s=act.at_s, text=f"{clock(act.at_s)} {deed_told(act.deed, act.given)}{found}", sort="done"
        )
