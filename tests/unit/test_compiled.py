"""Compiled code is never older than the formula it stands for."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import lungeline
from lungeline import compiled

PACKAGE = Path(lungeline.__file__).parent
ASK = (
    "from lungeline.physiology.alveolar_gas import steady_paco2_mmhg; "
    "print(steady_paco2_mmhg(1.0, 20.0, 37.0))"
)


def answer(folder: Path, cache: Path, *, plain: bool = False) -> float:
    """Ask a formula that calls others, in a process of its own, for a copy of the package."""
    environment = {**os.environ, "PYTHONPATH": str(folder), "LUNGELINE_CACHE": str(cache)}
    environment["LUNGELINE_PLAIN"] = "1" if plain else "0"
    done = subprocess.run(
        [sys.executable, "-c", ASK], env=environment, capture_output=True, text=True, check=True
    )
    return float(done.stdout)


def test_an_edited_callee_in_another_file_is_seen(tmp_path: Path) -> None:
    """The compiler's own cache would go on with the old callee: it looks only at the caller's file."""
    shutil.copytree(PACKAGE, tmp_path / "lungeline", ignore=shutil.ignore_patterns("__pycache__"))
    cache = tmp_path / "cache"
    callee = tmp_path / "lungeline" / "physiology" / "edited_callee.py"
    caller = tmp_path / "lungeline" / "physiology" / "alveolar_gas.py"
    head = "from lungeline.compiled import formula\n\n"
    callee.write_text(head + "@formula\ndef twice(x: float) -> float:\n    return 2.0 * x\n")
    source = caller.read_text(encoding="utf-8")
    caller.write_text(
        source
        + "\n\nfrom lungeline.physiology.edited_callee import twice\n\n"
        + "@formula\ndef steady_paco2_mmhg(a: float, b: float, c: float) -> float:\n    return twice(a)\n"
    )
    assert answer(tmp_path, cache) == 2.0
    assert answer(tmp_path, cache) == 2.0, "and again, from the cache"
    callee.write_text(callee.read_text().replace("2.0 * x", "3.0 * x"))
    assert answer(tmp_path, cache) == 3.0


def test_compiled_code_of_this_version_has_its_own_folder(tmp_path: Path) -> None:
    answer_compiled = answer(PACKAGE.parent, tmp_path)
    assert [folder.name for folder in tmp_path.iterdir()] == [compiled.formula_hash()]
    assert answer(PACKAGE.parent, tmp_path, plain=True) == answer_compiled


def test_code_of_versions_long_gone_is_removed(tmp_path: Path) -> None:
    for i in range(8):
        old = tmp_path / f"old{i}"
        old.mkdir()
        os.utime(old, (i, i))
    answer(PACKAGE.parent, tmp_path)
    kept = {folder.name for folder in tmp_path.iterdir()}
    assert compiled.formula_hash() in kept
    assert kept - {compiled.formula_hash()} == {"old5", "old6", "old7"}
