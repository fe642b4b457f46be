"""A rehearsal put together for print: what to talk about, in order, and what was hidden."""

from collections.abc import Iterator
from datetime import datetime

from lungeline.export.pdf.debrief_page import rehearsal_images, rehearsal_pdf
from lungeline.export.pdf.rehearsal_sheets import Part, PartedSheet, RehearsalSheets, Table
from lungeline.rehearse.debrief import clock
from lungeline.rehearse.outcome import CriticalMet, Outcome
from lungeline.rehearse.quantities import HARM, NOT_THERE, deed_told, harm_told, label, told
from lungeline.rehearse.scenario import Scenario
from lungeline.rehearse.timeline import Timeline
from lungeline.rehearse.what_if import AT_END, WhatIf
from lungeline.simulate.faults import FAULTS
from lungeline.theatre.cases import SIMULATED
from lungeline.theatre.printed_timeline import drawn

_TIMES = (
    ("notice_s", "a look or a deed that could show it"),
    ("name_s", "its name"),
    ("treat_s", "a treatment"),
    ("resolve_s", "its end"),
)
_ASKS = {
    "reactions": "How was it? What is on your mind first?",
    "description": "Tell in two sentences what the animal had, and what you saw of it.",
    "analysis": "Which sign came first? Which did you act on? What would have told the causes apart?",
    "summary": "What do you take home? What will you do the same way next time, and what otherwise?",
}
_FIRST = "Ask both questions of this page before another one is read out: what was felt and seen comes first."
_OWN = "Nothing here is a mark, and there is no list of best results: what is written here is the learner's."


def print_debrief(  # noqa: PLR0913  what a print is made of
    scenario: Scenario,
    outcome: Outcome,
    line: Timeline,
    *,
    other_way: WhatIf | None = None,
    paper: str = "a4",
    printed_at: datetime | None = None,
) -> bytes:
    """Return the debrief of a rehearsal as PDF, whatever the learner did or left undone.

    other_way: what would have come of something else, to be set beside it.
    """
    sheets = debrief_sheets(scenario, outcome, line, other_way)
    return rehearsal_pdf(sheets, paper=paper, printed_at=printed_at)


def debrief_images(scenario: Scenario, outcome: Outcome, line: Timeline) -> list[bytes]:
    """Return each page of the debrief as PNG, to look at."""
    return rehearsal_images(debrief_sheets(scenario, outcome, line))


def debrief_sheets(
    scenario: Scenario, outcome: Outcome, line: Timeline, other_way: WhatIf | None = None
) -> RehearsalSheets:
    """Return all words, numbers and curves of a debrief."""
    sheet = PartedSheet(
        title="Debrief",
        name=scenario.title,
        facts=tuple(_facts(scenario, outcome)),
        parts=(
            Part(title="1  Reactions", asks=_ASKS["reactions"], lines=8, says=(_FIRST,)),
            Part(
                title="2  Description",
                asks=_ASKS["description"],
                lines=8,
                says=(f"What the learner was told: {_plain(scenario.story)}",),
            ),
            _analysis(scenario, outcome, line),
            *([_what_if(other_way)] if other_way is not None else []),
            _summary(scenario),
        ),
        drawn=drawn(line),
        drawn_after=2,
    )
    return RehearsalSheets(title=scenario.title, animal=animal_of(scenario), mark=SIMULATED, sheets=(sheet,))


def animal_of(scenario: Scenario) -> str:
    """Return the animal of a scenario as it stands at the foot of a sheet."""
    animal = scenario.case.animal
    return f"simulated {animal.species}, {told('weight_kg', animal.weight_kg)}"


def _facts(scenario: Scenario, outcome: Outcome) -> Iterator[str]:
    animal = scenario.case.animal
    yield f"scenario {scenario.number}"
    yield f"{animal.species}, {told('weight_kg', animal.weight_kg)}, {animal.position}, {animal.condition}"
    yield f"played {clock(outcome.minutes * 60.0)} of {scenario.minutes:g} min"
    yield scenario.objective


def _plain(text: str) -> str:
    return " ".join(text.split())


# -- analysis ----------------------------------------------------------------------------------------------


