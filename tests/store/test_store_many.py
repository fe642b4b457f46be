"""Many cases at once, short form; `benchmarks/bench_many_cases.py` records fifty."""

import contextlib
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from lungeline.record.store.holding import holding
from lungeline.theatre import Cases

Place = Any  # its class is in conftest.py, which cannot be imported
MANY = Path(__file__).with_name("many_process.py")
EVERY_S, ROWS, CASES, READERS, PROCESSES = "0.25", "5", "12", "2", "3"


@pytest.mark.parametrize("held", [False, True], ids=["taking turns", "through a server"])
def test_many_programs_record_many_cases_at_once_without_an_error(
    place: Place,
    monkeypatch: pytest.MonkeyPatch,
    held: bool,  # noqa: FBT001  a case of the table
) -> None:
    monkeypatch.setenv("LUNGELINE_DATABASE", place.url or "")
    folder, key_file = place.path / "data", place.key_file
    words = [str(folder), str(key_file), EVERY_S, ROWS, CASES, READERS, PROCESSES]
    cases = Cases(folder, key_file=key_file)
    with holding(cases) if held else contextlib.nullcontext():
        done = subprocess.run(
            [sys.executable, str(MANY), "all", *words],
            env=os.environ,
            capture_output=True,
            text=True,
            check=False,
        )
    assert (done.returncode, done.stderr) == (0, "")
    came_of_it = json.loads(done.stdout)
    assert came_of_it["faults"] == []
    assert came_of_it["unsound"] == []
    assert len(came_of_it["wrote_ms"]) == 60  # 12 cases, 5 rows each
    assert came_of_it["read_ms"]
    for store in cases.stores():
        store.close()
