"""From a case written by hand to a table, a JSON object and a picture, as a person does it."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from lungeline.case import BREATH_KEYS

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def lungeline(*words: str, stdin: str = "") -> "subprocess.CompletedProcess[str]":
    command = [
        sys.executable,
        "-c",
        "import sys; from lungeline.cli.main import main; sys.exit(main())",
        *words,
    ]
    return subprocess.run(command, input=stdin, capture_output=True, text=True, check=False)


def test_a_person_reads_the_table(tmp_path: Path) -> None:
    case = tmp_path / "case.toml"
    case.write_text('[animal]\nspecies = "horse"\nweight_kg = 500\n', encoding="utf-8")
    done = lungeline("simulate", str(case), "--minutes", "10", "--plot", str(tmp_path / "course.png"))
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("SIMULATED")
    assert done.stdout.count("rule of thumb") == 1
    minutes = [line.split()[0] for line in done.stdout.splitlines() if line.strip()[:1].isdigit()]
    assert minutes[-2:] == ["5", "10"]
    assert (tmp_path / "course.png").stat().st_size > 10_000


@pytest.mark.parametrize("name", ["demo", "foal", "pony"])
def test_a_program_reads_every_example(name: str) -> None:
    done = lungeline("simulate", str(EXAMPLES / f"{name}.toml"), "--minutes", "3", "--json", "--herd", "2")
    assert done.returncode == 0, done.stderr
    content = json.loads(done.stdout)
    assert content["simulated"] is True
    assert content["validated"] is (name == "demo")
    assert len(content["breaths"]) > 6
    times_s = [breath["time_s"] for breath in content["breaths"]]
    assert times_s == sorted(times_s)
    assert all(list(breath) == list(BREATH_KEYS) for breath in content["breaths"])
    # a litre is not lost or won: the model keeps its gases to rounding
    assert all(abs(residual_l) < 1e-6 for residual_l in content["balance"].values())
    for band in content["herd"].values():
        for low, middle, high in zip(band["p10"], band["p50"], band["p90"], strict=True):
            assert (low is None and high is None) or low <= middle <= high


def test_the_same_seed_gives_the_same_herd() -> None:
    words = ("simulate", str(EXAMPLES / "pony.toml"), "--minutes", "2", "--json", "--herd", "3")
    first, again, other = (
        json.loads(lungeline(*words, "--seed", seed).stdout)["herd"] for seed in ("1", "1", "2")
    )
    assert first == again
    assert first != other


def test_the_written_case_goes_in_again() -> None:
    done = lungeline("simulate", str(EXAMPLES / "demo.toml"), "--minutes", "2", "--json")
    content = json.loads(done.stdout)
    text = '[animal]\nspecies = "horse"\nweight_kg = 500\n'
    piped = json.loads(lungeline("simulate", "-", "--minutes", "2", "--json", stdin=text).stdout)
    assert piped["case"]["animal"]["weight_kg"] == content["case"]["animal"]["weight_kg"] == 500


def test_a_slip_is_told_and_nothing_is_simulated(tmp_path: Path) -> None:
    case = tmp_path / "case.toml"
    case.write_text(
        '[animal]\nspecies = "horse"\nweight_kg = 500\n[settings]\ntidal_volume_ml = 5000\n', encoding="utf-8"
    )
    done = lungeline("simulate", str(case))
    assert done.returncode == 2
    assert done.stdout == ""
    assert "tidal_volume_l = 5: 5000 mL is 5 L" in done.stderr
    done = lungeline("simulate", str(case), "--json")
    assert json.loads(done.stdout)["error"]["code"] == "unit"


def test_an_unknown_fault_is_told(tmp_path: Path) -> None:
    case = tmp_path / "case.toml"
    case.write_text(
        '[animal]\nspecies = "horse"\nweight_kg = 500\n[[faults]]\ncode = "circuit_leek"\nat_min = 1\n',
        encoding="utf-8",
    )
    done = lungeline("simulate", str(case))
    assert done.returncode == 2
    assert '"circuit_leak"' in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("minutes", ["0", "-5", "nan", "100000"])
def test_an_impossible_length_is_refused(minutes: str) -> None:
    done = lungeline("simulate", str(EXAMPLES / "demo.toml"), f"--minutes={minutes}")
    assert done.returncode == 2
    assert "minutes" in done.stderr
    assert "Traceback" not in done.stderr
