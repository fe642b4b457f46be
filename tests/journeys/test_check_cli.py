"""From a reading at the gauge to a verdict, and a guided check that outlives the program."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from lungeline.case import Animal, Case, Equipment
from lungeline.check import standard_checklist
from lungeline.simulate.plugged import Fill, simulate_plugged

COMMAND = [sys.executable, "-c", "import sys; from lungeline.cli.main import main; sys.exit(main())", "check"]
KEYS = {
    "leak_ml_min", "leak_low_ml_min", "leak_high_ml_min", "at_pressure_cmh2o", "leak_exponent",
    "compliance_ml_cmh2o", "mean_leak_in_use_ml_min", "loss_per_breath_ml", "verdict", "findings",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No log and no profile of whoever runs this."""
    monkeypatch.setenv("LUNGELINE_DATA", str(tmp_path / "data"))


def check(*words: str, stdin: str = "", status: int = 0) -> str:
    done = subprocess.run([*COMMAND, *words], input=stdin, capture_output=True, text=True, check=False)
    assert done.returncode == status, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    return done.stderr if status else done.stdout


COMPENSATING = ("leak", "--method", "compensating", "--pressure-cmh2o", "30", "--flow-l-min", "0.35",
                "--rises-at-l-min", "0.5", "--falls-at-l-min", "0.2")  # fmt: skip
DECAY = ("leak", "--method", "decay", "--volume-l", "50", "--start-cmh2o", "30", "--end-cmh2o", "27",
         "--seconds", "30")  # fmt: skip
RISE = ("leak", "--method", "rise-fall", "--flow-l-min", "2", "--rise-from-cmh2o", "25",
        "--rise-to-cmh2o", "35", "--rise-s", "30", "--fall-from-cmh2o", "31", "--fall-to-cmh2o", "29",
        "--fall-s", "30", "--at-cmh2o", "30")  # fmt: skip
TWO = ("leak", "--method", "two-pressures", "--pressure-cmh2o", "30", "--flow-l-min", "0.3",
       "--second-pressure-cmh2o", "20", "--second-flow-l-min", "0.245", "--volume-l", "50")  # fmt: skip


# closed forms as in the checks of leak tests: 350; 53.67 mL/cmH2O give about 335; 333.33; 300
@pytest.mark.parametrize(("words", "leak"), [(COMPENSATING, 350), (DECAY, 335), (RISE, 333.3), (TWO, 300)])
def test_four_ways_give_one_form_of_answer(words: tuple[str, ...], leak: float) -> None:
    told = json.loads(check(*words, "--json"))
    assert told.keys() >= KEYS
    assert told["leak_ml_min"] == pytest.approx(leak, rel=0.005)
    assert told["leak_low_ml_min"] < told["leak_ml_min"] < told["leak_high_ml_min"]


def test_a_person_reads_the_verdict_first_and_what_it_rests_on() -> None:
    text = check(*COMPENSATING)
    assert text.splitlines()[0].startswith("CAUTION")
    assert "no limit is published for large-animal circles" in text
    assert "could not see" in text


def test_limits_case_and_log_come_from_files(tmp_path: Path) -> None:
    profile = 'leak_pass_ml_min = 600\nsigned_by = "A. Vet"\nsigned_on = "2026-05-01"\n'
    (tmp_path / "profile.toml").write_text(profile, encoding="utf-8")
    (tmp_path / "case.toml").write_text(
        '[animal]\nspecies = "horse"\nweight_kg = 500\n[settings]\nfresh_gas_flow_l_min = 4\n',
        encoding="utf-8",
    )
    words = (
        *COMPENSATING,
        "--profile",
        str(tmp_path / "profile.toml"),
        "--case",
        str(tmp_path / "case.toml"),
    )
    log = tmp_path / "log.jsonl"
    log.write_text("", encoding="utf-8")
    for day in (1, 8, 15, 22, 29):
        flow = str(0.20 + 0.03 * day)
        timed = ("--machine", "A", "--at", f"2026-05-{day:02d}T07:40", "--past", str(log), "--json")
        told = json.loads(check(*words[:6], flow, *words[11:], *timed))
        with log.open("a", encoding="utf-8") as stream:
            stream.write(json.dumps(told["log_entry"]) + "\n")
    assert told["limits"]["signed_by"] == "A. Vet"
    assert "machine_getting_worse" in {item["code"] for item in told["findings"]}
    course = json.loads(check("log", str(log), "--json"))
    assert course["trend"]["course"] == "getting worse"
    assert "getting worse over 5 tests" in check("log", str(log), "--machine", "A")
    assert "allowed: A" in check("log", str(log), "--machine", "B", status=2)


