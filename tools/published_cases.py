"""Published cases: how the ranking does on what reports print, as a table in docs/explain.md.

`python tools/published_cases.py` ranks the cases of tests/published/vignettes.toml and writes the table anew.
"""

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lungeline.case import case_from_tables
from lungeline.explain import Explanation, explain, typed

ROOT = Path(__file__).resolve().parents[1]
VIGNETTES = ROOT / "tests" / "published" / "vignettes.toml"
PAGE = ROOT / "docs" / "explain.md"
BEGINS, ENDS = "<!-- published cases: written by tools/published_cases.py -->\n\n", "\n<!-- end -->\n"
BEFORE_S, NOW_S = 0.0, 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Vignette:
    """One published case, as vignettes.toml explains its fields."""

    code: str
    title: str
    source: str
    seen: str
    told: str
    animal: Mapping[str, Any]
    settings: Mapping[str, Any]
    now: Mapping[str, float]
    usual_before: Mapping[str, float]
    causes: Sequence[str]
    action: str
    threat: bool
    assumed: str
    not_measured: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A case with its answers: from the printed readings alone, and with usual ones from before."""

    vignette: Vignette
    alone: Explanation
    with_usual: Explanation


def vignettes() -> list[Vignette]:
    """Return the published cases in the order of their file."""
    tables = tomllib.loads(VIGNETTES.read_text(encoding="utf-8"))["vignettes"]
    return [Vignette(code=code, **table) for code, table in tables.items()]


def ranked(it: Vignette) -> Ranked:
    """Rank the causes of one case, as `lungeline explain` does."""
    case = case_from_tables({"animal": dict(it.animal), "settings": dict(it.settings)})
    now, before = typed(it.now, NOW_S), typed(it.usual_before, BEFORE_S)
    return Ranked(
        vignette=it,
        alone=explain(case, now),
        with_usual=explain(case, [*before, *now], changed_s=BEFORE_S),
    )


def place(it: Vignette, told: Explanation) -> int:
    """Return at which place the true cause stands, or the first of several that are right."""
    return 1 + min(i for i, cause in enumerate(told.causes) if cause.code in it.causes)


def within(most: int, places: Iterable[int]) -> int:
    """Return how many stand among the first so many."""
    return sum(each <= most for each in places)


def table(cases: Sequence[Ranked]) -> str:
    """Return the table and its sums as Markdown."""
    lines = ["| case | source | true cause | printed readings alone | with usual ones before | first said |"]
    lines.append("|---|---|---|---|---|---|")
    lines += [_row(it) for it in cases]
    for name, places in (("Printed readings alone", alone(cases)), ("With usual ones before", usual(cases))):
        first, two, three = (within(most, places) for most in (1, 2, 3))
        sums = f"{first} first, {two} among the first two, {three} among the first three"
        lines += ["", f"{name}, of {len(places)}: {sums}."]
    return "\n".join(lines) + "\n"


def alone(cases: Sequence[Ranked]) -> list[int]:
    """Return the places from printed readings alone."""
    return [place(it.vignette, it.alone) for it in cases]


def usual(cases: Sequence[Ranked]) -> list[int]:
    """Return the places with usual readings from before."""
    return [place(it.vignette, it.with_usual) for it in cases]


def _row(it: Ranked) -> str:
    case = it.vignette
    causes = " or ".join(f"`{code}`" for code in case.causes)
    threat = it.alone.threats.findings
    first = f"`{threat[0].code}`" if threat else "no life threat"
    cells = (case.title, f"`{case.source}`", causes, _told(case, it.alone), _told(case, it.with_usual), first)
    return f"| {' | '.join(cells)} |"


def _told(case: Vignette, told: Explanation) -> str:
    at, first = place(case, told), told.causes[0]
    instead = "" if at == 1 else f"; first `{first.code}`"
    return f"{at}, {told.causes[at - 1].word}{instead}"


def page(text: str, cases: Sequence[Ranked]) -> str:
    """Return the page with the table in its place."""
    head, begins, rest = text.partition(BEGINS)
    _, ends, tail = rest.partition(ENDS)
    return head + begins + table(cases) + ends + tail


if __name__ == "__main__":
    found = [ranked(it) for it in vignettes()]
    PAGE.write_text(page(PAGE.read_text(encoding="utf-8"), found), encoding="utf-8")
