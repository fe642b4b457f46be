"""The log of a machine by the command line: registered, checked, compared, printed, killed, gone on with."""

import json
import signal
import subprocess
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from lungeline.check import standard_checklist
from lungeline.cli.main import main

LEAK = ("check", "leak", "--method", "compensating", "--pressure-cmh2o", "30", "--volume-l", "50",
        "--flow-l-min")  # fmt: skip
LUNG = ("check", "lung", "--set-tidal-volume-l", "5", "--set-rate-per-min", "8", "--set-inspiratory-time-s",
        "2", "--measured-tidal-volume-l", "4.9", "--machine", "Ventilator A")  # fmt: skip
ADD = ("check", "register", "add", "Circle 1", "--sort", "circle", "--serial", "4711")


@pytest.fixture(autouse=True)
def _data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LUNGELINE_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("LUNGELINE_KEY_FILE", str(tmp_path / "key" / "record.key"))
    monkeypatch.setenv("LUNGELINE_AUTHOR", "A. Vet")


class Said:
    """Runs a command and returns what it said."""

    def __init__(self, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        """Know where output goes."""
        self.capsys, self.monkeypatch = capsys, monkeypatch

    def __call__(self, *words: str, status: int = 0, typed: str = "") -> str:
        """Return what was printed, of an error what was told."""
        self.monkeypatch.setattr("sys.stdin", StringIO(typed))
        assert main(list(words)) == status
        said = self.capsys.readouterr()
        return said.err if status == 2 else said.out

    def json(self, *words: str) -> Any:  # noqa: ANN401  any JSON
        """Return what was printed as JSON."""
        return json.loads(self(*words, "--json"))


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Said:
    return Said(capsys, monkeypatch)


def test_a_machine_is_registered_tested_and_looked_up(say: Said) -> None:
    text = say(*ADD, "--capacity-l", "30", "--service-due-on", "2020-01-01")
    assert "capacity 30 L" in text
    assert "was due on 2020-01-01" in text
    for week, flow in enumerate((0.15, 0.20, 0.26, 0.33, 0.41), start=1):
        at = f"2026-05-{7 * week - 6:02d}T07:40"
        told = say.json(*LEAK, str(flow), "--machine", "circle 1", "--at", at, "--keep")
    assert told["kept"] is True
    assert told["kept_as"]["seq"] == 6
    assert "machine_getting_worse" in {finding["code"] for finding in told["findings"]}
    log = say.json("check", "log", "--machine", "4711")
    assert log["trend"]["course"] == "getting worse"
    assert [test["leak_ml_min"] for test in log["tests"]] == pytest.approx([150, 200, 260, 330, 410])
    assert log["proof"]["outcome"] == "intact"
    assert log["proof"]["proven_count"] == 6
    text = say("check", "log", "--machine", "Circle 1")
    assert "getting worse over 5 tests" in text
    assert "410 (" in text
    say("check", "register", "retire", "Circle 1", "--reason", "cracked")
    assert say.json("check", "register")["equipment"] == []
    assert say.json("check", "register", "--all")["equipment"][0]["retired"] == "cracked"
    assert "machine.circle-1: intact, 7 entries" in say("case", "verify")
    assert "Circle 1" not in say("case", "list")


def test_all_machines_are_shown_in_short_and_one_in_full(say: Said) -> None:
    assert "check register add" in say("check", "log", status=2)
    say(*ADD)
    say("check", "register", "add", "Ventilator A", "--sort", "ventilator")
    assert "Kept as entry 2 in the log of Ventilator A." in say(*LUNG, "--keep")
    say(*LEAK, "0.2", "--machine", "Circle 1", "--keep")
    text = say("check", "log")
    assert "Circle 1 (circle): 1 checks, log intact" in text
    assert "tidal volume" in text
    logs = say.json("check", "log")["logs"]
    assert {log["machine"]: log["rows"][-1]["what"] for log in logs} == {
        "Circle 1": "leak test", "Ventilator A": "test lung",
    }  # fmt: skip


def test_what_is_kept_needs_a_machine_that_is_registered(say: Said) -> None:
    assert "--machine NAME" in say(*LEAK, "0.2", "--keep", status=2)
    assert "machine" in say(*LEAK, "0.2", "--keep", "--machine", "Circle 9", status=2)
    assert "Add --keep" in say(*LEAK, "0.2", "--machine", "Circle 9", "--for-case", "star", status=2)
    assert "--machine NAME" in say("check", "log", "--pdf", "x.pdf", status=2)


def test_a_wrong_entry_is_struck_out_and_the_log_is_signed(say: Said) -> None:
    say(*ADD)
    say(*LEAK, "3", "--machine", "Circle 1", "--keep")
    text = say(
        "check", "log", "--machine", "Circle 1", "--strike", "2", "--reason", "the Y was open", "--sign"
    )
    assert "STRUCK OUT (the Y was open, A. Vet)" in text
    assert "up to entry 3" in text
    assert "log: intact, 4 entries, proven to entry 4" in text
    told = say("check", "log", "--machine", "Circle 1", "--strike", "9", "--reason", "x", status=2)
    assert "number of a check" in told


def test_the_log_is_printed_and_written_as_lines(say: Said, tmp_path: Path) -> None:
    say(*ADD)
    for day in (1, 8):
        say(*LEAK, "0.2", "--machine", "Circle 1", "--keep", "--at", f"2026-05-0{day}T07:40")
    pdf, lines = tmp_path / "log.pdf", tmp_path / "log.jsonl"
    say(
        "check", "log", "--machine", "Circle 1", "--pdf", str(pdf), "--paper", "letter", "--lines", str(lines)
    )
    assert pdf.read_bytes().startswith(b"%PDF")
    assert [json.loads(line)["kind"] for line in lines.read_text("utf-8").splitlines()] == [
        "machine", "machine_check", "machine_check",
    ]  # fmt: skip
    assert "a file that can be written" in say(
        "check", "log", "--machine", "Circle 1", "--pdf", str(tmp_path), status=2
    )


def test_a_check_for_a_case_stands_in_its_record_too(say: Said) -> None:
    say(*ADD)
    say("case", "new", "--id", "star-1", "--species", "horse", "--name", "Star", "--weight-kg", "520")
    told = say(*LEAK, "0.2", "--machine", "Circle 1", "--keep", "--for-case", "star-1")
    assert "Kept as entry 2 in the log of Circle 1, and as entry 2 of case star-1." in told
    assert "leak 200 mL/min at 30 cmH2O" in say("case", "show", "star-1")
    assert "for case star-1" in say("check", "log", "--machine", "Circle 1")
    wrong = say(*LEAK, "0.2", "--machine", "Circle 1", "--keep", "--for-case", "sta-1", status=2)
    assert "star-1" in wrong
    assert say.json("check", "log", "--machine", "Circle 1")["proof"]["count"] == 2


def test_the_clinics_profile_in_the_data_folder_judges(say: Said, tmp_path: Path) -> None:
    profile = 'leak_pass_ml_min = 600\nleak_limits_reason = "by our own trials"\nsigned_by = "A. Vet"\n'
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "profile.toml").write_text(profile, encoding="utf-8")
    limits = say.json(*LEAK, "0.35")["limits"]
    assert (limits["pass_ml_min"], limits["reason"]) == (600, "by our own trials")
    assert "signed by A. Vet (by our own trials)" in say(*LEAK, "0.35")