def test_a_trace_is_read_and_rubbish_is_refused_with_what_was_seen(tmp_path: Path) -> None:
    equipment = Equipment(circle_volume_l=50, leak_at_30_cmh2o_ml_min=400, leak_exponent_number=0.6)
    case = Case(animal=Animal(species="horse", weight_kg=500), equipment=equipment)
    run = simulate_plugged(case, [Fill(flow_l_min=1.5, seconds_s=120)], 5)
    rows = list(zip(run.time_s, run.pressure_cmh2o, strict=True))[::5]
    file = tmp_path / "trace.csv"
    file.write_text("zeit;druck_mbar\n" + "\n".join(f"{t:.2f};{p * 0.980665:.2f}" for t, p in rows), "utf-8")
    words = ("leak", "--method", "decay", "--volume-l", "50", "--trace", str(file), "--at-cmh2o", "30")
    told = json.loads(check(*words, "--json"))
    assert told["leak_low_ml_min"] <= 400 <= told["leak_high_ml_min"]
    risen = json.loads(
        check("leak", "--method", "rise-fall", "--trace", str(file), "--flow-l-min", "1.5", "--json")
    )
    # closed form: 50 L of gas at 1033.2 cmH2O and hoses of 4 mL/cmH2O
    assert risen["compliance_low_ml_cmh2o"] <= 50_000 / 1033.23 + 4 <= risen["compliance_high_ml_cmh2o"]
    file.write_text("time_s,pressure_cmh2o\n" + "\n".join(f"{n},25" for n in range(100)), "utf-8")
    assert "a flat line: 100 points, all 25" in check(*words, status=2)
    assert (
        "flat line"
        in json.loads(
            subprocess.run([*COMMAND, *words, "--json"], capture_output=True, text=True, check=False).stdout
        )["error"]["given"]
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("leak", "--method", "decay", "--volume-l", "50"), "--start-cmh2o"),
        ((*DECAY[:3], *DECAY[5:]), "neither volume nor compliance"),
        (("leak", "--method", "guess"), "compensating"),
        (("leak", "--method", "two-pressures", "--trace", "none.csv"), "a file that exists"),
        (("lung",), "--set-tidal-volume-l"),
        (("log", "none.jsonl"), "a file that exists"),
        ((), "CHECK"),
        (("walk", "--form", "short"), "full, after"),
    ],
)
def test_what_is_missing_is_told(words: tuple[str, ...], said: str, tmp_path: Path) -> None:
    folder = ("--folder", str(tmp_path)) if words[:1] == ("walk",) else ()
    assert said in check(*words, *folder, status=2)


def test_the_ventilator_on_a_test_lung() -> None:
    words = ("lung", "--set-tidal-volume-l", "5", "--set-rate-per-min", "8", "--set-inspiratory-time-s", "2")
    told = json.loads(check(*words, "--measured-tidal-volume-l", "4.2", "--json"))
    assert told["verdict"] == "stop"
    assert "STOP - ventilator on a test lung" in check(*words, "--measured-tidal-volume-l", "4.2")


# --- the guided check -----------------------------------------------------------------------------------


def typed(form: str = "full", species: str = "horse") -> list[str]:
    """What a person types, a list a step, when all is well."""
    lines = []
    for step in standard_checklist().form(form, species):  # type: ignore[arg-type]  # one of the three forms
        if step.kind == "outcome":
            lines.append("ok")
        elif step.kind == "tick":
            lines.append("y")
        elif step.kind == "ratio":
            lines.append("5\n5")
        elif step.kind == "leak":
            lines.append("150")
        else:
            least = step.least or 0.0
            lines.append(str(least + 1.0 if step.most is None else (least + step.most) / 2))
    return lines


def walk(folder: Path, lines: list[str], *words: str) -> str:
    return check("walk", "--folder", str(folder), "--species", "horse", "--by", "A. Vet", *words,
                 stdin="".join(f"{line}\n" for line in lines))  # fmt: skip


def test_a_full_check_then_a_short_one_the_same_day(tmp_path: Path) -> None:
    text = walk(tmp_path, typed())
    assert "GO - full check of machine" in text
    assert "GO - short check of machine" in walk(tmp_path, typed("short"), "--form", "short")
    assert len(list(tmp_path.glob("check-machine-*.jsonl"))) == 2


