"""The log of a machine by the command line: registered, checked, compared, killed and gone on with."""

import json
from pathlib import Path

import pytest

from lungeline.cli.main import main

LEAK = (
    "check",
    "leak",
    "--method",
    "compensating",
    "--pressure-cmh2o",
    "30",
    "--volume-l",
    "50",
    "--flow-l-min",
)


@pytest.fixture(autouse=True)
def _data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LUNGELINE_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("LUNGELINE_KEY_FILE", str(tmp_path / "key" / "record.key"))
    monkeypatch.setenv("LUNGELINE_AUTHOR", "A. Vet")


def test_a_machine_is_registered_tested_and_looked_up(capsys: pytest.CaptureFixture[str]) -> None:
    add = (
        "check",
        "register",
        "add",
        "Circle 1",
        "--sort",
        "circle",
        "--serial",
        "4711",
        "--capacity-l",
        "30",
    )
    assert main([*add, "--service-due-on", "2020-01-01"]) == 0
    assert "was due on 2020-01-01" in capsys.readouterr().out
    for week, flow in enumerate((0.15, 0.20, 0.26, 0.33, 0.41), start=1):
        at = f"2026-05-{7 * week - 6:02d}T07:40"
        assert main([*LEAK, str(flow), "--machine", "circle 1", "--at", at, "--keep", "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
    assert told["kept"] is True
    codes = {finding["code"] for finding in told["findings"]}
    assert "machine_getting_worse" in codes
    assert main(["check", "log", "--machine", "Circle 1", "--json"]) == 0
    log = json.loads(capsys.readouterr().out)
    assert log["trend"]["course"] == "getting worse"
    assert [test["leak_ml_min"] for test in log["tests"]] == pytest.approx([150, 200, 260, 330, 410])
    assert main(["check", "register", "retire", "Circle 1", "--reason", "cracked"]) == 0
    capsys.readouterr()
    assert main(["check", "register", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["equipment"] == []


def test_what_is_kept_needs_a_machine_that_is_registered(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*LEAK, "0.2", "--keep"]) == 2
    assert "--machine NAME" in capsys.readouterr().err
    assert main([*LEAK, "0.2", "--keep", "--machine", "Circle 9"]) == 2
    assert "machine" in capsys.readouterr().err
    assert main(["check", "log"]) == 2
    assert "--keep" in capsys.readouterr().err


def test_a_check_finished_just_before_the_program_was_killed_is_logged_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from io import StringIO

    from lungeline.cli import check_walk

    assert main(["check", "register", "add", "Circle 1", "--sort", "circle"]) == 0
    walk = ["check", "walk", "--machine", "Circle 1", "--form", "after", "--folder", str(tmp_path)]

    def killed(*_rest: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("sys.stdin", StringIO("s\n" * 60))
    with monkeypatch.context() as dying:
        dying.setattr(check_walk, "_log", killed)
        assert main(walk) == 0
    assert _walks(capsys) == 0
    for _ in range(2):  # the next check of this machine writes the finished one first, and only once
        monkeypatch.setattr("sys.stdin", StringIO(""))
        assert main(walk) == 0
        assert _walks(capsys) == 1


def _walks(capsys: pytest.CaptureFixture[str]) -> int:
    from lungeline.theatre.equipment import Equipment

    capsys.readouterr()
    return len(Equipment(author="A. Vet", device="test").machine("Circle 1").walks())
