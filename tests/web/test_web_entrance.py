"""Who is let in from other devices: nobody without signing in, everybody by their role, an emergency at once.

The server listens on 127.0.0.2 and is asked from 127.0.0.3: neither is the computer's own address for itself,
so that both are as good as a network, and nothing leaves this machine.
"""

import sqlite3
import ssl
import subprocess
import sys
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import requests
from django.contrib.sessions.serializers import JSONSerializer
from django.core.signing import TimestampSigner
from requests.adapters import HTTPAdapter
from served import Served, next_word, serving
from websockets import Origin
from websockets.exceptions import InvalidStatus, WebSocketException
from websockets.sync.client import connect

HOST, DEVICE = "127.0.0.2", "127.0.0.3"
WORD = "four horses in a row"
PEOPLE = """
[[people]]
name = "Ada Min"
role = "administrator"

[[people]]
name = "Vera Vet"
role = "veterinarian"

[[people]]
name = "Otto Observer"
role = "observer"
"""
OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}


class _From(HTTPAdapter):
    """Asks from an address of its own."""

    def init_poolmanager(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  as requests has it
        super().init_poolmanager(*args, source_address=(DEVICE, 0), **kwargs)


class Device(requests.Session):
    """Another device's browser."""

    def __init__(self, served: Served) -> None:
        """Know the server, and trust its certificate."""
        super().__init__()
        self.trust_env = False  # the machine's own list of authorities does not know this one
        self.served = served
        self.mount("https://", _From())
        self.verify = str(served.folder / "tls" / "authority.pem")

    def ask(self, method: str, path: str, **given: Any) -> requests.Response:  # noqa: ANN401  as requests has it
        """Ask as a page would."""
        if "lungeline_csrf" not in self.cookies:
            self.request("GET", f"{self.served.address}/enter/", timeout=30)
        headers = {"X-CSRFToken": str(self.cookies["lungeline_csrf"]), "Referer": f"{self.served.address}/"}
        url = f"{self.served.address}{path}"
        return self.request(method, url, headers=headers, timeout=30, allow_redirects=False, **given)

    def sign_in(self, name: str, word: str = WORD) -> requests.Response:
        """Sign somebody in."""
        return self.ask("POST", "/enter/", data={"name": name, "word": word})


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("opened") / "data"
    folder.mkdir()
    (folder / "people.toml").write_text(PEOPLE, encoding="utf-8")
    with serving(folder, "--host", HOST) as running:
        here = requests.Session()  # the computer itself, which sets the first words
        here.trust_env = False
        here.verify = str(folder / "tls" / "authority.pem")
        here.get(f"{running.address}/settings/people/", timeout=30)
        here.headers["Referer"] = f"{running.address}/"
        # as long as no administrator could sign in, anybody here may give words; then they must
        sign_in = ("/enter/", {"name": "Ada Min", "word": WORD})
        words = [
            ("/settings/people/", {"do": "word", "name": name, "word": WORD})
            for name in ("Ada Min", "Vera Vet", "Otto Observer")
        ]
        for path, told in (words[0], sign_in, *words[1:]):
            here.headers["X-CSRFToken"] = str(here.cookies["lungeline_csrf"])
            answer = here.post(f"{running.address}{path}", data=told, timeout=30)
            assert answer.ok, answer.text
        yield running


@pytest.fixture
def device(opened: Served) -> Device:
    return Device(opened)


@pytest.fixture(autouse=True)
def _forget_guesses(opened: Served) -> None:
    with sqlite3.connect(opened.folder / "pages.sqlite3") as database:
        database.execute("DELETE FROM lungeline_web_failure")
    database.close()


def _paths(served: Served) -> list[tuple[str, str]]:
    """Return every address there is, by the interface's own description and the list of pages."""
    device = Device(served)
    device.sign_in("Ada Min")
    described = device.ask("GET", "/api/openapi.json").json()["paths"]
    api = [(method.upper(), path) for path, methods in described.items() for method in methods]
    pages = [("GET", path) for path in ("/", "/cases/", "/cases/new/", "/prepare/", "/check/", "/settings/")]
    return api + pages


def test_every_route_refuses_who_has_not_signed_in(opened: Served) -> None:
    paths = _paths(opened)
    assert len(paths) > 10
    for method, path in paths:
        answer = Device(opened).ask(method, path.replace("{case}", "x").replace("{seq}", "1"), json={})
        assert answer.status_code in {302, 401}, (method, path, answer.status_code)
        if answer.status_code == 302:
            assert answer.headers["Location"].startswith("/enter/")
        else:
            assert answer.json()["error"]["code"] == "sign_in"


def test_a_person_is_let_in_by_their_word_and_a_wrong_one_tells_nothing(opened: Served) -> None:
    right, wrong, nobody = Device(opened), Device(opened), Device(opened)
    assert right.sign_in("Vera Vet").status_code == 302
    assert right.ask("GET", "/api/cases").status_code == 200
    refusals = [
        wrong.sign_in("Vera Vet", "four horses in a box"),
        nobody.sign_in("No One", "four horses in a box"),
    ]
    assert [answer.status_code for answer in refusals] == [401, 401]
    told = [
        answer.text.split("<main")[1].replace("Vera Vet", "").replace("No One", "") for answer in refusals
    ]
    plain = [text.split('role="alert"')[1].split("</p>")[0] for text in told]
    assert plain[0] == plain[1]


def test_after_five_wrong_guesses_the_right_word_waits_too(opened: Served) -> None:
    guesser = Device(opened)
    statuses = [guesser.sign_in("Otto Observer", f"wrong number {number}").status_code for number in range(6)]
    assert statuses == [401] * 5 + [429]
    assert Device(opened).sign_in("Otto Observer").status_code == 429
    assert Device(opened).sign_in("Vera Vet").status_code == 302


def test_rights_are_those_of_the_role(opened: Served) -> None:
    observer, vet = Device(opened), Device(opened)
    observer.sign_in("Otto Observer")
    vet.sign_in("Vera Vet")
    refused = observer.ask("POST", "/api/cases", json={"body": OPENING})
    assert (refused.status_code, refused.json()["error"]["code"]) == (403, "right")
    case = vet.ask("POST", "/api/cases", json={"body": OPENING}).json()["case"]
    assert observer.ask("GET", f"/api/cases/{case}/entries").status_code == 200
    assert vet.ask("GET", "/settings/people/").status_code == 403
    entry = vet.ask("GET", f"/api/cases/{case}/entries").json()["entries"][0]
    assert entry["author"] == "Vera Vet"


def test_an_expired_session_is_told_so_unless_its_case_still_runs(opened: Served) -> None:
    idle, busy = Device(opened), Device(opened)
    for device in (idle, busy):
        device.sign_in("Vera Vet")
    case = busy.ask("POST", "/api/cases", json={"body": OPENING}).json()["case"]
    phase = {"uid": uuid.uuid4().hex, "kind": "phase", "body": {"phase": "maintain"}}
    busy.ask("POST", f"/api/cases/{case}/entries", json=phase)
    busy.ask("GET", f"/case/{case}/watch/")
    _age_sessions(opened.folder)
    assert idle.ask("GET", "/api/cases").status_code == 401
    assert busy.ask("GET", f"/api/cases/{case}/entries").status_code == 200


def _age_sessions(folder: Path) -> None:
    """Make every session look as if nobody had used it for an hour."""
    secret = (folder / "pages.secret").read_text(encoding="ascii")
    signer = TimestampSigner(key=secret, salt="django.contrib.sessions.SessionStore", fallback_keys=[])
    with sqlite3.connect(folder / "pages.sqlite3") as database:
        rows = database.execute("SELECT session_key, session_data FROM django_session").fetchall()
        for key, data in rows:
            session = signer.unsign_object(data, serializer=JSONSerializer)
            if "seen_s" in session:
                session["seen_s"] -= 3600.0
                aged = signer.sign_object(session, serializer=JSONSerializer, compress=True)
                database.execute(
                    "UPDATE django_session SET session_data = ? WHERE session_key = ?", (aged, key)
                )
    database.close()


def test_a_paired_device_opens_an_emergency_and_nothing_else(opened: Served, device: Device) -> None:
    administrator = Device(opened)
    administrator.sign_in("Ada Min")
    page = administrator.ask("POST", "/settings/people/", data={"do": "code", "device": "Theatre 1"}).text
    code = page.split('id="code">')[1].split("<")[0]
    assert device.ask("POST", "/pair/", data={"code": "00000000"}).status_code == 401
    assert device.ask("POST", "/pair/", data={"code": code}).status_code == 302
    assert Device(opened).ask("POST", "/pair/", data={"code": code}).status_code == 401, "a code serves once"
    opening = device.ask("POST", "/api/cases", json={"body": OPENING})
    assert opening.status_code == 201
    case = opening.json()["case"]
    assert opening.json()["author"] == "not signed in (Theatre 1)"
    entry = {"uid": uuid.uuid4().hex, "kind": "reading", "body": {"map_mmhg": 60.0}}
    assert device.ask("POST", f"/api/cases/{case}/entries", json=entry).status_code == 201
    other = administrator.ask("POST", "/api/cases", json={"body": OPENING})
    assert other.status_code == 201
    assert administrator.ask("POST", f"/case/{case}/claim/").status_code == 302
    told = administrator.ask("GET", f"/api/cases/{case}/entries").json()["entries"][-1]
    assert told["author"] == "Ada Min"
    assert (
        told["body"]["text"] == "Entries by “not signed in (Theatre 1)” up to number 2 were made by Ada Min."
    )
    for path in ("/api/cases", f"/api/cases/{other.json()['case']}/entries", "/settings/people/"):
        assert device.ask("GET", path).status_code in {302, 401}, path


def test_a_socket_asks_for_origin_and_session(opened: Served, device: Device) -> None:
    device.sign_in("Vera Vet")
    case = device.ask("POST", "/api/cases", json={"body": OPENING}).json()["case"]
    cookies = "; ".join(f"{cookie.name}={cookie.value}" for cookie in device.cookies)
    own, foreign = opened.address, "https://example.org"
    assert _hears(opened, case, cookies, own)
    assert not _hears(opened, case, cookies, foreign)
    assert not _hears(opened, case, "", own)


def _hears(served: Served, case: str, cookies: str, origin: str) -> bool:
    trusting = ssl.create_default_context(cafile=str(served.folder / "tls" / "authority.pem"))
    address = f"{served.address.replace('https', 'wss')}/ws/case/{case}"
    try:
        with connect(
            address, origin=Origin(origin), ssl=trusting, source_address=(DEVICE, 0),
            additional_headers={"Cookie": cookies} if cookies else {},
        ) as socket:  # fmt: skip
            return bool(next_word(socket, 2.0)["type"] == "entries")
    except (InvalidStatus, WebSocketException, TimeoutError):
        return False


def test_what_was_done_is_noted_without_words_and_pins(opened: Served) -> None:
    with sqlite3.connect(opened.folder / "pages.sqlite3") as database:
        notes = database.execute("SELECT person, what, outcome FROM lungeline_web_access").fetchall()
    database.close()
    assert ("Vera Vet", "sign in", "by word") in notes
    assert WORD not in str(notes)


def test_opening_to_the_network_wants_an_administrator(tmp_path: Path) -> None:
    command = [str(Path(sys.executable).with_name("lungeline")), "serve", "--data", str(tmp_path / "data")]
    done = subprocess.run([*command, "--host", HOST], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2
    assert "at least one administrator" in done.stderr
