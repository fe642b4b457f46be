"""The folder that holds the data: what lies where, and what shows that a store has been there."""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

DATA_VARIABLE, DATABASE_VARIABLE = "LUNGELINE_DATA", "LUNGELINE_DATABASE"
Side = Literal["real", "simulated", "equipment"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DataFolder:
    """A folder with one side of the data: real cases, rehearsals and demonstrations, or the equipment's log.

    path: the folder; side: which of the three.
    """

    path: Path
    side: Side = "real"

    @property
    def database(self) -> Path:
        """The SQLite file."""
        return self.path / f"{self.side}.sqlite3"

    @property
    def heads(self) -> Path:
        """The append-only file of heads."""
        return self.path / f"{self.side}.heads.jsonl"

    @property
    def lock(self) -> Path:
        """The file whose lock the one writer holds."""
        return self.path / f"{self.side}.lock"

    @property
    def mark(self) -> Path:
        """A file that says: a database was made here, so one that is gone was lost."""
        return self.path / f"{self.side}.made"

    @property
    def backups(self) -> Path:
        """Where backups go unless another place is named."""
        return self.path / "backups"


def data_path() -> Path:
    """Return the data folder: LUNGELINE_DATA, or the platform's."""
    given = os.environ.get(DATA_VARIABLE)
    if given:
        return Path(given).expanduser()
    from platformdirs import user_data_path

    return user_data_path("lungeline")
