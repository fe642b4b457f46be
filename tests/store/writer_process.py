"""A program that records without pause and tells each acknowledgement, until somebody kills it.

    python writer_process.py FOLDER URL KEY_FILE DEVICE CASE

Each line it writes is "uid seq", written after the store acknowledged and not before.
"""

import sys
import time
import uuid
from datetime import UTC, datetime
from pathlib import Path

from lungeline.errors import StoreError
from lungeline.record import Draft, Entry
from lungeline.record.store.opening import open_store
from lungeline.record.store.store import Store

_SIGN_EVERY = 7
_AGAIN_S = 0.05


def draft(case: str, device: str, last: Entry | None) -> Draft:
    """The next thing to record: a reading, and now and then a signature under what was last acknowledged."""
    uid = str(uuid.uuid4())
    kind, body = "reading", {"map_mmhg": 70, "source": uid}
    if last is not None and last.seq % _SIGN_EVERY == 0:
        head = {"head_count_number": last.seq, "head_hash": last.hash}
        kind, body = "signature", {"meaning": "signed", "role": uid, **head}
    return Draft(
        uid=uid, case=case, kind=kind, event_time=datetime.now(UTC), author="A. Vet", device=device, body=body
    )


def acknowledged(store: Store, sent: Draft) -> Entry:
    """Send until it is acknowledged, as a device does while its server is away."""
    while True:
        try:
            return store.append(sent)
        except StoreError:
            time.sleep(_AGAIN_S)


def main(path: str, url: str, key_file: str, device: str, case: str) -> None:
    """Record for ever."""
    store = open_store(Path(path), url=url or None, key_file=Path(key_file))
    last = None
    while True:
        last = acknowledged(store, draft(case, device, last))
        sys.stdout.write(f"{last.uid} {last.seq}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(*sys.argv[1:])
