"""The record through the interface and its page: forms, lanes, signing, printing, copies."""

import csv
import io
import json
import uuid
import zipfile
from collections.abc import Iterator
from typing import Any

import pytest
from pypdf import PdfReader
from served import Client, Served

from lungeline.theatre import new_pin

OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}
PIN, WRONG = "83519274", "70000007"


@pytest.fixture
def case(client: Client) -> str:
    opened = str(client.post("/api/cases", json={"body": OPENING}).json()["case"])
    entered: list[tuple[str, dict[str, Any]]] = [
        ("phase", {"phase": "induce"}),
        ("phase", {"phase": "maintain"}),
        ("reading", {"map_mmhg": 172.0, "etco2_mmhg": 44.0}),
        ("drug", {"drug": "ketamine", "amount_mg": 1100.0}),
    ]
    for kind, body in entered:
        sent: dict[str, Any] = {"uid": uuid.uuid4().hex, "kind": kind, "body": body}
        assert client.post(f"/api/cases/{opened}/entries", json=sent).status_code == 201
    return opened


@pytest.fixture
def people(served: Served) -> Iterator[None]:
    """Two people of the clinic, one of whom has a PIN."""
    listed = served.folder / "people.toml"
    pin = new_pin(PIN).written()
    listed.write_text(
        f"""[[people]]
name = "A. Vet"
role = "anaesthetist"

[[people]]
name = "B. Teach"
role = "teacher"
pin = "{pin}"

[[people]]
name = "D. Log"
role = "teacher"
pin = "{pin}"
""",
        encoding="utf-8",
    )
    yield
    listed.unlink()


def test_the_record_tells_what_stands_and_what_became_of_it(client: Client, case: str) -> None:
    told: dict[str, Any] = {"reason": "slip", "changes": {"map_mmhg": 72.0}}
    assert client.post(f"/api/cases/{case}/entries/4/correction", json=told).status_code == 201
    assert client.post(f"/api/cases/{case}/entries/5/strike", json={"reason": "not given"}).status_code == 201
    record = client.get(f"/api/cases/{case}/record").json()
    items = {item["seq"]: item for item in record["items"]}
    assert items[4]["corrected"] is True
    assert "172 mmHg" in items[4]["first_text"]
    assert "72 mmHg" in items[4]["text"]
    assert items[5]["struck"] is True
    assert items[5]["history"][0]["reason"] == "not given"
    assert "record_check_missing" in {finding["code"] for finding in record["missing"]}


def test_every_kind_that_is_entered_by_hand_has_a_form(client: Client) -> None:
    kinds = client.get("/api/cases/kinds").json()["kinds"]
    assert {"reading", "drug", "recovery", "outcome", "controlled", "note", "team"} <= kinds.keys()
    fields = {field["key"]: field for field in kinds["reading"]["fields"]}
    assert fields["map_mmhg"]["unit"] == "mmhg"
    assert fields["map_mmhg"]["high"] == 300
    assert not {"signature", "clock", "machine"} & kinds.keys()


def test_a_form_speaks_the_readers_language_and_asks_for_no_as_well_as_yes(client: Client) -> None:
    client.cookies.set("lungeline_view", "language:de")
    kinds = client.get("/api/cases/kinds").json()["kinds"]
    assert kinds["drug"]["label"] == "Mittel gegeben"
    (passed,) = [field for field in kinds["check"]["fields"] if field["key"] == "passed"]
    assert passed["kind"] == "yes or no"
    (status,) = [field for field in kinds["outcome"]["fields"] if field["key"] == "status"]
    assert status["choices"] == ["alive", "euthanasia", "dead"]
    assert status["choice_words"] == ["lebt", "eingeschläfert", "tot"]
    # real stays real, and what proves a check stays as it is, whatever is corrected
    assert not {"purpose", "log_hash"} & {field["key"] for kind in kinds.values() for field in kind["fields"]}


def test_entries_and_findings_are_told_in_the_readers_units_and_words(client: Client, case: str) -> None:
    client.cookies.set("lungeline_view", "language:de|mmhg:kpa|kg:lb")
    record = client.get(f"/api/cases/{case}/record").json()
    items = {item["seq"]: item for item in record["items"]}
    # UCUM (2024): 1 mmHg is 0.133322 kPa, 172 mmHg so 22.93 kPa
    assert items[4]["text"].startswith("mittlerer arterieller Druck 22,9 kPa")
    assert ["Gewicht", "1146 lb"] in items[1]["fields"]
    assert items[4]["body"]["map_mmhg"] == 172
    assert "Das Protokoll sagt nicht: woher das Gewicht kommt." in {
        it["says"] for it in record["missing_said"]
    }


