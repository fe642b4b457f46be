"""The record of a case for pages and programs: as it stands or stood, its lanes, its forms, signing."""

from collections.abc import Mapping
from dataclasses import asdict, replace
from functools import partial
from typing import Any

from django.http import HttpRequest
from ninja import Router, Schema
from pydantic import Field

from lungeline.case.fields import FieldDoc
from lungeline.errors import RecordError, UnknownNameError
from lungeline.record import KINDS
from lungeline.record.kinds import Kind
from lungeline.theatre import CaseNow, Desk, as_signed, findings_before_signing, sign, versions
from lungeline.theatre.case_json import record_json
from lungeline.theatre.chart_json import chart_json
from lungeline.theatre.people import same_person
from lungeline.units import unit_of
from lungeline.web.api.entries import seen, shown, told
from lungeline.web.entrance.attempts import pin_tried
from lungeline.web.parts.measures import text_in, view_of
from lungeline.web.parts.seat import desk_of
from lungeline.words import entry_fields, entry_text, label_of, labelled, say

router = Router()
# what a person fills in by a form of its own, or not by hand at all
_NO_FORM = frozenset(
    {"plan", "signature", "clock", "correction", "strike", "machine", "machine_check", "retired", "advice"}
)
# what stays as it is whatever is corrected: real or not, and what proves a check
_NO_FIELD = frozenset({"purpose", "log_entry", "log_count_number", "log_hash"})
_TEXT_ALONE = frozenset({"note", "addendum"})


class Signed(Schema):
    """A signature: whose, in which role, what it means, why although something is missing, the PIN.

    signer: who sits at the page where it is empty; somebody else signs here with a PIN.
    """

    signer: str = Field(default="", max_length=200)
    role: str = Field(min_length=1, max_length=200)
    meaning: str = "signed"
    because: str = Field(default="", max_length=2000)
    pin: str = Field(default="", max_length=50)


@router.get("/kinds")
def kinds(request: HttpRequest) -> dict[str, Any]:
    """Return the forms of every kind of entry: fields with label, unit, range and choices."""
    language = view_of(request)["language"]
    return {"kinds": {code: _form(kind, language) for code, kind in KINDS.items() if code not in _NO_FORM}}


@router.get("/{case}/record")
def record(request: HttpRequest, case: str, signed: int = 0) -> dict[str, Any]:
    """Return the case as it stands, every entry and what became of it, and what is missing.

    signed: of a version that was signed, its count of entries; the case is then told as it was.
    """
    now = seen(request, case)
    desk = desk_of(request)
    verdict = now.store.verify(case)
    if signed:
        now = _as_signed(now, signed)
    findings = findings_before_signing(now, desk)
    view = view_of(request)
    plain = record_json(now, desk.clock(), findings)
    for item in plain["items"]:
        _say(item, view)
    number = partial(_number, view)
    plain["missing_said"] = [
        {"severity": said.severity, "says": said.says, "do": said.do}
        for said in (say(finding, view["language"], number) for finding in findings)
    ]
    return plain | {"proof": asdict(verdict)}


@router.get("/{case}/chart")
def chart(request: HttpRequest, case: str, signed: int = 0) -> dict[str, Any]:
    """Return the lanes of the whole case: set and measured, by minutes from its beginning.

    signed: as with the record.
    """
    now = seen(request, case)
    plain = chart_json((_as_signed(now, signed) if signed else now).state, desk_of(request).clock())
    language = view_of(request)["language"]
    for lane in plain["lanes"]:
        for one in lane["series"]:
            kind = "reading" if one["key"] in KINDS["reading"].docs else "gases"
            one["name"] = label_of(kind, one["key"], language)
        for one in lane["steps"]:
            one["name"] = label_of("setting", one["key"], language)
    return plain


@router.post("/{case}/sign", response={201: dict[str, Any]})
def sign_case(request: HttpRequest, case: str, given: Signed) -> tuple[int, dict[str, Any]]:
    """Sign a case as it is now."""
    seen(request, case)
    desk = _signing_desk(request, given)
    meaning: Any = given.meaning
    with pin_tried(desk.author, request, given.pin):
        entry = sign(
            desk, case, role=given.role, meaning=meaning, because=given.because, pin=given.pin or None
        )
    return 201, shown(told(entry))


def _signing_desk(request: HttpRequest, given: Signed) -> Desk:
    """Return the desk of who signs; where people sign in, another needs a PIN and a paired device."""
    desk = desk_of(request)
    if not given.signer.strip() or same_person(given.signer, desk.author):
        return desk
    other = replace(desk, author=" ".join(given.signer.split()))
    if request.caller.author and (other.person().pin is None or not request.caller.device):
        raise RecordError(
            where="signer",
            given=f"{other.author}, beside {desk.author}",
            allowed="who signed in here, or somebody with a PIN on a paired device",
            do="Sign in as who signs.",
        )
    return other


def _as_signed(now: CaseNow, count: int) -> CaseNow:
    known = {version.count: version for version in versions(now.entries)}
    if count not in known:
        raise UnknownNameError(
            where="entry",
            given=f"{count} entries",
            allowed=", ".join(map(str, known)) or "nothing: nobody has signed",
            do="Choose a version that was signed.",
        )
    return replace(now, entries=now.entries[:count], state=as_signed(now.entries, known[count]))


def _say(item: dict[str, Any], view: Mapping[str, str]) -> None:
    """Add to an item what it says, in words and units of the person who reads it."""
    language, number = view["language"], partial(_number, view)
    item["kind_said"] = labelled(KINDS[item["kind"]].label, language)
    item["text"] = entry_text(item["kind"], item["body"], language, number)
    item["fields"] = entry_fields(item["kind"], item["body"], language, number)
    first = entry_text(item["kind"], item["first_body"], language, number) if item["corrected"] else ""
    item["first_text"] = first


def _number(view: Mapping[str, str], name: str, value: float) -> str:
    return text_in(name, value, view)


def _form(kind: Kind, language: str) -> dict[str, Any]:
    label = labelled(kind.label, language)
    if kind.code in _TEXT_ALONE:
        return {
            "label": label,
            "fields": [{"key": "text", "label": label, "kind": "paragraph", "required": True}],
        }
    docs = {key: doc for key, doc in kind.docs.items() if key not in _NO_FIELD}
    return {"label": label, "fields": [_field(key, doc, language) for key, doc in docs.items()]}


def _field(key: str, doc: FieldDoc, language: str) -> dict[str, Any]:
    unit = unit_of(key)
    must_say = doc.kind == "switch" and doc.required  # no as well as yes
    return {
        "key": key,
        "label": labelled(doc.label, language),
        "kind": "yes or no" if must_say else doc.kind,
        "unit": unit.suffix if unit else "",
        "low": doc.low,
        "high": doc.high,
        "choices": list(doc.choices),
        "choice_words": [labelled(choice, language) for choice in doc.choices],
        "required": doc.required,
    }
