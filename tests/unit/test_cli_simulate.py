"""`lungeline simulate` around the model: arguments, text, JSON. The run is a small one made by hand."""

import io
import json
import math
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from lungeline.case import BREATH_KEYS, Animal, Breath, Case, Change, FaultEvent, case_from_json
from lungeline.cli import simulate as command
from lungeline.cli.main import main
from lungeline.cli.progress import Bar
from lungeline.reference import species_status

HORSE = Case(
    animal=Animal(species="horse", weight_kg=500),
    changes=(Change(at_min=1, settings={"peep_cmh2o": 8}), Change(at_min=500, settings={"peep_cmh2o": 5})),
    faults=(FaultEvent(code="circuit_leak", at_min=600),),
    title="By hand",
)


@dataclass
class HandRun:
    """What the commands read of a run."""

    case: Case
    breaths: list[Breath] = field(
        default_factory=lambda: [
            Breath(time_s=0.0, respiratory_rate_per_min=8, paco2_mmhg=41.123456789, etco2_mmhg=math.nan),
            Breath(time_s=60.0, respiratory_rate_per_min=8, paco2_mmhg=43.0, fio2_fraction=0.95),
        ]
    )
    balance: dict[str, float] = field(default_factory=lambda: {"oxygen": 1.23456789e-9})
    traces: dict[str, list[float]] = field(
        default_factory=lambda: {"time_s": [0.0, 0.1], "flow_l_s": [0.5, math.nan]}
    )
    ended: str = "time was up"
    advice: str = "Nothing."

    @property
    def at_end(self) -> Breath:
        """Return the last breath."""
        return self.breaths[-1]


@dataclass
class HandHerd:
    """What the commands read of a herd."""

    times_s: list[float] = field(default_factory=lambda: [60.0, 120.0])
    values: dict[str, None] = field(default_factory=lambda: dict.fromkeys(BREATH_KEYS[1:]))
    n: int = 7
    failed: int = 2

    def percentiles(self, _key: str) -> dict[str, list[float]]:
        """Return the same band for all."""
        return {"p10": [1.0, 0.1], "p50": [2.0, 0.5], "p90": [3.0, math.nan]}