# -- the guided check --------------------------------------------------------------------------------------


def _good(form: str) -> str:
    """What a person types when all is well."""
    lines = []
    for step in standard_checklist().form(form, "horse"):  # type: ignore[arg-type]  # one of the three forms
        if step.kind in {"tick", "outcome"}:
            lines.append("y" if step.kind == "tick" else "ok")
        elif step.kind in {"ratio", "leak"}:
            lines.append("5\n5" if step.kind == "ratio" else "150")
        else:
            low, high = step.least or 0.0, step.most
            lines.append(str(low + 1.0 if high is None else (low + high) / 2))
    return "".join(f"{line}\n" for line in lines)


def _walk(folder: Path, form: str, *words: str) -> tuple[str, ...]:
    folder.mkdir(exist_ok=True)
    return ("check", "walk", "--machine", "circle 1", "--species", "horse", "--form", form, "--folder",
            str(folder), *words)  # fmt: skip


def _walks() -> int:
    from lungeline.theatre import Cases, Desk
    from lungeline.theatre.equipment import Equipment
    from lungeline.theatre.kept_checks import kept_walks

    return len(kept_walks(Equipment(desk=Desk(cases=Cases(), author="A", device="t")).machine("Circle 1")))


def test_the_short_form_follows_a_full_one_in_the_log_wherever_that_was_made(
    say: Said, tmp_path: Path
) -> None:
    say(*ADD)
    assert "full, after" in say(*_walk(tmp_path / "ward", "short"), status=2)
    text = say(*_walk(tmp_path / "theatre", "full"), typed=_good("full"))
    assert "Kept as entry 3 in the log of Circle 1." in text
    assert "GO - short check of Circle 1" in say(*_walk(tmp_path / "ward", "short"), typed=_good("short"))
    assert _walks() == 2


