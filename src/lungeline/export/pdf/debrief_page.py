"""Printed rehearsals as PDF: the debrief, the handout of a scenario, the guide to a bench."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from lungeline.export.pdf.heading import words_of_sheet
from lungeline.export.pdf.rehearsal_sheets import Drawn, Part, PartedSheet, RehearsalSheets, Table
from lungeline.export.pdf.timeline_drawing import by_sign, timeline_drawing
from lungeline.export.pdf.typeset import typeset, typeset_images

_LEGEND = (
    "Dots and rings: what the learner saw. Lines: what was hidden. Letters: what happened. "
    "Numbers: what was done."
)


def rehearsal_pdf(sheets: RehearsalSheets, *, paper: str = "a4", printed_at: datetime | None = None) -> bytes:
    """Return the sheets for print; the same give the same bytes. paper: "a4" or "us-letter"."""
    return typeset(_content(sheets, paper), printed_at=printed_at)


def rehearsal_images(sheets: RehearsalSheets, *, printed_at: datetime | None = None) -> list[bytes]:
    """Return each page as PNG, to look at."""
    return typeset_images(_content(sheets, "a4"), printed_at=printed_at)


def _content(sheets: RehearsalSheets, paper: str) -> dict[str, Any]:
    return {
        "paper": paper,
        "sheet": words_of_sheet(sheets.title, sheets.animal, sheets.mark),
        "pages": [page for each in sheets.sheets for page in _pages(each)],
    }


def _pages(sheet: PartedSheet) -> list[dict[str, Any]]:
    """Return a sheet cut where its drawing stands across."""
    cut = len(sheet.parts) if sheet.drawn is None or sheet.drawn_after is None else sheet.drawn_after
    pages = [_parted(sheet, sheet.parts[:cut], heads=True)]
    if sheet.drawn is not None:
        pages.append(_timeline(sheet, sheet.drawn))
    if sheet.parts[cut:]:
        pages.append(_parted(sheet, sheet.parts[cut:], heads=False))
    return pages


def _parted(sheet: PartedSheet, parts: Sequence[Part], *, heads: bool) -> dict[str, Any]:
    return {
        "kind": "parted",
        "title": sheet.title,
        "name": sheet.name,
        "facts": list(sheet.facts) if heads else [],
        "for_whom": sheet.for_whom,
        "heads": heads,
        "parts": [_part(part) for part in parts],
    }


def _part(part: Part) -> dict[str, Any]:
    return {
        "title": part.title,
        "asks": part.asks,
        "lines": part.lines,
        "new_page": part.new_page,
        "says": list(part.says),
        "tables": [_table(table) for table in part.tables if table.rows],
    }


def _table(table: Table) -> dict[str, Any]:
    widths = table.widths or [1.0] * max((len(row) for row in table.rows), default=1)
    return {
        "title": table.title,
        "head": list(table.head),
        "rows": [list(row) for row in table.rows],
        "widths": list(widths),
        "note": table.note,
    }


def _timeline(sheet: PartedSheet, drawn: Drawn) -> dict[str, Any]:
    return {
        "kind": "timeline",
        "title": sheet.title,
        "name": sheet.name,
        "for_whom": sheet.for_whom,
        "legend": _LEGEND,
        "svg": timeline_drawing(drawn),
        "marks": [{"sign": sign, "text": mark.text} for sign, mark in by_sign(drawn.marks)],
    }
