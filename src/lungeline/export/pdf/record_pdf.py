"""The record of a case, and the card for whoever takes it over, as PDF."""

import math
from datetime import datetime, timedelta
from typing import Any

from lungeline.export.pdf.heading import words_of_sheet
from lungeline.export.pdf.lane_drawing import drawing
from lungeline.export.pdf.record_sheets import Mark, RecordSheets, Section
from lungeline.export.pdf.typeset import typeset

_SPAN_MIN = 120.0  # of a sheet of lanes
_HEIGHT, _LINE = 1560.0, 30.0  # of the drawing, and of a line of marks beneath it, tenths of a millimetre
_COLUMNS = 3
_LEGEND = (
    "e estimated, a artefact, l entered late, c corrected. Struck-out values are in the list of entries."
)


def record_pdf(sheets: RecordSheets, *, paper: str = "a4", printed_at: datetime | None = None) -> bytes:
    """Return the record for print; the same record gives the same bytes. paper: "a4" or "us-letter"."""
    return typeset(_content("record", sheets, paper), printed_at=printed_at)


def handover_pdf(sheets: RecordSheets, *, paper: str = "a4", printed_at: datetime | None = None) -> bytes:
    """Return the hand-over card for print: the sections that come first, on one page."""
    return typeset(_content("handover", sheets, paper), printed_at=printed_at)


def lane_sheets(sheets: RecordSheets) -> list[str]:
    """Return the lanes as SVG, as they stand on paper, a sheet for every two hours."""
    return [each["svg"] for each in _drawings(sheets)]


def _content(kind: str, sheets: RecordSheets, paper: str) -> dict[str, Any]:
    page = {
        "kind": kind,
        "title": sheets.title,
        "name": sheets.animal,
        "facts": list(sheets.facts),
        "first": [_section(each) for each in sheets.first],
        "sections": [_section(each) for each in sheets.sections],
        "legend": _LEGEND,
        "drawings": _drawings(sheets) if kind == "record" else [],
    }
    return {
        "paper": paper,
        "sheet": words_of_sheet(sheets.title, sheets.animal, sheets.mark),
        "pages": [page],
    }


def _drawings(sheets: RecordSheets) -> list[dict[str, Any]]:
    if not sheets.lanes:
        return []
    count = max(1, math.ceil(sheets.minutes / _SPAN_MIN))
    return [_drawn(sheets, place * _SPAN_MIN) for place in range(count)]


def _drawn(sheets: RecordSheets, from_min: float) -> dict[str, Any]:
    # what came before the lanes is told with the first of them
    begin_min = from_min if from_min > 0.0 else -math.inf
    marks = [mark for mark in sheets.marks if begin_min <= mark.at_min < from_min + _SPAN_MIN]
    begin, end = (sheets.began + timedelta(minutes=at_min) for at_min in (from_min, from_min + _SPAN_MIN))
    beneath = _LINE * math.ceil(len(marks) / _COLUMNS)
    return {
        "svg": drawing(sheets, from_min, _SPAN_MIN, _HEIGHT - beneath),
        "span": f"{begin:%Y-%m-%d %H:%M} to {end:%H:%M}",
        "marks": [_mark(mark, sheets) for mark in marks],
    }


def _mark(mark: Mark, sheets: RecordSheets) -> dict[str, Any]:
    clock = sheets.began + timedelta(minutes=mark.at_min)
    return {"number": mark.number, "clock": f"{clock:%H:%M}", "text": mark.text}


def _section(each: Section) -> dict[str, Any]:
    widths = each.widths or [1.0] * max((len(row) for row in each.rows), default=1)
    return {
        "title": each.title,
        "head": list(each.head),
        "rows": [list(row) for row in each.rows],
        "widths": list(widths),
        "note": each.note,
    }
