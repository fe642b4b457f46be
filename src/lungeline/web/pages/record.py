"""The record of a case: the chart as it will print, every entry, what is missing, signatures, copies."""

import tempfile
import zipfile
from io import BytesIO
from pathlib import Path

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lungeline.errors import UnknownNameError
from lungeline.theatre import export_case, findings_before_signing
from lungeline.theatre.printing import chart_svgs, print_handover, print_record
from lungeline.web.pages.about import about, case_shown
from lungeline.web.parts.seat import desk_of

_ZIPPED = {"csv.zip": False, "anonymous.zip": True}


def record(request: HttpRequest, case: str) -> HttpResponse:
    """Show the record of a case."""
    now = case_shown(request, case)
    desk = desk_of(request)
    context = about("record", now) | {
        "findings": findings_before_signing(now, desk),
        "sheets": range(len(chart_svgs(desk, case))),
        "simulated": bool(now.mark),
        "verdict": now.store.verify(case),
    }
    return render(request, "record.html", context)


def chart(request: HttpRequest, case: str, sheet: int) -> HttpResponse:
    """Give a sheet of the chart as a picture."""
    case_shown(request, case)
    sheets = chart_svgs(desk_of(request), case)
    if not 0 <= sheet < len(sheets):
        raise UnknownNameError(
            where="page", given=f"sheet {sheet + 1}", allowed=f"1 to {len(sheets)}", do="Choose another."
        )
    return HttpResponse(sheets[sheet], content_type="image/svg+xml")


def printed(request: HttpRequest, case: str, which: str) -> HttpResponse:
    """Give the record or the hand-over card as PDF."""
    case_shown(request, case)
    desk = desk_of(request)
    content = print_record(desk, case) if which == "record" else print_handover(desk, case)
    return _file(content, "application/pdf", f"{case}-{which}.pdf", inline=True)


def copied(request: HttpRequest, case: str, which: str) -> HttpResponse:
    """Give a copy of the case: CSV files, the same without what tells whose it is, or the chain as lines."""
    case_shown(request, case)
    desk = desk_of(request)
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        if which == "lines.jsonl":
            (path,) = export_case(desk, case, place / f"{case}.jsonl", form="lines")
            return _file(path.read_bytes(), "application/x-ndjson", path.name)
        files = export_case(desk, case, place / "files", anonymous=_ZIPPED[which])
        name = f"{'anonymous' if _ZIPPED[which] else case}.zip"
        return _file(_zipped(files), "application/zip", name)


def _zipped(files: list[Path]) -> bytes:
    made = BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in files:
            archive.write(file, file.name)
    return made.getvalue()


def _file(content: bytes, kind: str, name: str, *, inline: bool = False) -> HttpResponse:
    how = "inline" if inline else "attachment"
    return HttpResponse(
        content, content_type=kind, headers={"Content-Disposition": f'{how}; filename="{name}"'}
    )