@pytest.fixture
def by_hand(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Stand in for the model, whose numbers are tested with the model; tells what it was asked for."""
    asked: dict[str, Any] = {}

    def run_by_hand(args: Any, case: Case, status: Any) -> tuple[HandRun, HandHerd | None]:  # noqa: ANN401  as it comes
        asked.update(args=args, case=case, status=status)
        return HandRun(case), HandHerd() if args.herd else None

    monkeypatch.setattr(command, "_simulated", run_by_hand)
    monkeypatch.setattr(command, "_case", lambda _name: HORSE)
    return asked


@pytest.mark.usefixtures("by_hand")
def test_the_text_holds_what_a_person_must_know(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["simulate", "x.toml", "--minutes", "2", "--every", "1"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("SIMULATED – By hand\nhorse, 500 kg, dorsal, healthy\n")
    assert "NOT VALIDATED" not in told
    assert "Set at the start, * by rule of thumb:" in told
    assert "> PEEP 8 cmH2O" in told
    assert "Ended: time was up. Nothing." in told
    assert "within 1e-09 L" in told
    assert species_status("horse").reason in told
    assert "2 of the changes and faults lie after the end" in told
    assert "not a medical device" in told


def test_a_species_without_validation_says_so(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, by_hand: dict[str, Any]
) -> None:
    foal = Case(animal=Animal(species="foal", weight_kg=50))
    monkeypatch.setattr(command, "_case", lambda _name: foal)
    assert main(["simulate", "x.toml"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "SIMULATED"
    assert lines[1].startswith("NOT VALIDATED for species foal: ")
    assert by_hand["status"].validated is False
    assert main(["simulate", "x.toml", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["validated"] is False


@pytest.mark.usefixtures("by_hand")
def test_the_herd_is_shown_and_losses_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["simulate", "x.toml", "--herd", "9", "--seed", "4"]) == 0
    told = capsys.readouterr().out
    assert "7 animals that differ as animals do (seed 4), SIMULATED:" in told
    assert "2 more animals could not be simulated" in told


@pytest.mark.usefixtures("by_hand")
def test_the_json_is_whole_and_has_no_number_that_is_none(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["simulate", "x.toml", "--json", "--herd", "9"]) == 0
    text = capsys.readouterr().out
    assert "NaN" not in text
    content = json.loads(text)
    assert content["schema"] == "lungeline.simulation/1"
    assert content["simulated"] is True
    assert content["validated"] is True
    assert case_from_json(content["case"]) == HORSE
    assert list(content["breaths"][0]) == list(BREATH_KEYS)
    assert content["breaths"][0]["paco2_mmhg"] == 41.1235  # six digits kept
    assert content["breaths"][0]["etco2_mmhg"] is None
    assert content["at_end"] == content["breaths"][-1]
    assert content["balance"] == {"oxygen": 1.23457e-9}
    assert (content["ended"], content["advice"]) == ("time was up", "Nothing.")
    assert set(content["rules_of_thumb"]) == set(HORSE.assumed_settings)
    assert content["herd_drawn"] == {"n": 7, "failed": 2, "seed": 1}
    assert content["herd"]["pao2_mmhg"] == {
        "time_s": [60.0, 120.0],
        "p10": [1.0, 0.1],
        "p50": [2.0, 0.5],
        "p90": [3.0, None],
    }
    assert "traces" not in content


@pytest.mark.usefixtures("by_hand")
def test_curves_come_with_json_when_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["simulate", "x.toml", "--json", "--rate-hz", "10"]) == 0
    assert json.loads(capsys.readouterr().out)["traces"] == {"time_s": [0.0, 0.1], "flow_l_s": [0.5, None]}
    assert main(["simulate", "x.toml", "--rate-hz", "10"]) == 2
    assert "--json" in capsys.readouterr().err


@pytest.mark.usefixtures("by_hand")
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--every", "0"], "0.1 min or more"),
        (["--every", "nan"], "0.1 min or more"),
        (["--seed", "-1"], "0 or more"),
        (["--plot", "x.bmp"], ".svg or .png"),
        (["--plot", "nowhere/at/all/x.svg"], "a folder that exists"),
    ],
)
def test_impossible_arguments_are_refused(
    capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert main(["simulate", "x.toml", *words]) == 2
    assert said in capsys.readouterr().err


def test_a_case_may_come_by_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO('[animal]\nspecies = "calf"\nweight_kg = 60\n'))
    assert command._case("-").animal.species == "calf"  # noqa: SLF001  the door's one way in


class Terminal(io.StringIO):
    """A stream a person looks at."""

    def isatty(self) -> bool:
        """Say so."""
        return True


def test_the_bar_waits_a_second_and_leaves_no_trace(monkeypatch: pytest.MonkeyPatch) -> None:
    now_s = [0.0]
    screen = Terminal()
    monkeypatch.setattr("sys.stderr", screen)
    monkeypatch.setattr("time.monotonic", lambda: now_s[0])
    bar = Bar("animals")
    bar.show(1, 4)
    bar.clear()
    assert screen.getvalue() == ""
    now_s[0] = 2.0
    bar.show(2, 4)
    assert "2 of 4 animals" in screen.getvalue()
    assert screen.getvalue().count("█") == 15  # half of the bar's 30
    bar.clear()
    assert screen.getvalue().endswith("\r\x1b[K")


def test_without_a_terminal_there_is_no_bar(monkeypatch: pytest.MonkeyPatch) -> None:
    log = io.StringIO()
    monkeypatch.setattr("sys.stderr", log)
    monkeypatch.setattr("time.monotonic", iter([0.0, 9.0, 9.0]).__next__)
    bar = Bar("animals")
    bar.show(1, 2)
    bar.clear()
    assert log.getvalue() == ""


@pytest.mark.usefixtures("by_hand")
def test_a_picture_is_drawn_where_asked_for(tmp_path: Path) -> None:
    target = tmp_path / "course.svg"
    assert main(["simulate", "x.toml", "--minutes", "2", "--plot", str(target)]) == 0
    assert "SIMULATED" in target.read_text(encoding="utf-8")
