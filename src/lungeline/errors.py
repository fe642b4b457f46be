"""Our exceptions, and nothing else.

    LungelineError                 anything we raise on purpose
    ├── InputError                 what a person gave cannot be used
    │   ├── UnknownNameError       no such key, code or figure; names the nearest valid one
    │   ├── OutOfRangeError        a value outside what is possible
    │   ├── UnitError              a unit we do not know, or of another quantity
    │   └── MissingError           something required was not given
    ├── SimulationError            the model could not go on; the message says what to try
    ├── StoppedError               somebody stopped a run before its end
    └── RecordError                the record cannot take or give what was asked
        ├── ConflictError          another entry stands there already
        ├── KeyFileError           the key of the record's chain is missing, or another one
        └── StoreError             the place where entries are kept refused: full, locked, read-only, damaged

Every message says what was given, what is allowed, and what to do.
"""

from collections.abc import Iterable
from difflib import get_close_matches


class LungelineError(Exception):
    """Anything this program raises on purpose."""

    code = "error"

    def __init__(self, *, where: str, given: object, allowed: str, do: str) -> None:
        """Keep the four parts; `where` is a dotted place such as "settings.peep_cmh2o"."""
        self.where = where
        self.given = given
        self.allowed = allowed
        self.do = do
        super().__init__(f"{where}: given {given!r}; allowed: {allowed}. {do}")

    def as_json(self) -> dict[str, dict[str, str]]:
        """Return the one JSON form errors have at every door."""
        return {
            "error": {
                "code": self.code,
                "where": self.where,
                "given": str(self.given),
                "allowed": self.allowed,
                "do": self.do,
            }
        }


class InputError(LungelineError):
    """What a person gave cannot be used."""

    code = "input"


class UnknownNameError(InputError):
    """No such key, code or figure."""

    code = "unknown_name"

    @classmethod
    def nearest(cls, *, where: str, given: str, valid: Iterable[str]) -> "UnknownNameError":
        """Build the error with the nearest valid name in its advice."""
        names = sorted(valid)
        close = get_close_matches(given, names, n=1, cutoff=0.5)
        do = f'Did you mean "{close[0]}"?' if close else "Take one of the allowed names."
        return cls(where=where, given=given, allowed=", ".join(names), do=do)


class OutOfRangeError(InputError):
    """A value outside what is possible."""

    code = "out_of_range"


class UnitError(InputError):
    """A unit we do not know, or one of another quantity."""

    code = "unit"


class MissingError(InputError):
    """Something required was not given."""

    code = "missing"


class StoppedError(LungelineError):
    """A run that somebody stopped before its end."""

    code = "stopped"


class SimulationError(LungelineError):
    """The model could not go on."""

    code = "simulation"


class RecordError(LungelineError):
    """The record cannot take or give what was asked."""

    code = "record"


class ConflictError(RecordError):
    """Another entry stands there already."""

    code = "conflict"


class KeyFileError(RecordError):
    """The key of the record's chain is missing, or another one."""

    code = "key_file"


class StoreError(RecordError):
    """The place where entries are kept refused."""

    code = "store"
