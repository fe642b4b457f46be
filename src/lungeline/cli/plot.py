"""The course of a simulated case as a picture: lanes above each other, one time axis."""

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.cli.lanes import LANES, Lane, Line
from lungeline.cli.table import events
from lungeline.errors import InputError, MissingError
from lungeline.units import convert, unit_of

if TYPE_CHECKING:
    from lungeline.case import Breath
    from lungeline.simulate.herd import HerdRun
    from lungeline.simulate.run import Run

_SUFFIXES = (".svg", ".png")
_SECONDS_PER_MINUTE = 60.0
_WIDTH_IN, _LANE_IN, _MARGIN_IN, _DOTS_PER_IN = 12.0, 1.7, 1.6, 110
_LONGEST_EVENT = 42


def check_target(path: Path) -> None:
    """Refuse, before any work, a picture that could not be drawn or kept."""
    if path.suffix.lower() not in _SUFFIXES:
        raise InputError(
            where="--plot",
            given=str(path),
            allowed=" or ".join(_SUFFIXES),
            do="End the name in one of these.",
        )
    if not path.parent.is_dir():
        raise MissingError(
            where="--plot",
            given=str(path),
            allowed="a file in a folder that exists",
            do="Make the folder first.",
        )
    try:
        import matplotlib as mpl
    except ImportError:
        raise MissingError(
            where="--plot",
            given="no matplotlib",
            allowed="matplotlib installed",
            do='Install it: pip install "lungeline[plot]".',
        ) from None
    mpl.use("Agg")


def draw(path: Path, result: "Run", herd: "HerdRun | None", end_min: float, *, validated: bool) -> None:
    """Draw the run, and the band of the herd behind it, into a file. `check_target` comes first."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    # the same run gives the same bytes: no random names, and no date
    with mpl.rc_context({"svg.hashsalt": "lungeline", "font.size": 11.0, "svg.fonttype": "none"}):
        height_in = _LANE_IN * len(LANES) + _MARGIN_IN
        picture = Figure(figsize=(_WIDTH_IN, height_in), layout="constrained", facecolor="white")
        axes = picture.subplots(len(LANES), 1, sharex=True)
        for lane, ax in zip(LANES, axes, strict=True):
            _draw_lane(ax, lane, result.breaths, herd)
            _draw_limits(ax, lane, result, end_min)
            _label(ax, lane)
        _draw_events(axes, result, end_min)
        axes[-1].set_xlim(0.0, end_min)
        axes[-1].set_xlabel("minutes")
        picture.suptitle(_title(result, herd, validated=validated), x=0.01, ha="left", weight="bold")
        _keep(picture, path)


def _keep(picture: Any, path: Path) -> None:  # noqa: ANN401  matplotlib is loaded late
    metadata = {"Date": None} if path.suffix.lower() == ".svg" else {"Software": None}
    try:
        picture.savefig(path, dpi=_DOTS_PER_IN, metadata=metadata)
    except OSError as error:
        reason = error.strerror or "the file cannot be written"
        raise InputError(
            where="--plot",
            given=str(path),
            allowed=f"a file that can be written ({reason})",
            do="Take another.",
        ) from None


def _title(result: "Run", herd: "HerdRun | None", *, validated: bool) -> str:
    animal = result.case.animal
    caution = "" if validated else f", NOT VALIDATED for species {animal.species}"
    band = f"; band: 8 in 10 of {herd.n} animals" if herd is not None else ""
    what = f"{animal.species} {animal.weight_kg:.4g} kg, {animal.position}{band}"
    title = f"\n{result.case.title}" if result.case.title else ""
    return f"SIMULATED{caution} – {what}{title}"


def _draw_lane(ax: Any, lane: Lane, breaths: "Sequence[Breath]", herd: "HerdRun | None") -> None:  # noqa: ANN401  matplotlib is loaded late
    minutes = [breath.time_s / _SECONDS_PER_MINUTE for breath in breaths]
    for line in lane.lines:
        values = [_shown(getattr(breath, line.key), line.key, lane.shown_in) for breath in breaths]
        if herd is not None and line.key in herd.values:
            _draw_band(ax, line, lane.shown_in, herd)
        ax.plot(minutes, values, line.dash, color=line.colour, label=line.words, linewidth=1.6)


def _draw_limits(ax: Any, lane: Lane, result: "Run", end_min: float) -> None:  # noqa: ANN401  as above
    parts = result.case.timeline()
    minutes = [*(part.from_min for part in parts), end_min]
    for line in lane.limits:
        values = [_shown(getattr(part.settings, line.key), line.key, lane.shown_in) for part in parts]
        style = {"color": line.colour, "label": line.words, "linewidth": 1.0}
        ax.step(minutes, [*values, values[-1]], line.dash, where="post", **style)


def _label(ax: Any, lane: Lane) -> None:  # noqa: ANN401  as above
    ax.set_ylabel(f"{lane.title}\n{lane.unit}")
    ax.grid(visible=True, color="#DDDDDD", linewidth=0.6)
    ax.spines[["top", "right"]].set_visible(False)
    ax.margins(y=0.12)
    ax.text(0.5, 0.5, "SIMULATED", transform=ax.transAxes, ha="center", va="center", alpha=0.10, size=20)
    if len(lane.lines) > 1:
        ax.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), frameon=False)


def _draw_band(ax: Any, line: Line, shown_in: str, herd: "HerdRun") -> None:  # noqa: ANN401  as above
    band = herd.percentiles(line.key)
    low, high = ([_shown(value, line.key, shown_in) for value in band[name]] for name in ("p10", "p90"))
    ax.fill_between(herd.times_s / _SECONDS_PER_MINUTE, low, high, color=line.colour, alpha=0.18, linewidth=0)


def _shown(value: float | None, key: str, shown_in: str) -> float:
    """Return the value in the lane's unit; a gap in the line where there is none."""
    unit = unit_of(key)
    return math.nan if value is None or unit is None else convert(value, unit.suffix, shown_in)


def _draw_events(axes: Any, result: "Run", end_min: float) -> None:  # noqa: ANN401  as above
    for minute, words in _marked(events(result.case, end_min)):
        for ax in axes:
            ax.axvline(minute, color="#555555", linewidth=0.9, linestyle=(0, (4, 3)))
        axes[0].annotate(
            words,
            (minute, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(2, 2),
            textcoords="offset points",
            rotation=20,
            size=9,
            annotation_clip=False,
        )


def _marked(found: Sequence[tuple[float, str]]) -> Iterator[tuple[float, str]]:
    """Yield each time once, with what happens then, shortened to what fits."""
    for minute in dict.fromkeys(minute for minute, _ in found):
        words = "; ".join(words for at_min, words in found if at_min == minute)
        yield minute, words if len(words) <= _LONGEST_EVENT else f"{words[: _LONGEST_EVENT - 1]}…"
