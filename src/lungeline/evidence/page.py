"""The evidence as one page of Markdown: the count, the comparisons, what disagrees and why, limits."""

import math
from collections.abc import Iterable, Sequence

from lungeline.evidence.catalogue import GROUPS
from lungeline.evidence.comparison import TOLD, Comparison, Direction, Result
from lungeline.units import UNITS

_INTRODUCTION = """\
# Evidence

How far the simulated animal can be believed: published studies, each done again in simulation, misses
included.

Ours agrees with a paper if it lies within the printed standard deviation, interquartile range or range; where
a paper prints only a mean, within 15 % of it; where it tells only a direction, if ours goes that way. States
are settled for 40 min or as long as the study took, and read as means over two minutes. What a paper does not
print (weight, tidal volume, depth) is the usual: it stands under *simulated*.

Rows marked *fit* are numbers the parameters of the model were fitted to: agreement there shows that one
animal can do all of it, and predicts nothing. The other rows are independent. Most papers were seen as
abstracts only.
"""

LIMITS = (
    (
        "The usual animal stands for a mean of clinical horses. Studies on a few healthy horses, or of other "
        "breeds, differ from it as horses differ from each other; the spread of a herd shows how much."
    ),
    (
        "Left and right lung are told apart only as a share that is ventilated or not. Regional ventilation "
        "has gravity layers, a fast and a slow compartment, shunt and dead space, and nothing finer."
    ),
    "Body temperature stays as given, nitrogen is not stored in tissue, one agent acts at a time.",
    (
        "Opening and closing of lung is two thresholds and two rates, the fewest that agree with closing "
        "pressure, PEEP, posture and slowed expiration together."
    ),
    (
        "Pony: shunt and output only. Foal, calf, donkey and cattle: figures from memory, scaled; nothing "
        "here vouches for them."
    ),
    (
        "A fit to targets chosen by hand, by least squares: no distribution of likely values, and others "
        "would do nearly as well."
    ),
    "For planning and teaching. It decides nothing about an animal.",
)


def evidence_page(results: Sequence[Result]) -> str:
    """Return the page."""
    groups = (line for heading, items in GROUPS.items() for line in _group(heading, items, results))
    return "\n".join([_INTRODUCTION, f"{count_text(results)}\n", *groups, *_outside(results), *_limits()])


def count_text(results: Sequence[Result]) -> str:
    """Return how many agree, of targets and of others."""
    targets = [item for item in results if item.comparison.target_of_fit]
    others = [item for item in results if not item.comparison.target_of_fit]
    inside = sum(item.inside for item in results)
    return (
        f"{inside} of {len(results)} comparisons agree: {_share(targets)} targets of the fit, "
        f"{_share(others)} independent ones."
    )


def _share(results: Sequence[Result]) -> str:
    return f"{sum(item.inside for item in results)} of {len(results)}"


def published_text(item: Comparison) -> str:
    """Return the number with its spread and unit, or what was told in words."""
    found = item.published
    if isinstance(found, Direction) or found.statistic == TOLD:
        return found.as_printed
    label = UNITS[found.unit].label
    unit = "" if label == "1" else f" {label}"
    if found.low is not None and found.high is not None:
        span = f"{found.low:.4g} to {found.high:.4g}"
        return f"{span}{unit}" if found.statistic == "range" else f"{found.published:.4g} ({span}){unit}"
    if found.sd is not None:
        return f"{found.published:.4g} ± {found.sd:.4g}{unit}"
    if found.sem is not None:
        return f"{found.published:.4g} ± {found.sem:.4g} (SEM){unit}"
    return f"{found.published:.4g}{unit}"


def ours_text(result: Result) -> str:
    """Return our number with its unit."""
    if not math.isfinite(result.ours):
        return "could not be simulated"
    label = UNITS[result.comparison.published.unit].label
    number = f"{result.ours:.3g}" if abs(result.ours) < 1000 else f"{result.ours:.0f}"  # noqa: PLR2004 - no 1e+03
    return number if label == "1" else f"{number} {label}"


def _group(heading: str, items: Iterable[Comparison], results: Sequence[Result]) -> list[str]:
    keys = {item.key for item in items}
    rows = [_row(result) for result in results if result.comparison.key in keys]
    head = "| study | quantity | simulated | published | ours | | |\n|---|---|---|---|---|---|---|"
    return [f"## {heading}\n", head, *rows, ""]


def _row(result: Result) -> str:
    item = result.comparison
    cells = (
        item.source.title,
        item.quantity,
        item.set_up,
        published_text(item),
        ours_text(result),
        "agrees" if result.inside else "**disagrees**",
        "fit" if item.target_of_fit else "",
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _outside(results: Sequence[Result]) -> list[str]:
    missed = [result for result in results if not result.inside]
    lines = [
        f"- **{item.source.title}**, {item.quantity} ({item.set_up}): published {published_text(item)}, ours "
        f"{ours_text(result)}. {item.reason_if_outside or 'Not explained.'}"
        for result in missed
        for item in [result.comparison]
    ]
    return ["## What disagrees, and why\n", *(lines or ["Nothing."]), ""]


def _limits() -> list[str]:
    return ["## Limits\n", *(f"- {limit}" for limit in LIMITS), ""]
