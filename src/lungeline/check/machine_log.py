"""The log of one machine as a person reads it: what was found when, by whom, and where that leads."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any, Literal

from lungeline.case import Finding, gravest_first
from lungeline.check.register import Item, PastLeakTest, against_before, due, trend_of, worse
from lungeline.check.trend import Trend
from lungeline.check.verdict import Verdict

SCHEMA = "lungeline.machine_log/1"
What = Literal["registered", "leak test", "guided check", "test lung", "list", "signed", "retired", "note"]
CHECKS: frozenset[What] = frozenset({"leak test", "guided check", "test lung"})


@dataclass(frozen=True, slots=True, kw_only=True)
class LogRow:
    """One line of the log.

    seq: its number; at: when it was, in ISO 8601; by: who says so. verdict: None for what is no check.
    says: the line itself. case: for which case it was done, empty for none. uid: of its entry.
    struck, struck_by: why it was struck out and by whom, empty where it stands.
    list_stamp: by which list a guided check was made.
    """

    seq: int
    at: str
    by: str
    what: What
    says: str
    uid: str
    verdict: Verdict | None = None
    case: str = ""
    struck: str = ""
    struck_by: str = ""
    list_stamp: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return the line as a plain object."""
        return {item.name: getattr(self, item.name) for item in fields(self)}


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineLog:
    """All that is known of one machine.

    retired: why it is no longer used, empty where it is. rows: as they were entered, struck ones too.
    past: its leak tests, the oldest first. limits_ml_min: leak that passed and leak that failed, by the
    limits of its last test. proof: what the chain of the log says of itself.
    """

    item: Item
    retired: str
    rows: tuple[LogRow, ...]
    past: tuple[PastLeakTest, ...]
    limits_ml_min: tuple[float, float] | None
    proof: Mapping[str, Any]

    @property
    def checks(self) -> tuple[LogRow, ...]:
        """The checks that stand."""
        return tuple(row for row in self.rows if row.what in CHECKS and not row.struck)

    @property
    def leak_trend(self) -> Trend:
        """How the leak goes."""
        return trend_of(self.past, self.item.name)

    @property
    def compliance_trend(self) -> Trend:
        """How the compliance goes."""
        return trend_of(self.past, self.item.name, "compliance_ml_cmh2o")

    def findings(self, today: str) -> tuple[Finding, ...]:
        """Return what is due, what gets worse, and how the last leak test compares. today: a date."""
        compared = against_before(self.past[-1], self.past) if self.past else ()
        listed = [] if self.retired else [self.item]
        return gravest_first([*due(listed, today), *worse(self.past, self.item.name), *compared])

    def as_json(self, today: str) -> dict[str, Any]:
        """Return the log as a plain object."""
        return {
            "schema": SCHEMA,
            "machine": self.item.name,
            "item": self.item.as_json(),
            "retired": self.retired,
            "rows": [row.as_json() for row in self.rows],
            "tests": [test.as_json() for test in self.past],
            "trend": self.leak_trend.as_json(),
            "compliance_trend": self.compliance_trend.as_json(),
            "findings": [finding.as_json() for finding in self.findings(today)],
            "proof": dict(self.proof),
        }


def last_of(rows: Sequence[LogRow], what: What) -> LogRow | None:
    """Return the last line of a sort that stands, by when it was."""
    standing = [row for row in rows if row.what == what and not row.struck]
    return max(standing, key=lambda row: (datetime.fromisoformat(row.at), row.seq), default=None)
