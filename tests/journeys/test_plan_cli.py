"""From the phone call to a plan: a person reads it, a program reads it, the simulation runs it."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from lungeline.case import load_case

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
pytestmark = pytest.mark.slow  # runs the compiled kernel


def lungeline(*words: str) -> "subprocess.CompletedProcess[str]":
    command = [
        sys.executable,
        "-c",
        "import sys; from lungeline.cli.main import main; sys.exit(main())",
        *words,
    ]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_a_person_reads_the_plan() -> None:
    done = lungeline(
        "plan",
        str(EXAMPLES / "colic.toml"),
        "--profile",
        str(EXAMPLES / "profiles" / "clinic.toml"),
        "--animals",
        "8",
    )
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[0].startswith("PLAN")
    assert any("Kestrel Moor" in line for line in lines)
    for caution in (
        "attending veterinarian decides",
        "Local codes",
        "Oxygen feeds fire",
        "not a medical device",
    ):
        assert any(caution in line for line in lines), caution
    assert any(line.split()[:2] == ["tidal", "volume"] for line in lines)
    assert any(
        line.startswith("  ketamine.induction") and "12.1 mL" in line and "signed" in line for line in lines
    )


def test_a_species_that_was_not_checked_is_told_in_the_heading() -> None:
    done = lungeline("plan", str(EXAMPLES / "foal.toml"), "--animals", "4")
    assert done.returncode == 0, done.stderr
    assert "DO NOT BEGIN" in done.stdout
    assert "STOP" in done.stdout


def test_a_program_reads_the_plan_and_simulates_it(tmp_path: Path) -> None:
    target = tmp_path / "planned.toml"
    done = lungeline("plan", str(EXAMPLES / "colic.toml"), "--animals", "4", "--json", "--toml", str(target))
    assert done.returncode == 0, done.stderr
    plan = json.loads(done.stdout)
    assert load_case(target).settings.tidal_volume_l == plan["settings"]["tidal_volume_l"]
    ran = lungeline("simulate", str(target), "--minutes", "20", "--json")
    assert ran.returncode == 0, ran.stderr
    assert json.loads(ran.stdout)["at_end"]["room_air_entrained_l"] == 0.0


def test_one_number_is_asked_why() -> None:
    done = lungeline("plan", str(EXAMPLES / "colic.toml"), "--animals", "2", "--why", "spare.needed_l")
    assert done.returncode == 0, done.stderr
    assert "sum of the parts" in done.stdout
    assert "source:" in done.stdout
    wrong = lungeline("plan", str(EXAMPLES / "colic.toml"), "--animals", "2", "--why", "spare.need_l")
    assert wrong.returncode == 2
    assert "spare.needed_l" in wrong.stderr


def test_a_plan_is_the_same_for_a_pipe(tmp_path: Path) -> None:
    case = tmp_path / "case.toml"
    case.write_text('[animal]\nspecies = "horse"\nweight_kg = 500\n', encoding="utf-8")
    first, again = (
        json.loads(lungeline("plan", str(case), "--animals", "3", "--json").stdout) for _ in range(2)
    )
    assert first == again


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--animals", "0"), "1 to 5000"),
        (("--profile", "nowhere.toml"), "a file that exists"),
        (("--seed", "-1"), "0 or more"),
    ],
)
def test_what_cannot_be_used_is_refused(words: tuple[str, ...], told: str) -> None:
    done = lungeline("plan", str(EXAMPLES / "colic.toml"), *words)
    assert done.returncode == 2
    assert told in done.stderr
