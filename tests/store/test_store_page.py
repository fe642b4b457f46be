"""The page on the record: its example runs as it stands there, and its list of kinds is whole."""

import re
import subprocess
import sys
from pathlib import Path

from lungeline.record import KINDS

PAGE = Path(__file__).resolve().parents[2] / "docs" / "record.md"


def test_the_example_prints_what_the_page_says(tmp_path: Path) -> None:
    found = re.search(
        r"^```python\n(.*?)^```\n\n```text\n(.*?)^```",
        PAGE.read_text(encoding="utf-8"),
        re.MULTILINE | re.DOTALL,
    )
    assert found
    done = subprocess.run(
        [sys.executable, "-c", found[1]], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert (done.stdout, done.stderr) == (found[2], "")


def test_the_page_names_every_kind_of_entry() -> None:
    (row,) = (line for line in PAGE.read_text(encoding="utf-8").splitlines() if line.startswith("| `kind`"))
    assert set(row.split("|")[2].split(";")[0].strip().split(", ")) == KINDS.keys()
