"""Between entries and the rows of the table."""

from typing import Any

from django.apps import apps
from django.db.models import Count, Max

from lungeline.errors import InputError, RecordError
from lungeline.record.entry import Entry, entry_from_line
from lungeline.record.store.databases import set_up


def table() -> Any:  # noqa: ANN401  Django's classes have no types
    """Return the model of the table; it exists only once Django is ready, so nobody imports it."""
    set_up()
    return apps.get_model("lungeline_record", "KeptEntry")


def row_of(entry: Entry) -> Any:  # noqa: ANN401  Django's classes have no types
    """Return the row of an entry."""
    return table()(
        uid=entry.uid,
        case=entry.case,
        seq=entry.seq,
        kind=entry.kind,
        device=entry.device,
        device_seq=entry.device_seq,
        line=entry.line(),
    )


def rows_of(alias: str) -> Any:  # noqa: ANN401  Django's classes have no types
    """Return all rows of a database."""
    return table().objects.using(alias)


def counts_of(alias: str) -> dict[str, int]:
    """Return how many entries each case has."""
    return dict(rows_of(alias).values_list("case").annotate(Count("uid")))


class CaseRows:
    """What the rules look up in one case, read from the table."""

    def __init__(self, alias: str, case: str) -> None:
        """Look into one case of a database."""
        self._all = rows_of(alias)
        self._own = self._all.filter(case=case)

    def last(self) -> Entry | None:
        """Return the last entry."""
        return _entry(self._own.order_by("-seq").first())

    def by_seq(self, seq: int) -> Entry | None:
        """Return the entry of a place."""
        return _entry(self._own.filter(seq=seq).first())

    def by_uid(self, uid: str) -> Entry | None:
        """Return the entry with a uid, of whatever case."""
        return _entry(self._all.filter(uid=uid).first())

    def last_count(self, device: str) -> int:
        """Return the highest count a device has used in this case, 0 where it has none."""
        highest = self._own.filter(device=device).aggregate(Max("device_seq"))["device_seq__max"]
        return int(highest or 0)

    def by_count(self, device: str, device_seq: int) -> Entry | None:
        """Return the entry to which a device gave a count."""
        return _entry(self._own.filter(device=device, device_seq=device_seq).first())


def entry_of(row: Any) -> Entry:  # noqa: ANN401  Django's classes have no types
    """Return the entry of a row; RecordError where the row was damaged since."""
    try:
        return entry_from_line(row.line)
    except InputError:
        raise RecordError(
            where=f"case {row.case}, entry {row.seq}",
            given="a row that cannot be read",
            allowed="entries as they were acknowledged",
            do="Check the case (verify), and take it from a backup.",
        ) from None


def _entry(row: Any) -> Entry | None:  # noqa: ANN401  a row, or None
    return entry_of(row) if row else None