def _analysis(scenario: Scenario, outcome: Outcome, line: Timeline) -> Part:
    met = sum(each.met for each in outcome.critical_actions)
    count = len(outcome.critical_actions)
    return Part(
        title="3  Analysis",
        asks=_ASKS["analysis"],
        lines=4,
        says=(_behind(scenario, line),),
        tables=(
            Table(
                title=f"What had to be done: {met} of {count} met",
                head=("", "what", "how", "at", "within"),
                widths=(0.9, 5.2, 2.2, 0.8, 0.9),
                rows=[_critical(each) for each in outcome.critical_actions],
            ),
            Table(title=_times_title(outcome), rows=list(_times(outcome)), widths=(4, 1)),
            Table(
                title="What the animal went through",
                rows=[(HARM[key][0], harm_told(key, value)) for key, value in outcome.harm.as_json().items()],
                widths=(4, 1),
                note="The lines are common practice, no source; a critical action may draw another.",
            ),
            Table(title="How it lies there at the end", rows=list(_at_end(outcome)), widths=(4, 1)),
            Table(
                title="Turned or given without being called for",
                rows=[(clock(act.at_s), deed_told(act.deed, act.given)) for act in outcome.wrong_turns],
                widths=(1, 8),
                note="Ask what was hoped for: each had a reason.",
            ),
        ),
    )


def _behind(scenario: Scenario, line: Timeline) -> str:
    """Say what was hidden: its name, and every fault there was."""
    faults = [FAULTS[track.key].title.lower() for track in line.severities]
    cause = FAULTS[scenario.cause].title if scenario.cause in FAULTS else scenario.cause.replace("_", " ")
    named = f"What was to be named: {cause.lower()}. " if cause else ""
    there = f"Faults there were: {', '.join(faults) or 'none'}."
    return f"{named}{there} The drawing before this shows when, and how grave."


def _critical(each: CriticalMet) -> tuple[str, ...]:
    return (
        "met" if each.met else "NOT MET",
        each.says,
        "" if each.how == "met" else each.how,
        "" if each.at_s is None else clock(each.at_s),
        "" if each.within_s is None else clock(each.within_s),
    )


def _times_title(outcome: Outcome) -> str:
    trouble_s = outcome.times.trouble_s
    return "Times" if trouble_s is None else f"Times from the first trouble, at {clock(trouble_s)}, to"


def _times(outcome: Outcome) -> Iterator[tuple[str, str]]:
    if outcome.times.trouble_s is None:
        yield "no trouble began", NOT_THERE
        return
    for name, words in _TIMES:
        after_s = getattr(outcome.times, name)
        yield words, "not reached" if after_s is None else clock(after_s)


def _at_end(outcome: Outcome) -> Iterator[tuple[str, str]]:
    if outcome.at_end is None:
        yield "no breath was taken since the learner took over", NOT_THERE
        return
    for key in AT_END:
        yield label(key), told(key, getattr(outcome.at_end, key))


def _what_if(found: WhatIf) -> Part:
    def said(each: CriticalMet) -> str:
        when = "" if each.at_s is None else f" {clock(each.at_s)}"
        return f"{'met' if each.met else 'NOT MET'}{when}"

    harm = [
        (HARM[it.key][0], *(harm_told(it.key, value or 0.0) for value in (it.was, it.would)))
        for it in found.harm
    ]
    at_end = [
        (f"{label(it.key)}, at the end", told(it.key, it.was), told(it.key, it.would)) for it in found.at_end
    ]
    critical = [(was.says, said(was), said(would)) for was, would in found.critical_actions]
    done = [act for act in found.would.acts if act.at_s >= found.from_s]
    instead = "; ".join(f"{clock(it.at_s)} {deed_told(it.deed, it.given)}" for it in done)
    return Part(
        title=f"What if, from {clock(found.from_s)} on …",
        says=(f"Instead: {instead or 'nothing'}.",),
        tables=(
            Table(
                title="", head=("", "it was", "it would have been"), widths=(4, 1.2, 1.2),
                rows=[*critical, *harm, *at_end],
            ),
        ),
        new_page=True,
    )  # fmt: skip


def _summary(scenario: Scenario) -> Part:
    return Part(
        title="4  Summary",
        asks=_ASKS["summary"],
        lines=8,
        new_page=True,
        tables=(
            Table(
                title="To take home",
                head=("point", "source"),
                widths=(3, 1.3),
                rows=[(_plain(it.says), it.source) for it in scenario.teaching],
            ),
            Table(
                title="What was simpler than life",
                rows=[(it,) for it in (*scenario.simplified, *GENERALLY_SIMPLIFIED)],
                note=_OWN,
            ),
        ),
    )


GENERALLY_SIMPLIFIED = (
    "Drugs act plainly, mending takes a fixed time and always succeeds, and a look finds what it looks for.",
    "The animal is a model: the project's evidence tells where it agrees with published studies, where not.",
)
