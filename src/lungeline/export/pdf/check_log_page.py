"""The log of a machine for print: what it is, how its leak goes, every check, and what proves it."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from lungeline.check.machine_log import LogRow, MachineLog, What, last_of
from lungeline.check.trend import Trend
from lungeline.export.pdf.check_log_drawing import leak_drawing
from lungeline.export.pdf.heading import words_of_sheet
from lungeline.export.pdf.number_print import UNKNOWN, text
from lungeline.export.pdf.typeset import typeset, typeset_images
from lungeline.words import say

_TITLE = "Check log"
_HEAD = ("No.", "when", "what", "verdict", "found", "by", "for case")
_WIDTHS = (0.4, 1.45, 1.1, 0.8, 4.4, 1.1, 1.2)
_FEWEST_DRAWN = 2
_DAYS = 30
_HOW = (
    "Nothing is ever taken out of the log: what was wrong is struck out by an entry of its own and stays. "
    "The limits drawn are those the last test was judged by; none is published for large-animal circles."
)
_PROOF = {
    "intact": "every entry fits its seal and the one before; proven to entry {proven_count} of {count}",
    "changed": "CHANGED: entry {at_seq} does not fit ({reason}); compare with a backup",
    "cut": "CUT: entries are missing from number {at_seq}; compare with a backup",
    "unverifiable": "cannot be proven here ({reason})",
}


def check_log_pdf(log: MachineLog, *, paper: str = "a4", printed_at: datetime, mark: str = "") -> bytes:
    """Return the log for print; the same log gives the same bytes.

    paper: "a4" or "us-letter"; mark: what every sheet bears where the machine is not real.
    """
    return typeset(_content(log, paper, printed_at, mark), printed_at=printed_at)


def check_log_images(log: MachineLog, *, paper: str = "a4", printed_at: datetime) -> list[bytes]:
    """Return each page of the log as PNG, to look at."""
    return typeset_images(_content(log, paper, printed_at), printed_at=printed_at)


def _content(log: MachineLog, paper: str, moment: datetime, mark: str = "") -> dict[str, Any]:
    today = moment.date().isoformat()
    page = {
        "kind": "checklog",
        "title": _TITLE,
        "name": log.item.name,
        "facts": list(_facts(log)),
        "now": [list(row) for row in _now(log)],
        "signature": "Signed, date",
        "findings": [_finding(finding) for finding in log.findings(today)],
        "svg": leak_drawing(log.past, log.limits_ml_min) if len(log.past) >= _FEWEST_DRAWN else "",
        "section": {
            "title": "All entries",
            "head": list(_HEAD),
            "rows": [_row(row) for row in log.rows],
            "widths": list(_WIDTHS),
            "turned": False,
            "note": _HOW,
        },
    }
    return {"paper": paper, "sheet": words_of_sheet(log.item.serial, log.item.name, mark), "pages": [page]}


def _facts(log: MachineLog) -> Iterator[str]:
    item = log.item
    yield item.sort
    for name, told in (("serial", item.serial), ("made by", item.made_by), ("retired", log.retired)):
        if told:
            yield f"{name} {told}"
    for name, value, key in (
        ("holds", item.capacity_l, "capacity_l"),
        ("bore", item.bore_mm, "bore_mm"),
        ("absorbent used", item.absorbent_used_hours, "absorbent_used_hours"),
        ("absorbent good for", item.absorbent_good_for_hours, "absorbent_good_for_hours"),
    ):
        if value is not None:
            yield f"{name} {text(key, value)}"
    for name, told in (
        ("serviced on", item.serviced_on),
        ("service due on", item.service_due_on),
        ("pressure test due on", item.pressure_test_due_on),
    ):
        if told:
            yield f"{name} {told}"


def _now(log: MachineLog) -> Iterator[tuple[str, str]]:
    """Yield how it stands: the last of each check, the trends, the proof."""
    kinds: tuple[What, ...] = ("guided check", "leak test", "test lung", "signed")
    for what in kinds:
        last = last_of(log.rows, what)
        told = (
            f"{_clock(last.at)}  {(last.verdict or '').upper()}  {last.says}, {last.by}" if last else "none"
        )
        yield f"last {what}" if what != "signed" else "last signed", told
    yield "leak", _trend(log.leak_trend, "mL/min")
    yield "compliance", _trend(log.compliance_trend, "mL/cmH2O")
    yield "proof", _PROOF[log.proof["outcome"]].format(**log.proof)


def _told(row: LogRow) -> str:
    verdict = f"{row.verdict.upper()}  " if row.verdict else ""
    return f"{_clock(row.at)}  {verdict}{row.says}, {row.by}"


def _trend(found: Trend, unit: str) -> str:
    if found.course == "too few checks":
        return f"{found.checks_number} tests: too few to tell a trend"
    slope = f"{found.slope_per_day * _DAYS:+.3g} {unit} in {_DAYS} days"
    return f"{found.course} over {found.checks_number} tests, {slope}, by chance {found.chance_fraction:.2g}"


def _row(row: LogRow) -> list[str]:
    struck = f"STRUCK OUT ({row.struck}, {row.struck_by}): " if row.struck else ""
    verdict = row.verdict.upper() if row.verdict else UNKNOWN
    return [
        str(row.seq),
        _clock(row.at),
        row.what,
        verdict,
        f"{struck}{row.says}",
        row.by,
        row.case or UNKNOWN,
    ]


def _clock(at: str) -> str:
    return f"{datetime.fromisoformat(at):%Y-%m-%d %H:%M}"


def _finding(finding: Any) -> dict[str, str]:  # noqa: ANN401  a Finding
    said = say(finding)
    return {"severity": said.severity, "says": said.says, "do": said.do}
