"""A plan as a PDF: the sheets asked for, in the order asked for."""

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any, Literal, get_args

from lungeline.errors import MissingError, UnknownNameError
from lungeline.export.pdf.chart_page import chart_page
from lungeline.export.pdf.drug_page import drug_page
from lungeline.export.pdf.emergency_page import emergency_page
from lungeline.export.pdf.heading import sheet_words
from lungeline.export.pdf.label_page import label_page
from lungeline.export.pdf.plan_page import plan_page
from lungeline.export.pdf.typeset import typeset
from lungeline.plan import Plan

Paper = Literal["a4", "letter"]
PAPERS: tuple[Paper, ...] = get_args(Paper)
# The typesetter's names of the papers.
_PAPER_NAMES: dict[str, str] = {"a4": "a4", "letter": "us-letter"}
_MAKERS: dict[str, Callable[[Plan], dict[str, Any]]] = {
    "plan": plan_page,
    "drugs": drug_page,
    "labels": label_page,
    "emergency": emergency_page,
    "chart": chart_page,
}
PAGES = tuple(_MAKERS)


def plan_pdf(
    plan: Plan,
    paper: Paper = "a4",
    pages: Iterable[str] = PAGES,
    printed_at: datetime | None = None,
    mark: str = "",
) -> bytes:
    """Return a plan for print, as the bytes of a PDF; the same plan gives the same bytes.

    pages: some of "plan", "drugs", "labels", "emergency" and "chart"; printed_at: time to print at the foot.
    mark: such as SIMULATED, stands on every sheet of what is not real.
    Raises InputError for another paper or page, or for none.
    """
    return typeset(plan_content(plan, paper, pages, mark), printed_at=printed_at)


def plan_content(
    plan: Plan, paper: Paper = "a4", pages: Iterable[str] = PAGES, mark: str = ""
) -> dict[str, Any]:
    """Return all words and numbers of these sheets, for the typesetter."""
    wanted = tuple(dict.fromkeys(pages))
    if paper not in _PAPER_NAMES:
        raise UnknownNameError.nearest(where="paper", given=str(paper), valid=PAPERS)
    for page in wanted:
        if page not in _MAKERS:
            raise UnknownNameError.nearest(where="pages", given=str(page), valid=PAGES)
    if not wanted:
        raise MissingError(where="pages", given="none", allowed=", ".join(PAGES), do="Ask for one at least.")
    return {
        "paper": _PAPER_NAMES[paper],
        "sheet": sheet_words(plan, mark),
        "pages": [_MAKERS[page](plan) for page in wanted],
    }
