"""All comparisons as one picture: how far ours lies from the middle of what agrees with each paper."""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lungeline.evidence import Result

_BLUE, _VERMILION, _GREY = "#0072B2", "#D55E00", "#DDDDDD"  # Okabe & Ito 2008
_FARTHEST = 4.0  # beyond, the mark stands at the edge as an arrow
_ROW_IN, _MARGIN_IN, _WIDTH_IN = 0.24, 1.4, 11.0


def draw(path: Path, results: "Sequence[Result]") -> None:
    """Draw into a file. The target has been checked."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    shown = [(result, ratio) for result in results if (ratio := result.deviation_ratio) is not None]
    # the same results give the same bytes: no random names, and no date
    with mpl.rc_context({"svg.hashsalt": "lungeline", "font.size": 9.0, "svg.fonttype": "none"}):
        height_in = _ROW_IN * len(shown) + _MARGIN_IN
        picture = Figure(figsize=(_WIDTH_IN, height_in), layout="constrained", facecolor="white")
        axes = picture.subplots()
        axes.axvspan(-1.0, 1.0, color=_GREY)
        axes.axvline(0.0, color="black", linewidth=0.6)
        for row, (result, ratio) in enumerate(shown):
            far = abs(ratio) > _FARTHEST
            colour = _BLUE if result.inside else _VERMILION
            axes.plot(
                max(-_FARTHEST, min(_FARTHEST, ratio)),
                row,
                marker=(">" if ratio > 0 else "<") if far else "o",
                color=colour,
                markerfacecolor="white" if result.comparison.target_of_fit else colour,
            )
        axes.set_yticks(range(len(shown)), [_label(result) for result, _ in shown])
        axes.set_ylim(len(shown) - 0.5, -0.5)
        axes.set_xlim(-_FARTHEST - 0.3, _FARTHEST + 0.3)
        axes.set_xlabel(
            "distance from the middle, in half-widths of what agrees with the paper (one SD where printed)"
        )
        axes.set_title(
            "SIMULATED against published: grey agrees, open marks are targets of the fit\n"
            f"{len(results) - len(shown)} that only tell a direction are not drawn"
        )
        metadata = {"Date": None} if path.suffix == ".svg" else None
        picture.savefig(path, metadata=metadata)


def _label(result: "Result") -> str:
    return f"{result.comparison.key.replace('-', ' ')} [{result.comparison.study}]"
