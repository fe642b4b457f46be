"""People listed, given roles, PINs and passwords, and retired by the pages: by those who administer alone."""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from served import Client, Served, browser_here, serving
from test_web_entrance import HOST, PEOPLE, WORD, Device, _age_sessions

from lungeline.theatre import read_people
from lungeline.theatre.people import FILE, Person

PIN = "4711"
DEEDS: dict[str, dict[str, str]] = {
    "add": {"name": "Nina New", "role": "recorder"},
    "role": {"name": "Otto Observer", "role": "veterinarian"},
    "pin": {"name": "Otto Observer", "pin": "1234"},
    "word": {"name": "Otto Observer", "word": "another word than before"},
    "retire": {"name": "Otto Observer"},
    "code": {"device": "Theatre 9"},
    "retire device": {"name": "Theatre 1"},
}


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Served]:
    """A clinic with an administrator, a veterinarian and an observer, each with a word."""
    folder = tmp_path / "data"
    folder.mkdir()
    (folder / FILE).write_text(PEOPLE, encoding="utf-8")
    with serving(folder, "--host", HOST) as running:
        here = browser_here(running)
        _done(here, "word", name="Ada Min", word=WORD)  # nobody could sign in before
        assert here.post("/enter/", data={"name": "Ada Min", "word": WORD}).ok
        _fresh(here)
        for name in ("Vera Vet", "Otto Observer"):
            _done(here, "word", name=name, word=WORD)
        yield running


def _done(client: Client, do: str, **told: str) -> None:
    answer = client.post("/settings/people/", data={"do": do, **told})
    assert answer.status_code == 200, answer.text


def _people(served: Served) -> dict[str, Person]:
    return {person.name: person for person in read_people(served.folder / FILE)}


def _asked(device: Device, do: str) -> int:
    return device.ask("POST", "/settings/people/", data={"do": do, **DEEDS[do]}).status_code


def test_no_wrong_expired_or_too_weak_credentials_change_anything(opened: Served) -> None:
    before = (opened.folder / FILE).read_text(encoding="utf-8")
    nobody, wrong, weak, expired = (Device(opened) for _ in range(4))
    assert wrong.sign_in("Ada Min", "four horses in a box").status_code == 401
    assert weak.sign_in("Vera Vet").status_code == 302
    assert expired.sign_in("Ada Min").status_code == 302
    _age_sessions(opened.folder)
    weak.sign_in("Vera Vet")  # her session is fresh, her rights are too few
    not_signed_in_here = browser_here(opened)
    for do, told in DEEDS.items():
        assert [_asked(device, do) for device in (nobody, wrong, expired)] == [401] * 3, do
        assert _asked(weak, do) == 403, do
        answer = not_signed_in_here.post("/settings/people/", data={"do": do, **told})
        assert answer.status_code == 401, do
    assert (opened.folder / FILE).read_text(encoding="utf-8") == before
    assert Device(opened).sign_in("Otto Observer").status_code == 302, "the word is the old one"


def test_who_administers_lists_people_and_changes_what_they_may(opened: Served) -> None:
    ada = Device(opened)
    ada.sign_in("Ada Min")
    for do in ("add", "role", "pin"):
        assert _asked(ada, do) == 200, do
    people = _people(opened)
    assert people["Nina New"].role == "recorder"
    assert people["Otto Observer"].role == "veterinarian"
    pin = people["Otto Observer"].pin
    assert pin is not None
    assert pin.fits("1234")
    assert "1234" not in (opened.folder / FILE).read_text(encoding="utf-8").replace(pin.written(), "")
    # what cannot be is refused, and says so
    refused = {
        "add": {"name": "nina  new", "role": "recorder"},
        "role": {"name": "Ada Min", "role": "observer"},  # nobody would administer any more
        "retire": {"name": "Ada Min"},
        "pin": {"name": "Otto Observer", "pin": "12"},
        "word": {"name": "Otto Observer", "word": "short"},
    }
    statuses = {
        do: ada.ask("POST", "/settings/people/", data={"do": do, **told}).status_code
        for do, told in refused.items()
    }
    assert statuses == {"add": 409, "role": 409, "retire": 409, "pin": 400, "word": 400}
    told = {"do": "role", "name": "Otto Observer", "role": "king"}
    assert ada.ask("POST", "/settings/people/", data=told).status_code == 400
    assert _people(opened) == people


def test_who_retires_is_let_in_no_more_and_an_open_session_ends(opened: Served) -> None:
    ada, otto = Device(opened), Device(opened)
    ada.sign_in("Ada Min")
    otto.sign_in("Otto Observer")
    assert otto.ask("GET", "/api/cases").status_code == 200
    assert _asked(ada, "retire") == 200
    assert _people(opened)["Otto Observer"].retired
    assert otto.ask("GET", "/api/cases").status_code == 401
    assert Device(opened).sign_in("Otto Observer").status_code == 401
    # who comes back is listed anew, and neither the old word nor the old session serves
    again = {"do": "add", "name": "Otto Observer", "role": "observer"}
    assert ada.ask("POST", "/settings/people/", data=again).status_code == 200
    assert otto.ask("GET", "/api/cases").status_code == 401
    assert Device(opened).sign_in("Otto Observer").status_code == 401
    page = ada.ask("GET", "/settings/people/").text
    assert page.count("<h2>Otto Observer</h2>") == 1


def test_a_name_is_not_taken_by_who_has_signed_in_with_another(opened: Served) -> None:
    vera = Device(opened)
    vera.sign_in("Vera Vet")
    taken = vera.ask("POST", "/settings/", data={"do": "author", "author": "Ada Min"})
    assert taken.status_code == 409
    assert vera.ask("GET", "/settings/people/").status_code == 403


def test_on_the_computer_itself_a_pin_serves_and_wrong_ones_wait(opened: Served) -> None:
    ada = Device(opened)
    ada.sign_in("Ada Min")
    set_pin = {"do": "pin", "name": "Ada Min", "pin": PIN}
    assert ada.ask("POST", "/settings/people/", data=set_pin).status_code == 200
    here = browser_here(opened)
    assert here.post("/enter/", data={"name": "Ada Min", "pin": "0000"}).status_code == 401
    assert (
        here.post("/enter/", data={"name": "Ada Min", "pin": PIN}, allow_redirects=False).status_code == 302
    )
    _done(_fresh(here), "add", name="Nina New", role="student")
    # from elsewhere it is too short
    far = Device(opened)
    assert far.ask("POST", "/enter/", data={"name": "Ada Min", "pin": PIN}).status_code == 401
    for _ in range(5):
        far.ask("POST", "/enter/", data={"name": "Ada Min", "pin": "0000"})
    assert far.ask("POST", "/enter/", data={"name": "Ada Min", "word": WORD}).status_code == 429


def _fresh(client: Client) -> Client:
    """Take the token that came with the session."""
    client.headers["X-CSRFToken"] = str(client.cookies["lungeline_csrf"])
    return client


def test_what_was_done_with_people_is_noted_with_who_did_it(opened: Served) -> None:
    ada = Device(opened)
    ada.sign_in("Ada Min")
    _asked(ada, "pin")
    with sqlite3.connect(opened.folder / "pages.sqlite3") as database:
        notes = database.execute("SELECT person, what FROM lungeline_web_access").fetchall()
    database.close()
    assert ("Ada Min", "people: pin") in notes
    assert "1234" not in str(notes)
