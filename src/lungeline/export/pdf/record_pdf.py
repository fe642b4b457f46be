"""The record of a case, and the card for whoever takes it over, as PDF."""

import math
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from lungeline.export.pdf.heading import words_of_sheet
from lungeline.export.pdf.lane_drawing import drawing
from lungeline.export.pdf.record_glyphs import printable
from lungeline.export.pdf.record_sheets import RecordSheets, Section
from lungeline.export.pdf.typeset import typeset

_SPAN_MIN = 120.0  # of a sheet of lanes
_HEIGHT = 1650.0  # of the drawing, tenths of a millimetre
_LEGEND = (
    "Shapes: measured. Broken lines: set. A shape with a stroke through it: artefact, not to be used. "
    "Numbers: the last one in each five minutes."
)


def record_pdf(sheets: RecordSheets, *, paper: str = "a4", printed_at: datetime | None = None) -> bytes:
    """Return the record for print; the same record gives the same bytes. paper: "a4" or "us-letter"."""
    return typeset(_content("record", sheets, paper), printed_at=printed_at)


def handover_pdf(sheets: RecordSheets, *, paper: str = "a4", printed_at: datetime | None = None) -> bytes:
    """Return the hand-over card for print: sections in two columns, on one page."""
    return typeset(_content("handover", sheets, paper), printed_at=printed_at)


def lane_sheets(sheets: RecordSheets) -> list[str]:
    """Return the lanes as SVG, as they stand on paper, a sheet for every two hours in which something was."""
    return [each["svg"] for each in _drawings(sheets)]


def _content(kind: str, sheets: RecordSheets, paper: str) -> dict[str, Any]:
    page = {
        "kind": kind,
        "title": sheets.title,
        "name": sheets.animal,
        "mark": sheets.mark,
        "facts": list(sheets.facts),
        **{
            part: [_section(each) for each in getattr(sheets, part)]
            for part in ("first", "sections", "wide", "last")
        },
        "legend": _LEGEND,
        "drawings": _drawings(sheets) if kind == "record" else [],
    }
    content = {
        "paper": paper,
        "sheet": words_of_sheet(sheets.title, sheets.animal, sheets.mark),
        "pages": [page],
    }
    return dict(printable(content))


def _drawings(sheets: RecordSheets) -> list[dict[str, Any]]:
    """Return a sheet of lanes for each span of time in which something was measured, set or done."""
    places = {math.floor(at_min / _SPAN_MIN) for at_min in _moments(sheets)}
    return [_drawn(sheets, place * _SPAN_MIN) for place in sorted(places) if place >= 0]


def _moments(sheets: RecordSheets) -> Iterator[float]:
    for lane in sheets.lanes:
        for points in (*(series.points for series in lane.series), *(steps for _, steps in lane.steps)):
            yield from (point.at_min for point in points)
        yield from (at_min for at_min, _, _ in lane.spans)
    yield from (at_min for flag in sheets.flags for at_min in flag.at_min)
    yield from (mark.at_min for mark in sheets.marks)
    yield from (at_min for bar in sheets.infusions for at_min, _ in bar.notes)


def _drawn(sheets: RecordSheets, from_min: float) -> dict[str, Any]:
    begin, end = (sheets.began + timedelta(minutes=at_min) for at_min in (from_min, from_min + _SPAN_MIN))
    return {
        "svg": drawing(sheets, from_min, _SPAN_MIN, _HEIGHT),
        "span": f"{begin:%Y-%m-%d %H:%M} to {end:%H:%M}",
    }


def _section(each: Section) -> dict[str, Any]:
    widths = each.widths or [1.0] * max((len(row) for row in each.rows), default=1)
    return {
        "title": each.title,
        "head": list(each.head),
        "rows": [list(row) for row in each.rows],
        "widths": list(widths),
        "note": each.note,
        "turned": each.turned,
    }
