"""The record of a case for pages and programs: as it stands, its forms, signing."""

from typing import Any

from django.http import HttpRequest
from ninja import Router, Schema
from pydantic import Field

from lungeline.record import KINDS
from lungeline.record.kinds import Kind
from lungeline.theatre import findings_before_signing, sign
from lungeline.theatre.case_json import record_json
from lungeline.units import unit_of
from lungeline.web.api.entries import seen, shown, told
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.seat import desk_of
from lungeline.words import entry_text, say

router = Router()
# what a person fills in by a form of its own, or not by hand at all
_NO_FORM = frozenset(
    {"plan", "signature", "clock", "correction", "strike", "machine", "machine_check", "retired", "advice"}
)


class Signed(Schema):
    """A signature: in which role, what it means, why although something is missing, the PIN."""

    role: str = Field(min_length=1, max_length=200)
    meaning: str = "signed"
    because: str = Field(default="", max_length=2000)
    pin: str = Field(default="", max_length=50)


@router.get("/kinds")
def kinds(request: HttpRequest) -> dict[str, Any]:
    """Return the forms of every kind of entry: fields with label, unit, range and choices."""
    del request
    return {"kinds": {code: _form(kind) for code, kind in KINDS.items() if code not in _NO_FORM}}


@router.get("/{case}/record")
def record(request: HttpRequest, case: str) -> dict[str, Any]:
    """Return the case as it stands, every entry and what became of it, and what is missing."""
    now = seen(request, case)
    desk = desk_of(request)
    findings = findings_before_signing(now, desk)
    language = view_of(request)["language"]
    plain = record_json(now, desk.clock(), findings)
    for item in plain["items"]:
        item["text"] = entry_text(item["kind"], item["body"])
        item["first_text"] = entry_text(item["kind"], item["first_body"]) if item["corrected"] else ""
    plain["missing_said"] = [
        {"severity": said.severity, "says": said.says, "do": said.do, "about": finding.about}
        for finding in findings
        for said in (say(finding, language),)
    ]
    return plain


@router.post("/{case}/sign", response={201: dict[str, Any]})
def sign_case(request: HttpRequest, case: str, given: Signed) -> tuple[int, dict[str, Any]]:
    """Sign a case as it is now."""
    seen(request, case)
    meaning: Any = given.meaning
    entry = sign(
        desk_of(request), case, role=given.role, meaning=meaning, because=given.because, pin=given.pin or None
    )
    return 201, shown(told(entry))


def _form(kind: Kind) -> dict[str, Any]:
    if kind.code in {"note", "addendum"}:
        return {"label": kind.label, "fields": [{"key": "text", "label": kind.label, "kind": "paragraph"}]}
    return {"label": kind.label, "fields": [_field(key, doc) for key, doc in kind.docs.items()]}


def _field(key: str, doc: Any) -> dict[str, Any]:  # noqa: ANN401  a field's description
    unit = unit_of(key)
    return {
        "key": key,
        "label": doc.label,
        "kind": doc.kind,
        "unit": unit.suffix if unit else "",
        "low": doc.low,
        "high": doc.high,
        "choices": list(doc.choices or ()),
        "required": doc.required,
    }
