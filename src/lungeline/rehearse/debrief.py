"""What to talk about afterwards, in the order of PEARLS (Eppich and Cheng 2015, from memory)."""

from collections.abc import Iterator

from lungeline.rehearse.acting import deed_named
from lungeline.rehearse.outcome import CriticalMet, Outcome
from lungeline.rehearse.scenario import Scenario

_PROMPTS = {
    "Reactions": "How was it? What is on your mind first?",
    "Description": "Tell in two sentences what the animal had, and what you saw of it.",
    "Analysis": "Which sign came first, which did you act on, and what would have told the causes apart?",
    "Summary": "What do you take home, and what will you do the same way next time?",
}
_SECONDS_PER_MINUTE = 60.0


def debrief_lines(scenario: Scenario, outcome: Outcome) -> list[str]:
    """Return the debrief as text."""
    lines = [f"{scenario.title}: {'passed' if outcome.passed else 'not passed'}", ""]
    lines += ["What had to be done:", *(_critical(each) for each in outcome.critical_actions), ""]
    lines += [*_times(outcome), ""]
    lines += ["What the animal went through:", *_harm(outcome), ""]
    lines += ["What was done:", *_acts(outcome), ""]
    if outcome.wrong_turns:
        lines += [f"Turns that were not called for: {len(outcome.wrong_turns)}", ""]
    lines += [f"{name}: {prompt}" for name, prompt in _PROMPTS.items()]
    lines += ["", *(f"To take home: {point.says} ({point.source})" for point in scenario.teaching)]
    lines += [f"Simplified: {each}" for each in scenario.simplified]
    return lines


def clock(at_s: float) -> str:
    """Return a time as minutes and seconds.

    >>> clock(75.2)
    '1:15'
    """
    minutes, seconds = divmod(int(at_s), int(_SECONDS_PER_MINUTE))
    return f"{minutes}:{seconds:02}"


def _critical(each: CriticalMet) -> str:
    when = "" if each.at_s is None else f" at {clock(each.at_s)}"
    return f"  {'yes' if each.met else 'NO '}  {each.says} ({each.how}{when})"


def _times(outcome: Outcome) -> Iterator[str]:
    names = {"notice_s": "looked", "name_s": "named", "treat_s": "treated", "resolve_s": "over"}
    told = [
        f"{word} after {clock(value)}"
        for name, word in names.items()
        if (value := getattr(outcome.times, name)) is not None
    ]
    if outcome.times.trouble_s is not None:
        yield f"From the trouble at {clock(outcome.times.trouble_s)}: {', '.join(told) or 'nothing of it'}."


def _harm(outcome: Outcome) -> Iterator[str]:
    harm = outcome.harm
    yield f"  arterial oxygen below 60 mmHg: {harm.hypoxaemia_minutes:.1f} min"
    yield f"  mean arterial pressure below 70 mmHg: {harm.hypotension_minutes:.1f} min"
    yield f"  inspired oxygen below what was set: {harm.low_oxygen_minutes:.1f} min"
    yield f"  room air drawn in: {harm.room_air_l:.1f} L"
    yield f"  pressure above 40 cmH2O: {harm.pressure_cmh2o_min:.1f} cmH2O·min"


def _acts(outcome: Outcome) -> Iterator[str]:
    for act in outcome.acts:
        given = ", ".join(f"{key} {value}" for key, value in act.given.items())
        shown = f" – {act.shown}" if act.shown else ""
        yield f"  {clock(act.at_s):>5}  {deed_named(act.deed).label}{f' ({given})' if given else ''}{shown}"