def test_a_machine_that_is_not_registered_is_told(say: Said, tmp_path: Path) -> None:
    assert "circle 1 is not registered" in say(*_walk(tmp_path, "after"), typed=_good("after"))
    refused = say(*_walk(tmp_path, "full", "--for-case", "star-1"), status=2)
    assert "register add" in refused


def test_a_check_that_its_case_cannot_take_is_kept_all_the_same(
    say: Said, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from lungeline.errors import RecordError
    from lungeline.theatre import kept_checks

    def refused(*_rest: object) -> None:
        raise RecordError(where="entry.kind", given="check", allowed="an open case", do="Add an addendum.")

    say(*ADD)
    say("case", "new", "--id", "star-1", "--species", "horse", "--name", "Star", "--weight-kg", "520")
    walk = _walk(tmp_path, "after", "--for-case", "star-1")
    assert "star-1" in say(*_walk(tmp_path, "after", "--for-case", "sta-1"), status=2)
    with monkeypatch.context() as closed:
        closed.setattr(kept_checks, "tell_case", refused)
        assert "Not kept everywhere yet: entry.kind" in say(*walk, typed=_good("after"))
    assert _walks() == 1
    assert "and as entry 2 of case star-1" not in say(*_walk(tmp_path, "full"), typed="q\n")
    assert "guided check, after form" in say("case", "show", "star-1")


def test_a_log_that_is_lost_keeps_nobody_from_the_check(say: Said, tmp_path: Path) -> None:
    say(*ADD)
    for file in (tmp_path / "data").glob("equipment.sqlite3*"):
        file.unlink()
    assert "equipment.sqlite3" in say("check", "register", status=2)
    assert "GO - after check of circle 1" in say(*_walk(tmp_path, "after"), typed=_good("after"))


def test_what_the_machine_says_is_told_apart_from_a_fault(say: Said, tmp_path: Path) -> None:
    text = say(*_walk(tmp_path, "full"), typed="m\n2\ny\nm\n1\ny\nm\n5\nq\n")
    # supply low at the first step, reserve low as the reservoir is emptied: both normal; pressure high: not
    assert text.count("To be expected here") == 2
    assert "NOT to be expected here: Something is shut that should be open." in text
    assert "The machine may say here: The reservoir is nearly empty." in text


@pytest.mark.skipif(sys.platform == "win32", reason="a process is killed by a signal")
@pytest.mark.parametrize("when", ["before the log", "after the log", "before the case"])
def test_a_check_killed_as_it_is_logged_is_logged_once(say: Said, tmp_path: Path, when: str) -> None:
    say(*ADD)
    say("case", "new", "--id", "star-1", "--species", "horse", "--name", "Star", "--weight-kg", "520")
    walk = _walk(tmp_path, "after", "--for-case", "star-1")
    patched = {
        "before the log": "kept_checks._kept = die",
        "after the log": "check_walk.kept_lines = die",
        "before the case": "kept_checks.tell_case = die",
    }[when]
    program = (
        "import os, signal, sys\n"
        "from lungeline.cli import check_walk\nfrom lungeline.theatre import kept_checks\n"
        "from lungeline.cli.main import main\n"
        "def die(*rest, **more): os.kill(os.getpid(), signal.SIGKILL)\n"
        f"{patched}\nmain(sys.argv[1:])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, *walk], input=_good("after"), text=True, capture_output=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == -signal.SIGKILL
    assert _walks() == (0 if when == "before the log" else 1)
    for _ in range(2):  # the next check of this machine first writes what is missing, and only once
        say(*_walk(tmp_path, "full"), typed="q\n")
        assert _walks() == 1
        assert say("case", "show", "star-1").count("guided check, after form") == 1
