"""How formulas are compiled, and where compiled code is kept. The only place that knows.

`@formula` marks a scalar function for compilation. With LUNGELINE_PLAIN=1 it stays plain Python,
so that every formula can be run and checked both ways.

Compiled code is kept in a folder named by a hash of every formula file and of the compiler, since the
compiler's own cache does not notice an edited callee in another file.
"""

import hashlib
import os
import shutil
import sys
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path
from typing import Any, ParamSpec, TypeVar, cast

P = ParamSpec("P")
R = TypeVar("R")

PLAIN = os.environ.get("LUNGELINE_PLAIN", "") == "1"
_PACKAGE = Path(__file__).parent
_FORMULA_FOLDERS = ("physics", "physiology", "simulate/models", "simulate/kernel")
_KEPT_FOLDERS = 4


def formula_hash() -> str:
    """Return a hash of all formula files, the interpreter and the compiler."""
    digest = hashlib.sha256()
    files = [Path(__file__)]
    for folder in _FORMULA_FOLDERS:
        files.extend(sorted((_PACKAGE / folder).glob("*.py")))
    for file in files:
        digest.update(file.relative_to(_PACKAGE).as_posix().encode())
        digest.update(file.read_bytes())
    digest.update(f"{sys.version} {version('numba')} {version('llvmlite')}".encode())
    return digest.hexdigest()[:16]


def cache_root() -> Path:
    """Return the folder that holds all compiled code: LUNGELINE_CACHE, or the platform's cache folder."""
    given = os.environ.get("LUNGELINE_CACHE")
    if given:
        return Path(given).expanduser()
    from platformdirs import user_cache_path

    return user_cache_path("lungeline") / "compiled"


def _forget_old(root: Path, current: Path) -> None:
    """Remove compiled code of versions long gone, keeping a few for people who switch branches."""
    folders = sorted(
        (f for f in root.iterdir() if f.is_dir() and f != current), key=lambda f: f.stat().st_mtime
    )
    for folder in folders[: max(0, len(folders) + 1 - _KEPT_FOLDERS)]:
        shutil.rmtree(folder, ignore_errors=True)


def _prepare_cache() -> Path | None:
    """Make this version's folder; None where nothing can be written (then each process compiles anew)."""
    current = cache_root() / formula_hash()
    try:
        current.mkdir(parents=True, exist_ok=True)
        _forget_old(current.parent, current)
    except OSError:
        return None
    return current


if PLAIN:

    def formula(function: Callable[P, R]) -> Callable[P, R]:
        """Leave the formula as plain Python."""
        return function

else:
    import numba

    # A product and a sum may be rounded once, a division be a product with the reciprocal: 15 % faster.
    # Nothing is assumed of infinities or of what is not a number.
    _ROUNDING = {"contract", "nsz", "arcp"}
    _FOLDER = _prepare_cache()
    if _FOLDER is not None:
        # Set by name: the compiler's settings are made at run time and have no types.
        setattr(numba.config, "CACHE_DIR", str(_FOLDER))  # noqa: B010  see the line above

    def formula(function: Callable[P, R]) -> Callable[P, R]:
        """Compile the formula; it releases the interpreter lock, so that a herd can use every core."""
        compiled: Any = numba.njit(
            function, cache=_FOLDER is not None, nogil=True, error_model="numpy", fastmath=_ROUNDING
        )
        return cast("Callable[P, R]", compiled)
