"""The project itself: lock files, documentation, guide, change notes, reasons for exemptions."""

import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml
from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[2]
LOCKS = ("run", "test", "bench")  # each holds all of the one before
GUIDES = ("README.md", "CONTRIBUTING.md", "changelog.d/README.md")


def text_of(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def pinned(lock: str) -> dict[str, str]:
    lines = re.findall(r"^([\w.-]+)==(\S+)", text_of(f"requirements/{lock}.txt"), flags=re.MULTILINE)
    return dict(lines)


def tracked_files() -> list[Path]:
    if not (ROOT / ".git").exists():
        pytest.skip("not a clone: nothing tells which files belong to the project")
    git = shutil.which("git")
    assert git, "a clone without git cannot be checked"
    listed = subprocess.run([git, "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True)
    return [ROOT / name for name in listed.stdout.split("\0") if name and (ROOT / name).is_file()]


# --- lock files ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("lock", [*LOCKS, "lock"])
def test_a_lock_names_no_host_and_no_local_place(lock: str) -> None:
    assert not re.search(
        r"://|--index-url|--extra-index|--find-links|--trusted-host|\s@\s|file:",
        text_of(f"requirements/{lock}.txt"),
    )


@pytest.mark.parametrize("lock", [*LOCKS, "lock"])
def test_everything_in_a_lock_is_pinned_by_version_and_hash(lock: str) -> None:
    joined = text_of(f"requirements/{lock}.txt").replace("\\\n", " ")
    lines = [line for line in joined.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    unpinned = [
        line[:60] for line in lines if not re.match(r"[\w.-]+==\S+.*--hash=sha256:[0-9a-f]{64}", line)
    ]
    assert lines
    assert unpinned == []


@pytest.mark.parametrize(("smaller", "larger"), [("run", "test"), ("test", "bench")])
def test_a_larger_lock_holds_the_smaller_at_the_same_versions(smaller: str, larger: str) -> None:
    inside, outside = pinned(smaller), pinned(larger)
    assert inside
    assert {name: outside.get(name) for name in inside} == inside


def test_the_run_lock_satisfies_the_package_and_its_build() -> None:
    settings = tomllib.loads(text_of("pyproject.toml"))
    wanted = map(Requirement, settings["project"]["dependencies"] + settings["build-system"]["requires"])
    locked = pinned("run")
    assert [str(item) for item in wanted if not item.specifier.contains(locked[item.name])] == []


# --- documentation ------------------------------------------------------------------------------------


def generated_pages() -> set[str]:
    return set(re.findall(r'^    "([a-z_]+\.md)":', text_of("docs/generate.py"), flags=re.MULTILINE))


def test_every_page_is_in_the_navigation_and_every_entry_is_a_page() -> None:
    listed = {page for entry in yaml.safe_load(text_of("mkdocs.yml"))["nav"] for page in entry.values()}
    written = {page.relative_to(ROOT / "docs").as_posix() for page in (ROOT / "docs").rglob("*.md")}
    by_hand = {page for page in written if not page.startswith("generated/")}
    assert listed == by_hand | {f"generated/{page}" for page in generated_pages()}


def relative_links(page: Path) -> Iterator[str]:
    for target in re.findall(r"\]\(([^)#\s]+)[^)]*\)", page.read_text(encoding="utf-8")):
        if "://" not in target and not target.startswith("mailto:"):
            yield target


def test_every_link_between_pages_leads_somewhere() -> None:
    generated = {ROOT / "docs" / "generated" / page for page in generated_pages()}
    pages = [ROOT / guide for guide in GUIDES] + sorted((ROOT / "docs").glob("*.md"))
    followed = [(page, (page.parent / target).resolve()) for page in pages for target in relative_links(page)]
    lost = [f"{page.name}: {to}" for page, to in followed if to not in generated and not to.exists()]
    assert followed
    assert lost == []


def test_the_documentation_builds_without_a_warning_and_loads_nothing_from_outside(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "docs", tmp_path / "docs")
    shutil.copy(ROOT / "mkdocs.yml", tmp_path)
    for command in (
        [str(ROOT / "docs" / "generate.py"), str(tmp_path / "docs" / "generated")],
        ["-m", "mkdocs", "build", "--strict", "--quiet", "--config-file", str(tmp_path / "mkdocs.yml")],
    ):
        done = subprocess.run(
            [sys.executable, *command], cwd=ROOT, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stdout + done.stderr
    built = sorted((tmp_path / "site").rglob("*.html"))
    outside = r"<(?:script|link|img|iframe)[^>]+(?:src|href)=[\"']?(?:https?:)?//[^>]*>"
    assert len(built) > len(generated_pages())
    assert [found for page in built for found in re.findall(outside, page.read_text(encoding="utf-8"))] == []


def test_every_test_named_as_a_control_exists() -> None:
    named = re.findall(r"tests/[\w/]+\.py", text_of("docs/hazards.md"))
    assert named
    assert [name for name in named if not (ROOT / name).is_file()] == []


def test_every_hazard_has_a_control_and_says_what_holds_it() -> None:
    rows = [line for line in text_of("docs/hazards.md").splitlines() if line.startswith("|")][2:]
    cells = [[cell.strip() for cell in row.strip("|").split("|")] for row in rows]
    assert len(cells) >= 12
    assert [row for row in cells if len(row) != 3 or not all(row)] == []


# --- the guide and the change notes -------------------------------------------------------------------


def examples(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", text_of("README.md"), flags=re.MULTILINE | re.DOTALL)


def test_the_cases_in_the_guide_are_cases() -> None:
    planned, simulated = examples("toml")
    assert {"animal", "procedure"} == tomllib.loads(planned).keys()
    assert {"animal", "settings", "changes", "faults"} <= tomllib.loads(simulated).keys()


def test_the_python_example_in_the_guide_runs(tmp_path: Path) -> None:
    (written,) = examples("python")
    script = tmp_path / "example.py"
    script.write_text(written, encoding="utf-8")
    done = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert re.fullmatch(r"\d+\.\d L to spare, PaO2 \d+ mmHg\n", done.stdout)


def test_change_notes_are_there_and_short() -> None:
    notes = [note for note in (ROOT / "changelog.d").glob("*.md") if note.name != "README.md"]
    assert notes
    for note in notes:
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", note.stem), note.name
        assert 0 < len(note.read_text(encoding="utf-8").split()) <= 120, note.name
        assert not note.read_text(encoding="utf-8").startswith("#"), note.name


def test_help_tells_every_target() -> None:
    makefile = text_of("Makefile")
    targets = re.search(r"^\.PHONY: (.*)$", makefile, flags=re.MULTILINE)
    told = re.findall(r"make ([\w-]+)", makefile[makefile.index("\nhelp:") : makefile.index("# --- set-up")])
    assert targets
    assert set(targets[1].split()) == {*told, "help"}


# --- what must not be in any file ---------------------------------------------------------------------


def test_no_file_speaks_of_the_machine_it_was_written_on() -> None:
    foreign = re.compile(r"(?<![\w.])/(?:work|root|home|Users|tmp|opt)/\w|\bproto" + r"type\b")
    found = [
        f"{file.relative_to(ROOT)}: {hit[0]}"
        for file in tracked_files()
        for hit in [foreign.search(file.read_text(encoding="utf-8", errors="ignore"))]
        if hit
    ]
    assert found == []


def test_every_lint_exemption_has_its_reason_beside_it() -> None:
    settings = text_of("pyproject.toml")
    section = settings[settings.index("[tool.ruff.lint]") : settings.index("[tool.ruff.lint.pydocstyle]")]
    rules = [line for line in section.splitlines() if re.search(r'"[A-Z]+\d+"', line)]
    assert rules
    assert [line.strip() for line in rules if not re.search(r"#\s*\S.{8,}", line)] == []


def test_every_exemption_in_the_code_has_its_reason_beside_it() -> None:
    bare = re.compile(
        r"#\s*noqa(?!: )|#\s*noqa: [A-Z]+\d+(?:,\s*[A-Z]+\d+)*\s*$|#\s*type: ignore(?:\[[\w, -]+\])?\s*$"
    )
    found = [
        f"{file.relative_to(ROOT)}:{number}"
        for file in tracked_files()
        if file.suffix == ".py"
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), start=1)
        if bare.search(line)
    ]
    assert found == []
