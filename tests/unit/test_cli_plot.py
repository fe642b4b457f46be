"""The picture of a course: readable, honest, the same each time."""

import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast

import pytest

from lungeline.case import BREATH_KEYS, Animal, Breath, Case, Change, FaultEvent
from lungeline.cli import plot
from lungeline.cli.lanes import LANES
from lungeline.errors import InputError, MissingError
from lungeline.units import UNITS, unit_of

np = pytest.importorskip("numpy")
pytest.importorskip("matplotlib")

CASE = Case(
    animal=Animal(species="foal", weight_kg=60),
    changes=(Change(at_min=2, settings={"peep_cmh2o": 8, "pressure_limit_cmh2o": 30}),),
    faults=(FaultEvent(code="circuit_leak", at_min=3),),
    title="A foal",
)


@dataclass
class HandRun:
    """What the picture reads of a run."""

    case: Case = CASE
    breaths: list[Breath] = field(
        default_factory=lambda: [
            Breath(time_s=60.0 * minute, paco2_mmhg=40.0 + minute, etco2_mmhg=None if minute == 2 else 36.0)
            for minute in range(5)
        ]
    )


@dataclass
class HandHerd:
    """What the picture reads of a herd."""

    times_s: Any = field(default_factory=lambda: np.array([60.0, 120.0]))
    values: dict[str, None] = field(default_factory=lambda: dict.fromkeys(BREATH_KEYS[1:]))
    n: int = 12

    def percentiles(self, _key: str) -> dict[str, Any]:
        """Return the same band for all."""
        return {"p10": np.array([1.0, 2.0]), "p50": np.array([2.0, 3.0]), "p90": np.array([3.0, np.nan])}


def drawn(path: Path, herd: HandHerd | None = None) -> bytes:
    plot.check_target(path)
    plot.draw(path, cast("Any", HandRun()), cast("Any", herd), 5.0, validated=False)
    return path.read_bytes()


def test_the_picture_says_what_it_is(tmp_path: Path) -> None:
    text = drawn(tmp_path / "a.svg", HandHerd()).decode()
    for words in (
        "SIMULATED, NOT VALIDATED for species foal",
        "A foal",
        "band: 8 in 10 of 12 animals",
        "carbon dioxide",
        "limit set",
        "minutes",
        "fault circuit_leak",
    ):
        assert words in text, words


def test_the_same_run_gives_the_same_bytes(tmp_path: Path) -> None:
    assert drawn(tmp_path / "a.svg") == drawn(tmp_path / "b.svg")
    assert drawn(tmp_path / "a.png") == drawn(tmp_path / "b.png")
    assert (tmp_path / "a.png").read_bytes().startswith(b"\x89PNG")


def test_every_line_is_a_quantity_in_a_unit_of_its_lane() -> None:
    for lane in LANES:
        for line in (*lane.lines, *lane.limits):
            unit = unit_of(line.key)
            assert unit is not None
            assert unit.quantity == UNITS[lane.shown_in].quantity
        assert {line.key for line in lane.lines} <= set(BREATH_KEYS)


def test_lines_of_one_lane_differ_in_colour_and_in_dash() -> None:
    for lane in LANES:
        lines = (*lane.lines, *lane.limits)
        assert len({line.colour for line in lines}) == len(lines)
        assert len({line.dash for line in lines}) == len(lines)


def test_events_at_one_time_share_a_label_that_fits() -> None:
    marked = list(plot._marked([(2.0, "PEEP 8 cmH2O"), (2.0, "x" * 80), (3.0, "fault")]))  # noqa: SLF001  drawn text
    assert [minute for minute, _ in marked] == [2.0, 3.0]
    assert marked[0][1].startswith("PEEP 8 cmH2O; xxx")
    assert marked[0][1].endswith("…")


def test_a_picture_that_cannot_be_kept_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"\.svg or \.png"):
        plot.check_target(tmp_path / "a.gif")
    with pytest.raises(MissingError, match="folder"):
        plot.check_target(tmp_path / "none" / "a.svg")
    (tmp_path / "taken.svg").mkdir()
    with pytest.raises(InputError, match="can be written"):
        drawn(tmp_path / "taken.svg")


def test_without_matplotlib_it_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    with pytest.raises(MissingError, match=r"lungeline\[plot\]"):
        plot.check_target(tmp_path / "a.svg")
