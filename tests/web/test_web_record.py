"""The record through the interface and its page: forms, signing, printing, copies; settings of a browser."""

import io
import uuid
import zipfile
from typing import Any

import pytest
from pypdf import PdfReader
from served import Client

OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}


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


def test_signing_wants_what_is_missing_told_and_names_its_head(client: Client, case: str) -> None:
    refused = client.post(f"/api/cases/{case}/sign", json={"role": "anaesthetist", "meaning": "nonsense"})
    assert refused.status_code == 400
    signed = client.post(f"/api/cases/{case}/sign", json={"role": "anaesthetist", "because": "kept on paper"})
    assert signed.status_code == 201, signed.text
    record = client.get(f"/api/cases/{case}/record").json()
    (version,) = record["versions"]
    assert version["hash"] == signed.json()["body"]["head_hash"]
    assert "Intact" in client.get(f"/case/{case}/record/").text


def test_the_record_prints_and_is_copied(client: Client, case: str) -> None:
    printed = client.get(f"/case/{case}/record.pdf")
    assert printed.headers["Content-Type"] == "application/pdf"
    assert "Stella" in PdfReader(io.BytesIO(printed.content)).pages[0].extract_text()
    assert client.get(f"/case/{case}/card.pdf").content.startswith(b"%PDF")
    assert client.get(f"/case/{case}/chart/0.svg").headers["Content-Type"] == "image/svg+xml"
    assert client.get(f"/case/{case}/chart/99.svg").status_code == 404
    with zipfile.ZipFile(io.BytesIO(client.get(f"/case/{case}/copy/anonymous.zip").content)) as archive:
        whole = b"".join(archive.read(name) for name in archive.namelist())
    assert b"Stella" not in whole
    assert case.encode() not in whole
    assert client.get(f"/case/{case}/copy/lines.jsonl").text.count("\n") == 5


def test_what_is_simulated_is_marked_and_never_shown_beside_what_is_real(client: Client, case: str) -> None:
    other = Client(client.address)
    assert other.post("/settings/", data={"do": "side"}).ok
    demo = other.post("/api/cases", json={"body": OPENING | {"purpose": "demo"}}).json()["case"]
    page = other.get(f"/case/{demo}/record/").text
    assert "SIMULATED" in page
    assert 'id="sign"' not in page
    assert other.post(f"/api/cases/{demo}/sign", json={"role": "x"}).status_code == 409
    assert other.get(f"/case/{case}/record/").status_code == 404
    assert other.get(f"/api/cases/{case}/record").status_code == 404
    pages = PdfReader(io.BytesIO(other.get(f"/case/{demo}/record.pdf").content)).pages
    assert all("SIMULATED" in each.extract_text() for each in pages)


def test_a_browser_with_a_running_real_case_shows_no_rehearsals(client: Client, case: str) -> None:
    client.get(f"/case/{case}/record/")
    answer = client.post("/settings/", data={"do": "side"})
    assert answer.status_code == 409
    assert "Close the case first" in answer.text


def test_language_and_units_change_what_is_shown_not_what_is_stored(client: Client, case: str) -> None:
    view = "language:de|theme:dark|cmh2o:mbar|mmhg:kpa|kg:lb|c:f"
    client.cookies.set("lungeline_view", view)
    page = client.get(f"/case/{case}/record/").text
    assert 'lang="de"' in page
    assert "Protokoll" in page
    assert "1146 lb" in page
    stored = client.get(f"/api/cases/{case}/entries").json()["entries"]
    assert stored[0]["body"]["weight_kg"] == 520
    client.cookies.set("lungeline_view", "language:xx|kg:stone")
    assert client.get("/settings/").status_code == 200


def test_who_records_is_told_and_a_backup_is_made(client: Client) -> None:
    assert client.post("/settings/", data={"do": "author", "author": "  B.  Vet "}).ok
    case = client.post("/api/cases", json={"body": OPENING}).json()["case"]
    assert client.get(f"/api/cases/{case}/entries").json()["entries"][0]["author"] == "B. Vet"
    assert "real" in client.post("/settings/", data={"do": "backup"}).text
    assert client.post("/settings/", data={"do": "author", "author": " "}).status_code == 400
