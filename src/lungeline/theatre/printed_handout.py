"""A scenario put together for print: a page for the learner, and the trainer's own pages apart from it."""

from collections.abc import Iterator
from datetime import datetime

from lungeline.export.pdf.debrief_page import rehearsal_images, rehearsal_pdf
from lungeline.export.pdf.rehearsal_sheets import Part, PartedSheet, RehearsalSheets, Table
from lungeline.rehearse.acting import deed_named
from lungeline.rehearse.debrief import clock
from lungeline.rehearse.quantities import deed_told, label, setting_label, setting_told, told
from lungeline.rehearse.scenario import Critical, Happening, Limit, Scenario, Step, Wanted
from lungeline.simulate.faults import FAULTS
from lungeline.simulate.instruments import usual_instruments
from lungeline.theatre.cases import SIMULATED
from lungeline.theatre.printed_debrief import GENERALLY_SIMPLIFIED, animal_of

_SECONDS_PER_MINUTE = 60.0
_LEARNER, _TRAINER = "FOR THE LEARNER", "FOR THE TRAINER ONLY \N{EN DASH} do not hand this page out"
_SHOWN_SETTINGS = (
    "mode", "tidal_volume_l", "inspiratory_pressure_cmh2o", "respiratory_rate_per_min", "inspiratory_time_s",
    "peep_cmh2o", "pressure_limit_cmh2o", "fresh_gas_flow_l_min", "fresh_gas_oxygen_fraction", "agent",
    "vaporiser_percent",
)  # fmt: skip
_ONLY_IN = {"tidal_volume_l": {"volume", "assisted"}, "inspiratory_pressure_cmh2o": {"pressure"}}
_NEEDED = (
    "A room where nobody is disturbed, and a screen that shows the instruments above.",
    "Somebody who leads, with the trainer's pages, and perhaps somebody who watches how the team works.",
    "The clinic's own crisis cards, within reach: using them is part of it.",
    "Something to write on. Half as long again as the scenario lasts, for talking about it afterwards.",
)
_RULES = (
    "This is to learn, not to be examined. What happens here stays in this room.",
    "Do what you would do. Say what you look at and why. Ask for help as you would.",
)


def print_handout(scenario: Scenario, *, paper: str = "a4", printed_at: datetime | None = None) -> bytes:
    """Return a scenario for print: the learner's page, then the trainer's pages."""
    return rehearsal_pdf(handout_sheets(scenario), paper=paper, printed_at=printed_at)


def handout_images(scenario: Scenario) -> list[bytes]:
    """Return each page of a handout as PNG, to look at."""
    return rehearsal_images(handout_sheets(scenario))


def handout_sheets(scenario: Scenario) -> RehearsalSheets:
    """Return all words of a handout."""
    return RehearsalSheets(
        title=f"Scenario {scenario.number}",  # at the foot of the learner's page too
        animal=animal_of(scenario),
        mark=SIMULATED,
        sheets=(_learners(scenario), _trainers(scenario)),
    )


def _learners(scenario: Scenario) -> PartedSheet:
    return PartedSheet(
        title="Handout",
        name=f"Scenario {scenario.number}",  # a title may give the cause away
        for_whom=_LEARNER,
        facts=(f"about {scenario.minutes:g} min",),
        parts=(
            Part(title="What it is about", says=(scenario.objective,)),
            Part(title="The story", says=(" ".join(scenario.story.split()),)),
            Part(
                title="How things stand when you take over",
                tables=(
                    Table(title="", rows=list(animal_rows(scenario)), widths=(1, 3)),
                    Table(title="Set on the machine", rows=[("; ".join(settings_rows(scenario)),)]),
                    Table(title="What you will see", rows=[(", ".join(instruments_shown(scenario)),)]),
                ),
            ),
            Part(title="What is needed", says=tuple(f"•  {it}" for it in _NEEDED)),
            Part(title="How we go about it", says=_RULES),
        ),
    )


def animal_rows(scenario: Scenario) -> Iterator[tuple[str, str]]:
    """Yield what is known of the animal."""
    animal = scenario.case.animal
    yield "animal", f"{animal.species}, {told('weight_kg', animal.weight_kg)}"
    yield "lies", f"{animal.position}{', head up' if animal.head_up_deg > 0 else ''}"
    if animal.condition != "healthy":
        yield "condition", animal.condition
    if animal.age_years is not None:
        yield "age", told("age_years", animal.age_years)


def settings_rows(scenario: Scenario) -> Iterator[str]:
    """Yield what is set on the machine at the beginning."""
    settings = scenario.case.settings
    if not settings.ventilator_on:
        yield "the ventilator is off"
    for key in _SHOWN_SETTINGS:
        if settings.mode in _ONLY_IN.get(key, {settings.mode}):
            yield setting_told(key, getattr(settings, key))


