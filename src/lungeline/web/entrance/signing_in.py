"""People signing in, with a name and a word, or a PIN where one serves; and the end of their sessions."""

import time
from collections.abc import Mapping
from typing import Any

from django.contrib.auth import authenticate, get_user_model, login
from django.contrib.auth.password_validation import CommonPasswordValidator, MinimumLengthValidator
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from lungeline.errors import InputError
from lungeline.theatre.people import FILE, Person, check_pin, read_people, same_person
from lungeline.web.entrance.access import note_access
from lungeline.web.entrance.attempts import check_may_try, forget_failures, note_failure
from lungeline.web.entrance.pairing import paired_device
from lungeline.web.running import running

IDLE_S = 30 * 60.0  # a session nobody uses ends, unless a case it follows still goes on; assumption
_SEEN, _SEEN_EVERY_S = "seen_s", 30.0
_SHORTEST_WORD = 10
_FLAG = "_auth_user_id"


def listed(name: str) -> Person | None:
    """Return the person of the people's file who has a name, unless they retired."""
    people = read_people(running().folder / FILE)
    return next((it for it in people if same_person(it.name, name) and not it.retired), None)


def set_word(name: str, word: str) -> None:
    """Give a listed person a word to sign in with from other devices."""
    person = listed(name)
    if person is None:
        raise InputError(
            where="person", given=name, allowed="somebody who is listed", do="List them first, with a role."
        )
    for validator in (MinimumLengthValidator(_SHORTEST_WORD), CommonPasswordValidator()):
        try:
            validator.validate(word)
        except ValidationError:
            raise InputError(
                where="word",
                given=f"{len(word)} characters",
                allowed=f"{_SHORTEST_WORD} or more, and none of those everybody uses",
                do="Take a few words in a row.",
            ) from None
    user, _ = get_user_model().objects.get_or_create(username=_username(person.name))
    user.set_password(word)
    user.save()


def let_in_no_more(name: str) -> None:
    """End what somebody came in with: their word, and every session of theirs."""
    user = get_user_model().objects.filter(username=_username(name)).first()
    if user is None:
        return
    user.set_unusable_password()
    user.save()
    for session in Session.objects.all():
        if str(session.get_decoded().get(_FLAG)) == str(user.pk):
            session.delete()


def sign_in(request: HttpRequest, name: str, *, word: str = "", pin: str = "") -> Person:
    """Sign somebody in, or refuse without saying why; a PIN serves where `takes_pin` says so."""
    address = str(request.META.get("REMOTE_ADDR", ""))
    check_may_try(name, address)
    person = listed(name)
    user = _by_word(request, name, word) if word else _by_pin(request, person, pin)
    if person is None or user is None:
        note_access(request, "sign in", "refused", person=name)
        raise note_failure(name, address)
    forget_failures(name)
    kept = {key: request.session[key] for key in ("followed", "side") if key in request.session}
    login(request, user, backend="django.contrib.auth.backends.ModelBackend")
    request.session.update(kept)
    request.session["author"] = person.name
    request.session[_SEEN] = time.time()
    note_access(request, "sign in", "by PIN" if not word else "by word", person=person.name)
    return person


def takes_pin(request: HttpRequest) -> bool:
    """Whether a PIN, which is short, is enough here: on a paired device, and on the computer that serves."""
    return request.caller.level == "computer" or paired_device(request.COOKIES) is not None


def _by_word(request: HttpRequest, name: str, word: str) -> Any:  # noqa: ANN401  Django's classes have no types
    return authenticate(request, username=_username(name), password=word)


def _by_pin(request: HttpRequest, person: Person | None, pin: str) -> Any:  # noqa: ANN401  Django's classes have no types
    if person is None or person.pin is None or not pin or not takes_pin(request):
        return None
    try:
        check_pin(person, pin)
    except Exception:  # noqa: BLE001  whatever was wrong with it, nobody is told
        return None
    user, made = get_user_model().objects.get_or_create(username=_username(person.name))
    if made:
        user.set_unusable_password()
        user.save()
    return user


def person_of(session: Mapping[str, object] | SessionStore) -> Person | None:
    """Return who a session belongs to, as listed now; None where it ended or the person left."""
    if not session.get(_FLAG):
        return None
    person = listed(str(session.get("author", "")))
    seen_s = session.get(_SEEN)
    if person is None or not isinstance(seen_s, int | float):
        return None
    idle_s = time.time() - seen_s
    return person if idle_s < IDLE_S or _follows_running(session) else None


def touch(session: SessionStore) -> None:
    """Note that a session is used."""
    if time.time() - float(session.get(_SEEN, 0.0)) > _SEEN_EVERY_S:
        session[_SEEN] = time.time()


def _follows_running(session: Mapping[str, object] | SessionStore) -> bool:
    followed = session.get("followed") or ()
    open_now = {it.case for it in running().cases.listed() if it.phase != "closed"}
    return bool(open_now.intersection(followed if isinstance(followed, list) else ()))


def _username(name: str) -> str:
    return " ".join(name.split()).casefold()[:150]


def has_word(name: str) -> bool:
    """Whether somebody has a word to sign in with."""
    user = get_user_model().objects.filter(username=_username(name)).first()
    return user is not None and bool(user.has_usable_password())
