"""Skills signed off: one's own; who teaches sees others'; the group without names."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lungeline.theatre.competence import Competence, SignOff
from lungeline.theatre.kept_rehearsals import known_scenarios
from lungeline.web.pages.about import about
from lungeline.web.parts.seat import seat_of
from lungeline.web.parts.teaching import is_teacher
from lungeline.web.running import running


def people(request: HttpRequest) -> HttpResponse:
    """Show what is signed off."""
    competence, me = Competence(folder=running().folder), seat_of(request).author
    others = _others(competence, me) if is_teacher(request) else {}
    context = {
        "me": me,
        "mine": _told(competence.of(me)),
        "others": {name: _told(lines) for name, lines in others.items()},
        "group": competence.group(),
    }
    return render(request, "rehearse_people.html", about("rehearse") | context)


def _others(competence: Competence, me: str) -> dict[str, tuple[SignOff, ...]]:
    """Return the lines of everybody else, by name in the order of the alphabet: no list by result."""
    names = {" ".join(it.person.split()).casefold(): it.person for it in competence.lines()}
    mine = " ".join(me.split()).casefold()
    return {name: competence.of(name) for key, name in sorted(names.items()) if key != mine}


def _told(lines: tuple[SignOff, ...]) -> list[dict[str, Any]]:
    """Return lines, the newest first; `last` says which is the last word on its skill."""
    last = {it.skill: it for it in lines}
    titles = {it.name: it.title for it in known_scenarios(running().folder)}
    return [
        it.as_json() | {"last": last[it.skill] is it, "title": titles.get(it.scenario, it.scenario)}
        for it in reversed(lines)
    ]
