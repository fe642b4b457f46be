"""The guide to bench mode for print: what to set up, what to read off and type in, what is then played."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from lungeline.case import Profile
from lungeline.case.fields import described
from lungeline.check.register import Item
from lungeline.export.pdf.debrief_page import rehearsal_images, rehearsal_pdf
from lungeline.export.pdf.rehearsal_sheets import Part, PartedSheet, RehearsalSheets, Table
from lungeline.rehearse.bench_readings import NEEDED, WHERE, BenchReadings
from lungeline.rehearse.quantities import told, value_told
from lungeline.rehearse.scenario import Scenario
from lungeline.theatre.cases import SIMULATED
from lungeline.theatre.printed_debrief import GENERALLY_SIMPLIFIED, animal_of
from lungeline.theatre.printed_handout import events_table, instruments_shown, settings_rows

_TRAINER = "FOR THE TRAINER ONLY \N{EN DASH} the learner sees the machine and the screen"
_SORTS = ("ventilator", "circle", "vaporiser", "tube", "monitor")
# a paragraph a line
_SET_UP = """
Take {machine} only while no patient needs it, and none will before it has been checked again. \
No animal is ever connected.
Put a rubber lung on the end of the tube at the Y: a large bag or two in a net do. It must take a whole \
breath of this animal, about {volume}, without reaching 40 cmH2O.
Leave {vaporiser} off and empty. Give the least oxygen that keeps the reservoir filled; scavenge. \
No flame, no grease.
Set the pressure limit of the machine to what the lung bears, at most {cap}.
Put the screen where the learner sees it in place of the monitor. Cover the machine's own gauge and volume \
scale for the learner: they tell of the rubber lung, the screen tells of the animal.
Do not connect gas analyser, oximeter or arterial line: the screen stands for them.
Sit where you see the gauge and the scale, and the learner does not see your screen.
"""
_WHEN = """
Type all readings once before the beginning, then each that changes, as soon as it changes: whatever the \
learner turns, you read off and type. A reading that is not typed anew stays as it was.
Say with each change whether the learner made it: only then it counts as something done.
If the program refuses a reading, read it again: it says what does not go together.
"""
_PLAYED = """
A machine that holds the volume gives the animal the same volume, and the animal's own lungs make the \
pressure that the screen shows. A machine that holds the pressure gives the animal the same pressure, and \
the screen shows the volume its lungs take.
Where somebody in the story turns the machine, the program says what you must set on the real one.
What the learner does by hand (a hose put back, a look, a drug, the bag squeezed) you enter as a deed.
"""
_ON_THE_BENCH = (
    "None of it happens to the rubber lung: a hose that slips off in the story stays on here, unless you "
    "take it off too."
)
_AFTER = """
Take the rubber lung off, put covers, hoses and limits back, and turn the gases off.
Check the machine as before any patient, leak test included, and enter it in its log.
"""


def print_bench_guide(
    scenario: Scenario,
    *,
    profile: Profile | None = None,
    machines: Sequence[Item] = (),
    paper: str = "a4",
    printed_at: datetime | None = None,
) -> bytes:
    """Return the guide to a scenario on the bench as PDF.

    profile, machines: the clinic's own choices and parts, called as the clinic calls them.
    """
    sheets = bench_sheets(scenario, profile or Profile(), machines)
    return rehearsal_pdf(sheets, paper=paper, printed_at=printed_at)


def bench_images(scenario: Scenario, profile: Profile, machines: Sequence[Item] = ()) -> list[bytes]:
    """Return each page of the guide as PNG, to look at."""
    return rehearsal_images(bench_sheets(scenario, profile, machines))


def bench_sheets(scenario: Scenario, profile: Profile, machines: Sequence[Item]) -> RehearsalSheets:
    """Return all words of the guide."""
    begins = Table(
        title="",
        head=("as the story begins", "set here, if other"),
        widths=(3, 2),
        rows=[(each, "") for each in settings_rows(scenario)],
    )
    set_up = _set_up(scenario, profile, machines)
    happens = events_table(scenario, _ON_THE_BENCH)
    sheet = PartedSheet(
        title="Bench guide",
        name=f"On the bench: {scenario.title}",
        for_whom=_TRAINER,
        facts=tuple(_facts(scenario, profile)),
        parts=(
            Part(title="1  Set up", says=_numbered(set_up), tables=(_parts(machines),)),
            Part(title="2  Set the machine", tables=(begins,)),
            Part(
                title="3  Read off and type in",
                says=_lines(_WHEN),
                tables=(_readings(scenario),),
                new_page=True,
            ),
            Part(
                title="4  What the program then plays",
                says=_lines(_PLAYED),
                tables=(happens, _seen(scenario)),
            ),
            Part(title="5  Afterwards", says=_numbered(_AFTER), tables=(_simplified(scenario),)),
        ),
    )
    return RehearsalSheets(title=scenario.title, animal=animal_of(scenario), mark=SIMULATED, sheets=(sheet,))


def _facts(scenario: Scenario, profile: Profile) -> Iterator[str]:
    yield f"scenario {scenario.number}, {scenario.minutes:g} min"
    yield profile.name if profile.signed else "no signed profile of the clinic"


def _lines(text: str) -> tuple[str, ...]:
    return tuple(text.strip().splitlines())


def _numbered(text: str) -> tuple[str, ...]:
    return tuple(f"{number}.  {line}" for number, line in enumerate(_lines(text), start=1))


def _set_up(scenario: Scenario, profile: Profile, machines: Sequence[Item]) -> str:
    words = {
        "machine": _named(machines, "ventilator", "the ventilator"),
        "vaporiser": _named(machines, "vaporiser", "the vaporiser"),
        "volume": told("tidal_volume_l", scenario.case.settings.tidal_volume_l),
        "cap": told("cmh2o", profile.pressure_limit_cap_cmh2o),
    }
    return _SET_UP.format(**words)


def _named(machines: Sequence[Item], sort: str, otherwise: str) -> str:
    """Return what the clinic calls its only machine of a sort; of several, one is to be chosen."""
    names = [it.name for it in machines if it.sort == sort]
    return names[0] if len(names) == 1 else f"one of {', '.join(names)}" if names else otherwise


def _parts(machines: Sequence[Item]) -> Table:
    rows = [(it.sort, it.name, "") for sort in _SORTS for it in machines if it.sort == sort]
    return Table(
        title="The clinic's own parts", head=("what", "called", "taken"), widths=(1, 4, 1), rows=rows
    )


def _readings(scenario: Scenario) -> Table:
    docs, settings = described(BenchReadings), scenario.case.settings
    rows = []
    for key, where in WHERE.items():
        begins = value_told(key, getattr(settings, key)) if hasattr(settings, key) else ""
        needed = "needed" if key in NEEDED else ""
        unit = "%" if key.endswith("_fraction") else docs[key].unit_text.strip()
        rows.append((docs[key].label, unit, where, begins, needed, ""))
    return Table(
        title="",
        head=("reading", "unit", "where to read it", "as the story begins", "", "read here"),
        widths=(1.6, 0.8, 3.2, 1.4, 0.7, 1.2),
        rows=rows,
    )


def _seen(scenario: Scenario) -> Table:
    return Table(title="What the screen shows", rows=[(", ".join(instruments_shown(scenario)),)])


def _simplified(scenario: Scenario) -> Table:
    rows = [
        (it,)
        for it in (
            *scenario.simplified,
            *GENERALLY_SIMPLIFIED,
            "The animal follows what is typed, some seconds late; the real machine does not feel the animal.",
        )
    ]
    return Table(title="What is simpler than life", rows=rows)
