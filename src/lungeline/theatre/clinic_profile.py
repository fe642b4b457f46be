"""The clinic's own choices: a file of the data folder, in force wherever nothing else is given."""

from pathlib import Path

from lungeline.case import Profile, load_profile

PROFILE_FILE = "profile.toml"


def clinic_profile(folder: Path) -> Profile:
    """Return the profile that lies in a data folder; the program's defaults, unsigned, where none does."""
    path = folder / PROFILE_FILE
    return load_profile(path) if path.exists() else Profile()
