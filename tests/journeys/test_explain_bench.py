"""The bench of explanation in its short form: animals of another structure, faults by other laws."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

BENCH = Path(__file__).resolve().parents[2] / "benchmarks" / "bench_explain.py"


@pytest.mark.slow
def test_causes_are_named_far_more_often_than_by_the_written_out_signs() -> None:
    done = subprocess.run(
        [sys.executable, str(BENCH), "--animals", "4", "--seed", "31", "--json"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    # 100 cases: the full bench's figures (docs/explain.md) less two standard errors of 0.05
    assert found["top-1, all readings"] >= 0.55
    assert found["top-2, all readings"] >= 0.68
    assert found["top-1, a third missing"] >= 0.42
    assert found["better than rules, top-1"] >= 0.15
    assert found["severe faults found"] >= 0.75
    assert found["failed"] == 0
