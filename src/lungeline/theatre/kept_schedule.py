"""The schedule of backups, as somebody set it: a file of the data folder."""

import json
import tomllib
from pathlib import Path

from lungeline.errors import InputError, StoreError
from lungeline.theatre.backups import Schedule

SCHEDULE_FILE = "backups.toml"


def read_schedule(data: Path) -> Schedule | None:
    """Return the schedule that lies in a data folder, None where copies are made by hand alone."""
    path = data / SCHEDULE_FILE
    try:
        told = tomllib.loads(path.read_text(encoding="utf-8-sig"))
        return Schedule(
            folder=Path(told["folder"]),
            every_min=float(told["every_min"]),
            keep_number=int(told["keep_number"]),
        )
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError, InputError) as error:
        raise InputError(
            where=str(path),
            given=str(error),
            allowed="folder, every_min and keep_number",
            do="Set the backups anew under Settings.",
        ) from None


def keep_schedule(data: Path, schedule: Schedule) -> None:
    """Keep a schedule; refused where its folder is not there, as it is never made: it may be a stick."""
    if not schedule.folder.is_absolute() or not schedule.folder.is_dir():
        raise InputError(
            where="backups.folder",
            given=str(schedule.folder),
            allowed="a folder that is there, by its whole path",
            do="Plug the disk or stick in, make a folder on it, and name that.",
        )
    text = (
        f"folder = {json.dumps(str(schedule.folder), ensure_ascii=False)}\n"
        f"every_min = {float(schedule.every_min)}\n"
        f"keep_number = {schedule.keep_number}\n"
    )
    path = data / SCHEDULE_FILE
    part = path.with_name(f"{path.name}.part")
    try:
        part.write_text(text, encoding="utf-8", newline="\n")
        part.replace(path)
    except OSError as error:
        raise _refused(path, error) from None


def forget_schedule(data: Path) -> None:
    """Make no more copies by a schedule; those there are stay."""
    path = data / SCHEDULE_FILE
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise _refused(path, error) from None


def _refused(path: Path, error: OSError) -> StoreError:
    return StoreError(
        where=str(path), given=error.strerror, allowed="a folder one may write to", do="Mend its rights."
    )
