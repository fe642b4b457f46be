"""The page of what explanation can tell: it is the one the measured figures make, and tells the misses."""

import importlib.util
import json
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]


def _tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location("explain_page", ROOT / "tools" / "explain_page.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


TOOL = _tool()


@pytest.fixture(name="told")
def _told() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(TOOL.MEASURED.read_text(encoding="utf-8"))
    return found


def test_the_page_is_the_one_the_figures_make(told: dict[str, Any]) -> None:
    assert TOOL.PAGE.read_text(encoding="utf-8") == TOOL.page(told)


def test_the_benches_were_run_as_large_as_they_must_be(told: dict[str, Any]) -> None:
    assert told["causes"]["animals"] >= 40
    assert told["ahead"]["animals"] >= 80
    assert told["quiet"]["animals"] >= 24


def test_the_page_says_what_was_not_met(told: dict[str, Any]) -> None:
    for item, (wanted, at_most) in TOOL.CAUSES.items():
        value = told["causes"][item]
        row = next(line for line in TOOL.page(told).splitlines() if line.startswith(f"| {item} |"))
        good = value <= wanted if at_most else value >= wanted
        assert row.endswith("| met |" if good else "| **not met** |")
        assert f"{value:.3f}" in row


def test_a_worse_figure_turns_up_as_not_met(told: dict[str, Any]) -> None:
    worse = {**told, "causes": {**told["causes"], "severe faults found": 0.5}}
    line = next(line for line in TOOL.page(worse).splitlines() if line.startswith("| severe faults found"))
    assert "**not met**" in line


def test_every_cause_of_the_bench_stands_in_the_confusion_table(told: dict[str, Any]) -> None:
    page = TOOL.page(told)
    assert all(f"| `{true}` |" in page for true, _, _ in told["causes"]["confused"])
