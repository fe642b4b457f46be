"""Every kind of entry, and how its body is checked. The only list of kinds there is."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from lungeline.case.checks import checked_table
from lungeline.case.fields import FieldDoc, described
from lungeline.case.json_form import case_from_json, case_to_json
from lungeline.case.refusals import shown
from lungeline.case.settings import Settings
from lungeline.errors import InputError, MissingError, UnknownNameError
from lungeline.record import bodies

Body = Mapping[str, Any]
_LONGEST_NOTE = 2_000_000  # a pasted report with a picture in text; above it, keep a file
_FIRST_PRINTABLE, _LINE_MARKS = " ", "\n\t"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of entry.

    code: its name in entries.
    label: what a person calls it.
    docs: the fields of its body by key; empty where `check` does all.
    some_of: at least one of these must be given.
    check: what else must hold, and the body as it is kept.
    amends: whether it corrects or strikes out another entry, and so must name one.
    """

    code: str
    label: str
    docs: Mapping[str, FieldDoc] = field(default_factory=dict)
    some_of: frozenset[str] = frozenset()
    check: Callable[[Body], Body] | None = None
    amends: bool = False

    def checked(self, body: Body) -> Body:
        """Return the body as it is kept, or raise InputError."""
        if self.check is not None:
            return self.check(body)
        known = {key: value for key, value in body.items() if value is not None}
        checked = checked_table(self.docs, known, self.code)
        if self.some_of and not self.some_of & checked.keys():
            raise MissingError(
                where=self.code, given="nothing", allowed=", ".join(sorted(self.some_of)), do="Give one."
            )
        return checked


def kind_of(code: str) -> Kind:
    """Return a kind by its code; UnknownNameError with the nearest one."""
    if code not in KINDS:
        raise UnknownNameError.nearest(where="entry.kind", given=code, valid=KINDS)
    return KINDS[code]


def checked_body(code: str, body: Body) -> Body:
    """Return the body of an entry of a kind as it is kept, or raise InputError."""
    return kind_of(code).checked(body)


def _of(code: str, label: str, record: type, *, some_number: bool = False, amends: bool = False) -> Kind:
    docs = described(record)
    some_of = (
        frozenset(key for key, doc in docs.items() if doc.kind == "number") if some_number else frozenset()
    )
    return Kind(code=code, label=label, docs=docs, some_of=some_of, amends=amends)


def _setting(body: Body) -> Body:
    rest = {key: value for key, value in body.items() if key != "reason" and value is not None}
    changed = checked_table(described(Settings), rest, "setting")
    if not changed:
        raise MissingError(
            where="setting", given="nothing", allowed=", ".join(described(Settings)), do="Give one."
        )
    why = {"reason": body["reason"]} if body.get("reason") else {}
    return {**changed, **checked_table(described(bodies.Reasoning), why, "setting")} if why else changed


def _note(body: Body) -> Body:
    text = body.get("text")
    usable = isinstance(text, str) and 0 < len(text) <= _LONGEST_NOTE and body.keys() == {"text"}
    if not usable or any(mark < _FIRST_PRINTABLE and mark not in _LINE_MARKS for mark in str(text)):
        raise InputError(
            where="note",
            given=shown(str(text)[:200]),
            allowed=f"text alone, 1 to {_LONGEST_NOTE} characters, without control characters",
            do="Shorten it, or keep it in a file and note the file's name.",
        )
    return body


def _plan(body: Body) -> Body:
    case = body.get("case")
    if body.keys() - {"case", "doses", "note"} or not isinstance(case, Mapping):
        raise MissingError(
            where="plan",
            given=", ".join(body),
            allowed="case, and perhaps doses and note",
            do="Give the planned case.",
        )
    note = {"note": str(body["note"])} if body.get("note") else {}
    doses = {"doses": _doses(body["doses"])} if body.get("doses") else {}
    return {"case": case_to_json(case_from_json(case)), **doses, **note}


def _doses(doses: object) -> list[Body]:
    if not isinstance(doses, list | tuple):
        raise InputError(
            where="plan.doses", given=shown(doses), allowed="a list of doses", do="Give each as an object."
        )
    return [_dose(row, f"plan.doses[{place}]") for place, row in enumerate(doses, start=1)]


def _dose(row: object, where: str) -> Body:
    if not isinstance(row, Mapping):
        raise InputError(where=where, given=shown(row), allowed="an object", do="Give drug and amount.")
    known = {key: value for key, value in row.items() if value is not None}
    return checked_table(described(bodies.PlannedDose), known, where)


def _correction(body: Body) -> Body:
    """Check a correction: the reason, and the body that now holds, by the rules of its own kind."""
    kind, right = body.get("kind"), body.get("body")
    if body.keys() != {"reason", "kind", "body"} or not isinstance(right, Mapping):
        raise MissingError(
            where="correction",
            given=", ".join(body),
            allowed="reason, kind and body",
            do="Give the reason, and the kind and whole body that the entry should have had.",
        )
    corrected = kind_of(str(kind))
    if corrected.amends or corrected.code in _NEVER_CORRECTED:
        raise InputError(
            where="correction.kind",
            given=corrected.code,
            allowed="a kind that is not itself a correction, strike-out, signature or note of a clock",
            do="Correct the entry it points to, or strike it out.",
        )
    why = checked_table(described(bodies.Reasoning), {"reason": body["reason"]}, "correction")
    return {**why, "kind": corrected.code, "body": corrected.checked(right)}


def _schemed(body: Body) -> Body:
    """Check what another part of the program wrote in a form of its own; the form's name tells which."""
    schema = body.get("schema")
    if not isinstance(schema, str) or not schema.startswith("lungeline."):
        raise MissingError(
            where="schema",
            given=shown(schema),
            allowed="a form of this program",
            do="Give it as it was made.",
        )
    return body


_NEVER_CORRECTED = frozenset({"signature", "clock"})
_ALL = (
    _of("opening", "whose record this is", bodies.Opening),
    _of("reading", "measured", bodies.Vitals, some_number=True),
    Kind(code="setting", label="set", docs=described(Settings), check=_setting),
    _of("drug", "drug given", bodies.DrugGiven),
    _of("infusion", "infusion", bodies.Infusion),
    _of("controlled", "controlled drug drawn or wasted", bodies.Controlled, some_number=True),
    _of("fluid", "fluid in or out", bodies.Fluid),
    _of("event", "event", bodies.Event),
    _of("gases", "blood gas", bodies.Gases, some_number=True),
    _of("check", "checked", bodies.Checked),
    Kind(code="plan", label="plan", check=_plan),
    Kind(code="note", label="note", check=_note),
    Kind(code="addendum", label="added after signing", check=_note),
    _of("advice", "advice and what was done", bodies.Advised),
    _of("phase", "phase", bodies.PhaseBegun),
    _of("team", "of the team", bodies.TeamMember),
    _of("handover", "hand-over", bodies.HandOver),
    _of("recovery", "recovery", bodies.Recovery),
    _of("outcome", "outcome", bodies.OutcomeKnown),
    _of("signature", "signature", bodies.Signature),
    _of("clock", "clock that is wrong", bodies.ClockWrong),
    Kind(code="correction", label="correction", check=_correction, amends=True),
    _of("strike", "struck out", bodies.Reasoning, amends=True),
    Kind(code="machine", label="equipment", check=_schemed),
    Kind(code="machine_check", label="check of equipment", check=_schemed),
    _of("retired", "no longer used", bodies.Reasoning),
)
KINDS: Mapping[str, Kind] = {kind.code: kind for kind in _ALL}
