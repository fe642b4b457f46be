"""The causes of trouble as one page of Markdown: each with severity and signs, then from sign to cause."""

from collections.abc import Iterable
from typing import get_args

from lungeline.simulate.faults import FAULTS, Domain, Fault, Sign

_INTRODUCTION = """\
# Faults

Every cause of trouble the simulated animal knows, each written once as a change of its numbers. A case names
it by its code, with a time and a severity from 0 (nothing) to 1 (as bad as it gets):

```toml
[[faults]]
code = "circuit_leak"
at_min = 30
severity = 0.5
until_min = 45
```

*Signs* are how the numbers of a breath stand ten minutes on, against the same breath without the fault. They
hold at severity 1, for a settled horse on its back that is ventilated by volume (13 mL/kg, PEEP 5 cmH2O), too
deep to breathe for itself, with no pressure limit reached. A lighter animal answers carbon dioxide with
breaths of its own, a pressure mode gives less volume, and a small fault may show nothing. What a table leaves
out is not said to stay. A fault of an instrument changes what is shown, and nothing else.
"""
_HEADINGS: dict[Domain, str] = {
    "circuit": "In the breathing system",
    "animal": "In the animal",
    "sensor": "In an instrument",
    "settings": "In what is set",
    "event": "Events",
}
_SIGNS: dict[Sign, str] = {"up": "up", "down": "down", "equal": "as before"}
_FROM_SIGN = """\
## From sign to cause

The same the other way round: what to think of where a number has moved. Two signs together narrow it more
than one, and a number that should have moved and has not is a sign as well.

| number | moved | think of |
|---|---|---|
"""


def faults_page() -> str:
    """Return the page."""
    groups = (line for domain in get_args(Domain) for line in _group(domain))
    return "\n".join([_INTRODUCTION, *groups, _FROM_SIGN + "\n".join(_sign_rows()), ""])


def _group(domain: Domain) -> Iterable[str]:
    rows = [_row(fault) for fault in FAULTS.values() if fault.domain == domain]
    if rows:
        head = "| fault | code | severity | signs | not in the model |\n|---|---|---|---|---|"
        yield f"## {_HEADINGS[domain]}\n"
        yield from (head, *rows, "")


def _row(fault: Fault) -> str:
    signs = ", ".join(f"`{key}` {_SIGNS[sign]}" for key, sign in fault.signs.items())
    missing = fault.missing if fault.producible else f"the fault itself; {fault.missing}".rstrip("; ")
    cells = (fault.title, f"`{fault.code}`", fault.severity_law, signs, missing)
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _sign_rows() -> Iterable[str]:
    found: dict[tuple[str, Sign], list[str]] = {}
    for fault in FAULTS.values():
        for key, sign in fault.signs.items():
            found.setdefault((key, sign), []).append(f"`{fault.code}`")
    for (key, sign), codes in sorted(found.items()):
        yield f"| `{key}` | {_SIGNS[sign]} | {', '.join(codes)} |"