def instruments_shown(scenario: Scenario) -> list[str]:
    """Return what the learner's instruments show, each quantity once."""
    hidden = set(scenario.hidden_instruments)
    return list(dict.fromkeys(label(it.key) for it in usual_instruments() if it.key not in hidden))


# -- the trainer's pages -----------------------------------------------------------------------------------


def _trainers(scenario: Scenario) -> PartedSheet:
    return PartedSheet(
        title="Trainer's sheet",
        name=f"Scenario {scenario.number}: {scenario.title}",
        for_whom=_TRAINER,
        facts=(scenario.objective, f"{scenario.minutes:g} min", f"trains: {', '.join(scenario.skills)}"),
        parts=(
            Part(title="What happens", tables=(events_table(scenario),)),
            Part(title="What must be done", tables=(_criticals(scenario),)),
            Part(title="An answer that works", tables=(_script("", scenario.model_answer),)),
            Part(
                title="What tempts, and why it is wrong",
                tables=tuple(_script(it.why, it.script) for it in scenario.wrong),
                says=tuple(it.why for it in scenario.wrong if not it.script),
            ),
            Part(
                title="To take home",
                tables=(
                    Table(
                        title="",
                        head=("point", "source"),
                        widths=(3, 1.3),
                        rows=[(" ".join(it.says.split()), it.source) for it in scenario.teaching],
                    ),
                    Table(
                        title="What is simpler than life",
                        rows=[(it,) for it in (*scenario.simplified, *GENERALLY_SIMPLIFIED)],
                    ),
                ),
            ),
        ),
    )


def events_table(scenario: Scenario, note: str = "") -> Table:
    """Return what is wrong from the start, and what happens, as a table."""
    begins = [
        (
            "from the start",
            f"{FAULTS[it.code].title}, severity {told('severity_fraction', it.severity_fraction)}",
            "",
        )
        for it in scenario.case.faults
    ]
    rows = [*begins, *((when_told(it), what_told(it), it.say) for it in scenario.happenings)]
    return Table(
        title="",
        head=("when", "what, unseen", "what the learner is told"),
        widths=(1.4, 2.2, 3),
        rows=rows or [("", "nothing by itself", "")],
        note=note,
    )


def when_told(it: Happening) -> str:
    """Return when something happens, in words."""
    if it.after_deed is not None:
        deed = deed_named(it.after_deed).label.lower()
        return f"{clock(it.delay_s)} after: {deed}" if it.delay_s else f"after: {deed}"
    if it.when is not None:
        return f"once {_limit(it.when)}"
    return clock((it.at_min or 0.0) * _SECONDS_PER_MINUTE)


def what_told(it: Happening) -> str:
    """Return what happens, in words."""
    parts = [setting_told(key, value) for key, value in it.set.items()]
    if it.fault:
        over = f" over {it.over_min:g} min" if it.over_min else ""
        ends = it.severity <= 0.0
        grave = "" if ends else f", severity {told('severity_fraction', it.severity)}"
        parts.insert(0, f"{FAULTS[it.fault].title}{' ends' if ends else grave}{over}")
    return "; ".join(parts)


def _limit(limit: Limit) -> str:
    ends = [("above", limit.above), ("below", limit.below)]
    return f"{label(limit.key)} is " + " and ".join(
        f"{w} {told(limit.key, v)}" for w, v in ends if v is not None
    )


def _criticals(scenario: Scenario) -> Table:
    return Table(
        title="",
        head=("what", "counts", "within"),
        widths=(3, 3, 0.8),
        rows=[
            (it.says, _counts(it), "" if it.within_s is None else clock(it.within_s))
            for it in scenario.critical
        ],
        note="Times count from what happened, or from when the learner took over.",
    )


def _counts(it: Critical) -> str:
    if it.holds is not None:
        return f"{_limit(it.holds)}, {'at the end' if it.at_end else 'breath by breath'}"
    if it.never:
        before = f" before {' or '.join(map(_wanted, it.before))}" if it.before else ""
        return f"never {' or '.join(map(_wanted, it.never))}{before}"
    return " or ".join(map(_wanted, it.any_of))


def _wanted(one: Wanted) -> str:
    if one.key is None:
        return deed_named(one.deed).label.lower()
    ends = [("at least", one.at_least), ("at most", one.at_most)]
    bounds = " and ".join(f"{word} {told(one.key, value)}" for word, value in ends if value is not None)
    value = one.value.replace("_", " ") if one.value is not None else bounds
    return f"{setting_label(one.key)} {value}".strip()


def _script(title: str, steps: tuple[Step, ...]) -> Table:
    rows = [(clock(step.at_s), deed_told(step.deed, step.with_)) for step in steps]
    return Table(title=title, rows=rows, widths=(1, 9))
