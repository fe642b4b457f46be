"""Every example of the guides runs as it stands there: cases, Python, commands, and what they print."""

import re
import runpy
import shlex
from dataclasses import dataclass
from pathlib import Path

import pytest

from lungeline.cli.main import COMMANDS, main
from lungeline.reference import figure

ROOT = Path(__file__).resolve().parents[2]
GUIDES = ("README.md", "docs/usage.md", "docs/plan.md", "docs/model.md")
UNNAMED_CASE = "case.toml"  # of a case whose first line does not name its file
_FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", flags=re.MULTILINE | re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """One fenced block of a guide, and the text printed right below it, if there is any."""

    guide: str
    language: str
    content: str
    printed: str | None

    def __str__(self) -> str:
        """Tell an example by its guide and its first line."""
        return f"{self.guide}: {self.content.splitlines()[0][:40]}"


def examples(guide: str) -> list[Example]:
    text = (ROOT / guide).read_text(encoding="utf-8")
    blocks = list(_FENCE.finditer(text))
    found = []
    for block, after in zip(blocks, [*blocks[1:], None], strict=True):
        follows = after is not None and after[1] == "text" and not text[block.end() : after.start()].strip()
        printed = after[2] if after is not None and follows else None
        found.append(Example(guide=guide, language=block[1], content=block[2], printed=printed))
    return found


EXAMPLES = [example for guide in GUIDES for example in examples(guide)]
CASES = [example for example in EXAMPLES if example.language == "toml"]
SCRIPTS = [example for example in EXAMPLES if example.language == "python"]
COMMAND_LINES = [
    (example, line)
    for example in EXAMPLES
    if example.language in {"sh", "console", ""}
    for line in example.content.splitlines()
    if re.match(r"(\$ )?(\.venv/bin/)?lungeline ", line)
]


@pytest.fixture
def folder(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the working folder, with the cases of the guide that is asked for in it."""
    for case in CASES:
        if case.guide == request.param:
            named = re.match(r"# (\S+\.toml)\n", case.content)
            (tmp_path / (named[1] if named else UNNAMED_CASE)).write_text(case.content, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("folder", "script"), [(script.guide, script) for script in SCRIPTS], indirect=["folder"], ids=str
)
def test_a_python_example_runs(folder: Path, script: Example, capsys: pytest.CaptureFixture[str]) -> None:
    file = folder / "example.py"
    file.write_text(script.content, encoding="utf-8")
    runpy.run_path(str(file), run_name="__main__")
    printed = capsys.readouterr().out
    assert printed
    assert script.printed is None or printed == script.printed


@pytest.mark.parametrize(
    ("folder", "example", "line"),
    [(example.guide, example, line) for example, line in COMMAND_LINES],
    indirect=["folder"],
    ids=str,
)
def test_a_command_line_runs(
    folder: Path, example: Example, line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    command, _, target = line.removeprefix("$ ").partition(" > ")
    words = shlex.split(command, comments=True)[1:]
    before = set(folder.iterdir())
    assert main(words) == 0
    printed = capsys.readouterr().out
    assert printed
    if target:
        (folder / target.strip()).write_text(printed, encoding="utf-8")
    if "--plot" in words or target:
        assert set(folder.iterdir()) - before
    assert example.printed is None or printed == example.printed


def test_there_is_an_example_of_each_kind_in_the_guides() -> None:
    assert {case.guide for case in CASES} == {"README.md", "docs/usage.md", "docs/plan.md"}
    assert {script.guide for script in SCRIPTS} == set(GUIDES)
    assert {line.split()[1] for _, line in COMMAND_LINES} == {"simulate", "figures", "plan"}
    assert any(example.printed for example, _ in COMMAND_LINES)


@pytest.mark.parametrize("guide", GUIDES)
def test_a_command_named_in_the_text_exists(guide: str) -> None:
    text = _FENCE.sub("", (ROOT / guide).read_text(encoding="utf-8"))
    named = set(re.findall(r"`(?:\.venv/bin/)?lungeline (\w+)[^`]*`", text))
    assert named
    assert named <= COMMANDS.keys()


# --- what the page of the model says of itself ----------------------------------------------------------

MODEL = (ROOT / "docs/model.md").read_text(encoding="utf-8")


def test_the_peak_pressures_on_the_page_are_those_of_the_model(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = [
        float(value) for value in re.findall(r"^\| the model, .*\| about ([\d.]+) \|", MODEL, re.MULTILINE)
    ]
    (script,) = (example for example in SCRIPTS if example.guide == "docs/model.md")
    file = tmp_path / "practice.py"
    file.write_text(script.content, encoding="utf-8")
    runpy.run_path(str(file), run_name="__main__")
    found = [float(value) for value in re.findall(r"([\d.]+) cmH2O", capsys.readouterr().out)]
    # *about*: to what a display of airway pressure can tell apart
    step_cmh2o = figure("instruments.airway_pressure.step_cmh2o").value
    assert len(told) == 2
    assert found == pytest.approx(told, abs=step_cmh2o), "Write the new pressures into docs/model.md."


def test_what_practice_expects_stands_on_the_page_as_the_figures_have_it() -> None:
    expected = figure("practice.horse_500kg.peak_pressure_cmh2o")
    assert f"| common practice | {expected.low:g} to {expected.high:g} |" in MODEL


def test_what_a_compliance_needs_is_arithmetic() -> None:
    rows = re.findall(r"^\| (\d+)\D.*?\| ([\d.]+) \| `(mechanics\.\S+)` \|", MODEL, re.MULTILINE)
    volume_ml = 1000.0 * figure("practice.horse_500kg.tidal_volume_l").value
    assert len(rows) == 4
    for compliance_ml_cmh2o, needed_cmh2o, name in rows:
        item = figure(name)
        by_weight = 500.0 if item.unit == "ml_cmh2o_kg" else 1.0
        assert float(compliance_ml_cmh2o) == pytest.approx(item.value * by_weight)
        assert needed_cmh2o == f"{volume_ml / float(compliance_ml_cmh2o):.1f}"


@pytest.mark.parametrize(
    ("words", "name", "factor"),
    [
        (r"with (\d+) % of it slow", "slow_fraction", 100.0),
        (r"arterial blood, (\d+) mL/kg", "arterial_blood_l", 1000.0 / 500.0),
        (
            r"about (\d+) s at rest",
            "arterial_blood_l",
            60.0 / figure("animal.horse.cardiac_output_l_min").value,
        ),
        (r"half every (\d+) min", "injected_half_life_min", 1.0),
        (r"with a lag of (\d+) s", "central_lag_s", 1.0),
        (r"drive of ([\d.]+), and", "restart_drive_multiple", 1.0),
    ],
)
def test_a_number_in_the_text_is_the_parameter(words: str, name: str, factor: float) -> None:
    (told,) = re.findall(words, " ".join(MODEL.split()))
    expected = figure(f"animal.horse.{name}").value * factor
    assert float(told) == pytest.approx(expected, abs=0.5 if "." not in told else 1e-9)
