"""Scenarios the clinic made of its own cases: files in `scenarios` of the data folder, without any name."""

import os
import secrets
from pathlib import Path

from lungeline.errors import StoreError
from lungeline.rehearse import Scenario
from lungeline.rehearse.scenario_text import scenario_to_toml
from lungeline.theatre.kept_rehearsals import SCENARIOS


def new_scenario_name() -> str:
    """Return a name that no other scenario has, and that does not tell of which case it was made."""
    return f"own_{secrets.token_hex(4)}"


def keep_scenario(data: Path, scenario: Scenario) -> Path:
    """Write a scenario where those of the clinic are; return the file, once it is on disk."""
    folder = data / SCENARIOS
    file, part = folder / f"{scenario.name}.toml", folder / f"{scenario.name}.part"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with part.open("w", encoding="utf-8") as stream:
            stream.write(scenario_to_toml(scenario))
            stream.flush()
            os.fsync(stream.fileno())
        part.replace(file)
    except OSError as error:
        raise StoreError(
            where=str(folder), given=error.strerror or "an error", allowed="a folder to write to",
            do="Mend its rights or make room, and make the scenario again.",
        ) from None  # fmt: skip
    return file
