"""A server in short: holds the locks of a data folder and writes for other programs, until somebody ends it.

    python holder_process.py FOLDER KEY_FILE

It says "holding" once it does. On SIGTERM it lets go in good order.
"""

import signal
import sys
from pathlib import Path

from lungeline.record.store.holding import holding
from lungeline.theatre import Cases


def main(path: str, key_file: str) -> None:
    """Hold until told to end."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit())
    with holding(Cases(Path(path), key_file=Path(key_file))):
        sys.stdout.write("holding\n")
        sys.stdout.flush()
        while True:
            signal.pause()


if __name__ == "__main__":
    main(*sys.argv[1:])