def test_the_lanes_of_the_case_are_named_and_hold_what_was_entered(client: Client, case: str) -> None:
    chart = client.get(f"/api/cases/{case}/chart").json()
    series = {one["key"]: one for lane in chart["lanes"] for one in lane["series"]}
    assert series["map_mmhg"]["name"] == "mean arterial pressure"
    assert [value for _, value, _ in series["map_mmhg"]["points"]] == [172]
    assert [it["seq"] for it in chart["marks"]] == [5]


def test_signing_wants_what_is_missing_told_and_names_its_head(client: Client, case: str) -> None:
    refused = client.post(f"/api/cases/{case}/sign", json={"role": "anaesthetist", "meaning": "nonsense"})
    assert refused.status_code == 400
    assert client.get(f"/api/cases/{case}/record").json()["proof"]["outcome"] == "unverifiable"
    body = {"drug": "ketamine", "drawn_mg": 1200.0, "witness": "B. Vet"}
    sent: dict[str, Any] = {"uid": uuid.uuid4().hex, "kind": "controlled", "body": body}
    assert client.post(f"/api/cases/{case}/entries", json=sent).status_code == 201
    refused = client.post(f"/api/cases/{case}/sign", json={"role": "anaesthetist"})
    assert refused.status_code == 400
    assert "record_controlled_unbalanced" in refused.json()["error"]["given"]
    signed = client.post(f"/api/cases/{case}/sign", json={"role": "anaesthetist", "because": "rest returned"})
    assert signed.status_code == 201, signed.text
    record = client.get(f"/api/cases/{case}/record").json()
    (version,) = record["versions"]
    assert version["hash"] == signed.json()["body"]["head_hash"]
    assert record["proof"]["outcome"] == "intact"
    assert record["proof"]["proven_count"] >= version["count"]
    assert any("rest returned" in item["text"] for item in record["items"])


def test_a_signed_version_is_shown_as_it_was_and_what_came_later_as_added(client: Client, case: str) -> None:
    def sign(**more: str) -> int:
        return client.post(f"/api/cases/{case}/sign", json={"role": "anaesthetist"} | more).status_code

    assert sign(meaning="countersigned") == 409  # nobody has signed yet
    assert sign() == 201
    told: dict[str, Any] = {"reason": "slip", "changes": {"map_mmhg": 72.0}}
    corrected = client.post(f"/api/cases/{case}/entries/4/correction", json=told)
    assert corrected.status_code == 201
    sent: dict[str, Any] = {
        "uid": uuid.uuid4().hex,
        "kind": "addendum",
        "body": {"text": "the horse ate at eight"},
    }
    addendum = client.post(f"/api/cases/{case}/entries", json=sent)
    now = client.get(f"/api/cases/{case}/record").json()
    (version,) = now["versions"]
    assert version["added"] == [corrected.json()["seq"], addendum.json()["seq"]]
    then = client.get(f"/api/cases/{case}/record?signed={version['count']}").json()
    assert [item["body"].get("map_mmhg") for item in then["items"] if item["seq"] == 4] == [172]
    assert [item["body"].get("map_mmhg") for item in now["items"] if item["seq"] == 4] == [72]
    chart = client.get(f"/api/cases/{case}/chart?signed={version['count']}").json()
    drawn = {one["key"]: one["points"] for lane in chart["lanes"] for one in lane["series"]}
    assert [value for _, value, _ in drawn["map_mmhg"]] == [172]
    assert client.get(f"/api/cases/{case}/record?signed=2").status_code == 404
    assert sign(signer="B. Second", meaning="countersigned") == 201
    assert sign(signer="A. Vet", meaning="nonsense") == 400


@pytest.mark.usefixtures("people")
def test_a_pin_is_asked_for_and_never_told_or_kept(served: Served, client: Client, case: str) -> None:
    def sign(**more: Any) -> Any:  # noqa: ANN401  as requests has it
        return client.post(f"/api/cases/{case}/sign", json={"role": "teacher", "signer": "B. Teach", **more})

    missing, wrong = sign(), sign(pin=WRONG)
    assert missing.status_code == wrong.status_code == 409
    assert wrong.json()["error"]["where"] == "pin"
    # what cannot be read at all: too long, of another type, in a body that lacks something
    whole = client.post(f"/api/cases/{case}/sign", json={"pin": WRONG})
    malformed = [sign(pin=WRONG * 20), sign(pin=int(WRONG)), whole]
    assert {answer.status_code for answer in malformed} == {422}
    for answer in (missing, wrong, *malformed):
        assert set(answer.json()["error"]) == {"code", "where", "given", "allowed", "do"}
        assert WRONG not in answer.text
    signed = sign(pin=PIN)
    assert signed.status_code == 201
    assert signed.json()["author"] == "B. Teach"
    assert PIN not in signed.text
    for file in served.folder.rglob("*"):
        kept = file.read_bytes() if file.is_file() else b""
        assert PIN.encode() not in kept, file
        assert WRONG.encode() not in kept, file


