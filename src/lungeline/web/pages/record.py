"""The record of a case: its lanes, every entry, what is missing, signatures, what is printed and copied."""

import json
import tempfile
import zipfile
from io import BytesIO
from pathlib import Path

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lungeline.errors import UnknownNameError
from lungeline.theatre import CaseNow, Desk, check_right, export_case, findings_before_signing
from lungeline.theatre.case_json import record_json
from lungeline.theatre.printing import print_handover, print_record
from lungeline.web.pages.about import about, case_shown
from lungeline.web.parts.seat import desk_of

_ZIPPED = {"csv.zip": False, "anonymous.zip": True}
_COPIES = (*_ZIPPED, "record.json", "lines.jsonl")


def record(request: HttpRequest, case: str) -> HttpResponse:
    """Show the record of a case; what stands in it the page asks for itself, and again when it grows."""
    now = case_shown(request, case)
    return render(request, "record.html", about("record", now) | {"simulated": bool(now.mark)})


def printed(request: HttpRequest, case: str, which: str) -> HttpResponse:
    """Give the record or the hand-over card as PDF."""
    now = case_shown(request, case)
    desk = desk_of(request)
    if which not in {"record", "card"}:
        raise UnknownNameError.nearest(where="page", given=f"{which}.pdf", valid=("record.pdf", "card.pdf"))
    content = print_record(desk, case) if which == "record" else print_handover(desk, case)
    return _file(content, "application/pdf", f"{_named(now)}-{which}.pdf", inline=True)


def copied(request: HttpRequest, case: str, which: str) -> HttpResponse:
    """Give a copy of the case: CSV files, the same without whose it is, JSON, or the chain as lines."""
    now = case_shown(request, case)
    desk = desk_of(request)
    if which == "record.json":
        return _file(_json(desk, now), "application/json", f"{_named(now)}-record.json")
    if which not in _COPIES:
        raise UnknownNameError.nearest(where="page", given=which, valid=_COPIES)
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        if which == "lines.jsonl":
            (path,) = export_case(desk, case, place / f"{_named(now)}.jsonl", form="lines")
            return _file(path.read_bytes(), "application/x-ndjson", path.name)
        files = export_case(desk, case, place / "files", anonymous=_ZIPPED[which])
        name = "-".join(part for part in (now.mark, "anonymous") if part) if _ZIPPED[which] else _named(now)
        return _file(_zipped(files), "application/zip", f"{name}.zip")


def _named(now: CaseNow) -> str:
    """Return how files of a case are called: what is not real says so."""
    return f"{now.mark}-{now.state.case}" if now.mark else now.state.case


def _json(desk: Desk, now: CaseNow) -> bytes:
    check_right(desk.person(), "export")
    plain = record_json(now, desk.clock(), findings_before_signing(now, desk))
    return json.dumps(plain, ensure_ascii=False, indent=1).encode()


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
