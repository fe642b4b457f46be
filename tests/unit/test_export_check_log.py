"""The log of a machine for print: nothing left out, nothing typed obeyed, the leak drawn to scale."""

import io
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from pypdf import PdfReader

from lungeline.check import Item, PastLeakTest
from lungeline.check.machine_log import LogRow, MachineLog
from lungeline.export.pdf.check_log_drawing import leak_drawing
from lungeline.export.pdf.check_log_page import check_log_images, check_log_pdf

MARKUP = '#panic("x") $a_b$ *bold* [[x]] \\ #import "@preview/a:1.0.0" <b>&amp;</b>'
FIRST, PRINTED = datetime(2026, 5, 1, 7, 40, tzinfo=UTC), datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
PROOF = {"outcome": "intact", "count": 9, "proven_count": 9, "at_seq": None, "reason": ""}


def past(leaks_ml_min: list[float]) -> tuple[PastLeakTest, ...]:
    """Leak tests a week apart, each known to 60 mL/min."""
    return tuple(
        PastLeakTest(
            machine="Circle 1",
            at=(FIRST + timedelta(weeks=week)).isoformat(),
            leak_ml_min=leak,
            leak_low_ml_min=leak - 60,
            leak_high_ml_min=leak + 60,
        )
        for week, leak in enumerate(leaks_ml_min)
    )


def row(seq: int, says: str, struck: str = "") -> LogRow:
    at = (FIRST + timedelta(days=seq)).isoformat()
    return LogRow(
        seq=seq, at=at, by="A. Vet", what="leak test", says=says, uid=f"u{seq}", verdict="caution",
        case="star-1", struck=struck, struck_by="B. Vet" if struck else "",
    )  # fmt: skip


LOG = MachineLog(
    item=Item(sort="circle", name="Circle 1", serial="4711", capacity_l=30.0, service_due_on="2026-03-01"),
    retired="",
    rows=(
        row(1, MARKUP),
        row(2, "150 mL/min", struck="the Y was open"),
        *(row(n, "…") for n in range(3, 120)),
    ),
    past=past([150.0, 180.0, 220.0, 260.0, 320.0]),
    limits_ml_min=(300.0, 1000.0),
    proof=PROOF,
)


def words(log: MachineLog, paper: str = "a4") -> str:
    reader = PdfReader(io.BytesIO(check_log_pdf(log, paper=paper, printed_at=PRINTED)))
    return " ".join(" ".join(page.extract_text().split()) for page in reader.pages)


def test_every_entry_the_trend_and_the_proof_are_printed() -> None:
    text = words(LOG)
    for told in ("Circle 1", "serial 4711", "holds 30 L", "getting worse over 5 tests",
                 "proven to entry 9 of 9", "service of Circle 1 (4711) was due on 2026-03-01",
                 "STRUCK OUT (the Y was open, B. Vet): 150 mL/min", "none is published for large-animal",
                 "not a medical device", "printed 2026-11-25 08:00"):  # fmt: skip
        assert told in text, told
    assert text.count("star-1") == len(LOG.rows)


def test_what_a_person_typed_is_printed_not_obeyed() -> None:
    assert "".join(MARKUP.split()) in "".join(words(LOG).split())


def test_a_log_that_is_damaged_says_so() -> None:
    cut = {"outcome": "cut", "count": 4, "proven_count": 0, "at_seq": 5, "reason": "head"}
    assert "CUT: entries are missing from number 5" in words(replace(LOG, proof=cut))
    none = {"outcome": "unverifiable", "count": 4, "proven_count": 0, "at_seq": None, "reason": "no key"}
    assert "cannot be proven here (no key)" in words(replace(LOG, proof=none))


def test_one_log_gives_one_file_on_either_paper() -> None:
    for paper in ("a4", "us-letter"):
        first, again = (check_log_pdf(LOG, paper=paper, printed_at=PRINTED) for _ in range(2))
        assert first == again
    new = replace(LOG, rows=(), past=(), limits_ml_min=None)
    (page,) = check_log_images(new, printed_at=PRINTED)
    assert page.startswith(b"\x89PNG")


def test_a_point_is_drawn_where_its_leak_is() -> None:
    drawn = leak_drawing(past([0.0, 100.0, 300.0]), (300.0, 1000.0))
    heights = [float(y) for y in re.findall(r'<circle cx="[\d.]+" cy="([\d.]+)"', drawn)]
    (limit,) = re.findall(r'y1="([\d.]+)"[^>]*stroke-dasharray', drawn)
    # arithmetic: 100 mL/min stand a third of the way up to 300, where the limit to pass is drawn too
    assert heights[0] - heights[1] == pytest.approx((heights[0] - heights[2]) / 3, abs=0.1)
    assert float(limit) == pytest.approx(heights[2], abs=0.1)
    assert "passes up to 300" in drawn
    assert "fails above" not in drawn  # far above every leak


def test_tests_are_drawn_by_their_days() -> None:
    tests = past([100.0, 110.0, 120.0])
    late = replace(tests[2], at=(FIRST + timedelta(weeks=4)).isoformat())
    drawn = leak_drawing((*tests[:2], late), None)
    across = [float(x) for x in re.findall(r'<circle cx="([\d.]+)"', drawn)]
    assert across[1] - across[0] == pytest.approx((across[2] - across[0]) / 4, abs=0.1)
    assert "stroke-dasharray" not in drawn
    assert leak_drawing((), None) == ""
