"""The printed log of a machine that is none: every sheet says so."""

import io
from datetime import UTC, datetime

from pypdf import PdfReader

from lungeline.check import Item
from lungeline.check.machine_log import LogRow, MachineLog
from lungeline.export.pdf.check_log_page import check_log_pdf

PRINTED = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
ROW = LogRow(seq=1, at=PRINTED.isoformat(), by="A. Vet", what="note", says="seen", uid="u")
LOG = MachineLog(
    item=Item(sort="circle", name="Circle 1"),
    retired="",
    rows=(ROW,) * 120,
    past=(),
    limits_ml_min=None,
    proof={"outcome": "intact", "count": 1, "proven_count": 1, "at_seq": None, "reason": ""},
)


def _sheets(mark: str) -> list[str]:
    content = check_log_pdf(LOG, printed_at=PRINTED, mark=mark)
    return [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]


def test_a_log_of_a_demonstration_bears_its_mark() -> None:
    marked = _sheets("SIMULATED")
    assert len(marked) > 1
    assert all("SIMULATED" in sheet for sheet in marked)
    assert not any("SIMULATED" in sheet for sheet in _sheets(""))
