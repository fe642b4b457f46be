"""What was wrong with a file of curves, as findings: read on, and say so."""

from collections.abc import Iterable
from dataclasses import dataclass

from lungeline.case import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Flaws:
    """Counts of what was wrong: rows without a time, rows that came twice or late, clocks set, gaps."""

    unreadable: int = 0
    repeated: int = 0
    jumps: int = 0
    gaps: int = 0

    def findings(self, empty_keys: Iterable[str] = ()) -> tuple[Finding, ...]:
        """Return a finding for each kind there was; empty_keys: quantities whose column holds no number."""
        found = (
            (self.jumps, Finding(code="clock_jumped", severity="caution", figures=_count(self.jumps))),
            (self.gaps, Finding(code="curve_gaps", severity="note", figures=_count(self.gaps))),
            (
                self.unreadable,
                Finding(code="rows_unreadable", severity="note", figures=_count(self.unreadable)),
            ),
            (self.repeated, Finding(code="rows_repeated", severity="note", figures=_count(self.repeated))),
        )
        empty = (Finding(code="column_empty", severity="note", figures={"key": key}) for key in empty_keys)
        return (*(finding for count, finding in found if count), *empty)


def _count(count: int) -> dict[str, float | str | None]:
    return {"count_number": float(count)}