@pytest.mark.usefixtures("people")
def test_guessing_a_pin_by_signing_has_to_wait(client: Client, case: str) -> None:
    def guess(pin: str) -> int:
        body = {"role": "teacher", "signer": "B. Teach", "pin": pin}
        return client.post(f"/api/cases/{case}/sign", json=body).status_code

    answers = [guess(f"{number:08d}") for number in range(7)]
    assert set(answers[:5]) <= {409, 429}
    assert answers[5:] == [429, 429]
    assert guess(PIN) == 429  # even the right one waits: nobody learns by it


@pytest.mark.usefixtures("people")
def test_guessing_a_pin_at_the_log_of_a_machine_has_to_wait(served: Served) -> None:
    here = served.client()
    assert here.post("/settings/", data={"do": "author", "author": "D. Log"}).ok
    made = here.post("/api/check/machines", json={"sort": "circle", "name": "Circle of the log"}).json()

    def guess(pin: str) -> int:
        body = {"role": "teacher", "pin": pin}
        return here.post(f"/api/check/machines/{made['id']}/log/signature", json=body).status_code

    assert [guess(f"{number:08d}") for number in range(7)] == [409] * 5 + [429] * 2
    assert guess(PIN) == 429


def test_the_record_prints_and_is_copied(client: Client, case: str) -> None:
    printed = client.get(f"/case/{case}/record.pdf")
    assert printed.headers["Content-Type"] == "application/pdf"
    assert "Stella" in PdfReader(io.BytesIO(printed.content)).pages[0].extract_text()
    assert client.get(f"/case/{case}/card.pdf").content.startswith(b"%PDF")
    assert client.get(f"/case/{case}/other.pdf").status_code == 404
    with zipfile.ZipFile(io.BytesIO(client.get(f"/case/{case}/copy/anonymous.zip").content)) as archive:
        whole = b"".join(archive.read(name) for name in archive.namelist())
    assert b"Stella" not in whole
    assert case.encode() not in whole
    assert client.get(f"/case/{case}/copy/lines.jsonl").text.count("\n") == 5
    assert client.get(f"/case/{case}/copy/record.json").json()["opening"]["name"] == "Stella"
    assert client.get(f"/case/{case}/copy/other").status_code == 404


def test_what_is_simulated_is_marked_and_never_shown_beside_what_is_real(client: Client, case: str) -> None:
    other = Client(client.address)
    assert other.post("/settings/", data={"do": "side"}).ok
    demo = other.post("/api/cases", json={"body": OPENING | {"purpose": "demo"}}).json()["case"]
    page = other.get(f"/case/{demo}/record/").text
    assert "SIMULATED" in page
    assert 'id="sign"' not in page
    assert other.post(f"/api/cases/{demo}/sign", json={"role": "x"}).status_code == 409
    for path in (f"/case/{case}/record/", f"/api/cases/{case}/record", f"/api/cases/{case}/chart"):
        assert other.get(path).status_code == 404, path
    pages = PdfReader(io.BytesIO(other.get(f"/case/{demo}/record.pdf").content)).pages
    assert all("SIMULATED" in each.extract_text() for each in pages)


@pytest.mark.parametrize("which", ["csv.zip", "anonymous.zip", "record.json", "lines.jsonl"])
def test_every_copy_of_what_is_simulated_says_so(client: Client, which: str) -> None:
    other = Client(client.address)
    other.post("/settings/", data={"do": "side"})
    demo = other.post("/api/cases", json={"body": OPENING | {"purpose": "demo"}}).json()["case"]
    sent: dict[str, Any] = {"uid": uuid.uuid4().hex, "kind": "reading", "body": {"map_mmhg": 70.0}}
    assert other.post(f"/api/cases/{demo}/entries", json=sent).status_code == 201
    copy = other.get(f"/case/{demo}/copy/{which}")
    assert 'filename="SIMULATED-' in copy.headers["Content-Disposition"]
    if which == "record.json":
        assert copy.json()["mark"] == "SIMULATED"
    elif which == "lines.jsonl":  # the chain is as it was sealed: its first line says what it is
        assert json.loads(copy.text.splitlines()[0])["body"]["purpose"] == "demo"
    else:
        with zipfile.ZipFile(io.BytesIO(copy.content)) as archive:
            (readings,) = [name for name in archive.namelist() if name.startswith("reading")]
            rows = list(csv.reader(io.StringIO(archive.read(readings).decode("utf-8-sig"))))
        assert all("SIMULATED" in row for row in rows[1:])
        assert len(rows) == 2
