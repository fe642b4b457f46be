"""A file that a command was asked to write."""

from pathlib import Path

from lungeline.errors import InputError

PAPERS = {"a4": "a4", "letter": "us-letter"}  # by the word typed: as Typst calls it


def write(path: Path, content: bytes) -> Path:
    """Write a file and return its path, or raise InputError where it cannot be written."""
    try:
        path.write_bytes(content)
    except OSError as error:
        raise InputError(
            where=str(path), given=error.strerror or "an error", allowed="a file that can be written",
            do="Give another name or folder.",
        ) from error  # fmt: skip
    return path