def test_a_wrong_answer_is_asked_again_and_a_tick_passes_no_number(tmp_path: Path) -> None:
    lines = typed()
    lines[3] = "y\n1.0"  # oxygen pipeline: a tick first, then a pressure that is too low
    text = walk(tmp_path, lines)
    assert "a tick does not pass it" in text
    assert "STOP - full check of machine" in text


def test_a_check_can_be_left_and_gone_on_with(tmp_path: Path) -> None:
    lines = typed()
    for cut in (0, 5, 11, len(lines) - 1):
        folder = tmp_path / str(cut)
        folder.mkdir()
        assert "STOP" in walk(folder, [*lines[:cut], "q"])
        told = walk(folder, lines[cut:], "--json")
        answers = json.loads(told[told.index("{") :])["answers"]
        assert [answer["step"] for answer in answers] == [
            step.key for step in standard_checklist().form("full", "horse")
        ]
        assert json.loads(told[told.index("{") :])["verdict"] == "go"


@pytest.mark.skipif(sys.platform == "win32", reason="a process is killed by a signal")
@pytest.mark.parametrize("cut", range(0, 25, 4))
def test_killing_the_program_loses_no_answered_step(tmp_path: Path, cut: int) -> None:
    lines = typed()
    words = [*COMMAND, "walk", "--folder", str(tmp_path), "--species", "horse"]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as program:
        assert program.stdin
        assert program.stdout
        program.stdin.write("".join(f"{line}\n" for line in lines[:cut]))
        program.stdin.flush()
        # it has taken the last answer once it asks for the next step
        while not program.stdout.readline().startswith(f"{cut + 1}/"):
            assert program.poll() is None
        os.kill(program.pid, signal.SIGKILL)
    (file,) = tmp_path.glob("check-*.jsonl")
    kept = [json.loads(line) for line in file.read_text("utf-8").splitlines()[1:]]
    assert len(kept) == cut
    assert "GO - full check" in walk(tmp_path, lines[cut:])
    assert len(list(tmp_path.glob("check-*.jsonl"))) == 1


def test_a_line_cut_short_by_a_full_disk_is_asked_again(tmp_path: Path) -> None:
    lines = typed()
    walk(tmp_path, [*lines[:6], "q"])
    (file,) = tmp_path.glob("check-*.jsonl")
    content = file.read_bytes()
    file.write_bytes(content[:-20])
    assert "GO - full check" in walk(tmp_path, lines[5:])


def test_the_list_can_be_shown_and_be_the_clinics_own(tmp_path: Path) -> None:
    assert "Backup ventilation" in check("walk", "--show")
    own = tmp_path / "own.toml"
    own.write_text(
        'name = "ours"\nversion = "3"\n[[steps]]\nkey = "bag"\ntitle = "Bag"\ndo = "Squeeze."\n'
        'passes = "Full."\nsource = "clinic"\nkind = "tick"\nfails = "stop"\nfix = "Another."\n',
        encoding="utf-8",
    )
    told = json.loads(check("walk", "--show", "--json", "--list", str(own)))
    assert told["checklist_stamp"].startswith("ours 3 ")
    text = walk(tmp_path, ["n"], "--list", str(own), "--json")
    kept = json.loads(text[text.index("{") :])
    assert kept["verdict"] == "stop"
    assert kept["checklist"]["version"] == "3"
    assert time.strptime(kept["answers"][0]["at"][:10], "%Y-%m-%d")


# --- the page -------------------------------------------------------------------------------------------

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "check.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("line", re.findall(r"^lungeline check (.+)$", PAGE, flags=re.MULTILINE))
def test_every_command_of_the_page_runs(line: str) -> None:
    assert check(*line.split())


def test_the_python_and_the_limits_of_the_page_are_right(tmp_path: Path) -> None:
    (script,) = re.findall(r"^```python\n(.*?)^```", PAGE, flags=re.MULTILINE | re.DOTALL)
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("go ")
    (limits,) = re.findall(r"^```toml\n(.*?)^```", PAGE, flags=re.MULTILINE | re.DOTALL)
    (tmp_path / "profile.toml").write_text(limits, encoding="utf-8")
    told = json.loads(check(*COMPENSATING, "--profile", str(tmp_path / "profile.toml"), "--json"))
    assert told["limits"]["pass_ml_min"] == 400
