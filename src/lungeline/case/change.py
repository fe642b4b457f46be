"""What a person does during the case: new settings, or one manoeuvre."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from lungeline.case.checks import check_record, checked_table
from lungeline.case.fault_event import LONGEST_CASE_MIN
from lungeline.case.fields import described, number
from lungeline.case.manoeuvre import Manoeuvre
from lungeline.case.settings import Settings
from lungeline.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Something done at a time: settings changed, or one manoeuvre, never both.

    at_min: when, since the case began.
    settings: the settings that change, by name, and their new values.
    manoeuvre: what is done once.
    """

    at_min: float = field(metadata=number(0, LONGEST_CASE_MIN, "time of the change"))
    settings: Mapping[str, Any] = field(default_factory=dict, hash=False)
    manoeuvre: Manoeuvre | None = None

    def __post_init__(self) -> None:
        """Refuse a change of nothing, of both kinds at once, or to what cannot be set."""
        check_record(self, "change")
        where = f"change at {self.at_min:g} min"
        checked = checked_table(described(Settings), self.settings, where)
        object.__setattr__(self, "settings", checked)
        if bool(checked) == (self.manoeuvre is not None):
            raise InputError(
                where=where,
                given="both settings and a manoeuvre" if checked else "nothing that changes",
                allowed="settings, or one manoeuvre",
                do="Write two changes at the same time." if checked else "Name a setting or a manoeuvre.",
            )
