"""The whole plan of a case: everything that must be set, filled, drawn up and ready, each with its reason."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from lungeline.case import (
    Case,
    Change,
    Finding,
    Profile,
    Reasoned,
    Settings,
    case_to_json,
    gravest_first,
)
from lungeline.errors import UnknownNameError
from lungeline.plan.animal.patient import patient
from lungeline.plan.animal.tubes import Tubes, tubes
from lungeline.plan.animal.weight import Weight
from lungeline.plan.course import Course, course, planned_case
from lungeline.plan.derive import number
from lungeline.plan.drugs.drug_sheet import DrugSheet, drug_sheet
from lungeline.plan.drugs.emergency import EmergencyCard, emergency_card
from lungeline.plan.drugs.infusions import Infusion
from lungeline.plan.drugs.labels import Label, labels
from lungeline.plan.drugs.running import usual_infusions
from lungeline.plan.gas.gas_schedule import GasSchedule, gas_schedule
from lungeline.plan.gas.gas_use import GasUse
from lungeline.plan.gas.priming import Priming, priming
from lungeline.plan.gas.spare import Spare, spare
from lungeline.plan.gas.supplies import Supplies, supplies
from lungeline.plan.gas.vaporiser import HIGHEST_DIAL_PERCENT
from lungeline.plan.limit import limit_findings
from lungeline.plan.model import STEP_S, Model
from lungeline.plan.outlook import Outlook, outlook, pressure_limit
from lungeline.plan.slips import slips
from lungeline.plan.starting import Starting, starting
from lungeline.plan.ventilation import Ventilation, ventilation
from lungeline.plan.waking import Waking, waking
from lungeline.reference import sources, species_status
from lungeline.simulate.herd import simulate_herd

SCHEMA = "lungeline.plan/1"
HERD_ANIMALS = 100
HERD_MIN = 40.0
_DIAL_DIGITS = 1
_LEAST_DIAL_FACTOR, _MOST_DIAL_FACTOR = 0.6, 1.6
_BY_WEIGHT = ("tidal_volume_l", "spare_volume_l", "fresh_gas_flow_l_min")
_SIMULATED = ("expected", "ventilation", "spare.manoeuvres", "course", "weaning")
_HIGHEST_LIMIT_CMH2O = 100.0  # out of the herd's way, so that it shows the pressures it would reach


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A plan. settings: to begin with; changes: what is set later, in the form of a case.

    findings: gravest first. Nothing in a plan changes when a default does: it holds its own numbers.
    """

    case: Case
    profile: Profile
    begun: Starting
    settings: Settings
    reasons: Mapping[str, Reasoned]
    changes: tuple[Change, ...]
    ventilation: Ventilation
    expected: Outlook
    spare: Spare
    gas: GasSchedule
    priming: Priming
    supplies: Supplies
    tubes: Tubes
    weight: Weight
    drugs: DrugSheet
    infusions: tuple[Infusion, ...]
    emergency: EmergencyCard
    labels: tuple[Label, ...]
    course: Course
    weaning: Waking
    findings: tuple[Finding, ...]

    @property
    def green(self) -> bool:
        """Whether nothing in the plan forbids to begin. Never so for a species that was not checked."""
        return not any(finding.severity == "stop" for finding in self.findings)

    @property
    def planned(self) -> Case:
        """The case as planned, ready to simulate."""
        return planned_case(self.case, self.settings, self.changes)

    def numbers(self) -> dict[str, Reasoned]:
        """Return every number of the plan by its name."""
        return {each.name: each for each in self._numbers()}

    def _numbers(self) -> Iterator[Reasoned]:
        yield from self.reasons.values()
        yield from self.begun.reasons.values()
        yield from self.ventilation.numbers.values()
        yield from self.expected.numbers.values()
        yield from (*self.spare.numbers.values(), *self.spare.parts.values())
        yield from (*self.gas.numbers, *self.priming.numbers, *self.supplies.numbers, *self.tubes.numbers)
        yield from (self.weight.weight_kg, *filter(None, (self.weight.tape_weight_kg,)))
        for dose in self.drugs.doses:
            yield from dose.numbers
        for running in self.infusions:
            yield from running.numbers
        for line in self.emergency.lines:
            for each in filter(None, (line.chosen, *line.published)):
                yield from each.numbers
        yield from self.emergency.facts
        yield from (*self.weaning.numbers.values(), *self.weaning.indicators.values())

    def why(self, name: str) -> dict[str, Any]:
        """Return formula, inputs, source and basis of a number. Raises UnknownNameError for another name."""
        known = self.numbers()
        if name not in known:
            raise UnknownNameError.nearest(where="--why", given=name, valid=known)
        return known[name].why()

    def as_json(self) -> dict[str, Any]:
        """Return the plan as one object; only `expected` gives {value, low, high}, all else plain numbers."""
        status = species_status(self.case.animal.species)
        return {
            "schema": SCHEMA,
            "case": case_to_json(self.case),
            "validated": status.validated,
            "validation": status.reason,
            "green": self.green,
            "simulated": list(_SIMULATED),
            "settings": _table(self.settings),
            "rule_of_thumb": {name: each.value for name, each in self.begun.reasons.items()},
            "expected": self.expected.as_json(),
            "ventilation": _plain(self.ventilation.as_json()),
            "spare": _plain(self.spare.as_json()),
            "priming": _plain(self.priming.as_json()),
            "gas": _plain(self.gas.as_json()),
            "supplies": _plain(self.supplies.as_json()),
            "tubes": _plain(self.tubes.as_json()),
            "weight": self.weight.as_json(),
            "drugs": self.drugs.as_json()["doses"],
            "infusions": [each.as_json() for each in self.infusions],
            "emergency": self.emergency.as_json(),
            "labels": [label.as_json() for label in self.labels],
            "weaning": _plain(self.weaning.as_json()),
            "changes": [{"at_min": each.at_min, **each.settings} for each in self.changes],
            "course": [minute.as_json() for minute in self.course.minutes],
            "findings": [finding.as_json() for finding in self.findings],
            "profile": self.profile.as_json(),
            "sources": self.sources(),
        }

    def sources(self) -> dict[str, str]:
        """Return what the plan rests on: every source key with its citation."""
        known = sources()
        keys = dict.fromkeys(key for each in self.numbers().values() for key in each.sources)
        return {key: known[key].citation for key in sorted(keys) if key in known}


def _table(settings: Settings) -> dict[str, Any]:
    return {each.name: getattr(settings, each.name) for each in fields(settings)}


def _plain(told: Any) -> Any:  # noqa: ANN401  any value of JSON
    """Return the value alone where a number stands with its spread."""
    if isinstance(told, dict):
        if told.keys() == {"value", "low", "high"}:
            return told["value"]
        return {key: _plain(each) for key, each in told.items()}
    return [_plain(each) for each in told] if isinstance(told, list) else told


def make_plan(
    case: Case,
    profile: Profile | None = None,
    *,
    animals: int = HERD_ANIMALS,
    seed: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> Plan:
    """Return the plan of a case.

    animals: drawn for the ranges, 1 to 5000; seed: of the draw; progress: called with (done, animals).
    Raises InputError where the case or the profile cannot be used.
    """
    chosen = profile or Profile()
    model = Model(case)
    begun = starting(case, chosen)
    air = ventilation(model, begun, chosen)
    expected = _expected(model, air.settings, animals, seed, progress)
    limit, clipped = pressure_limit(expected, air.settings, chosen)
    settings = air.settings
    if "pressure_limit_cmh2o" not in begun.fixed:
        settings = replace(settings, pressure_limit_cmh2o=number(limit))
    held = spare(model, settings, chosen)
    gas = gas_schedule(case, chosen)
    settings, changes, ran = _conducted(case, begun, settings, held, gas, chosen)
    planned = planned_case(case, settings, changes)
    whom = patient(case.animal, chosen)
    sheet, card = drug_sheet(whom), emergency_card(whom)
    running = usual_infusions(whom, case.procedure.expected_min)
    primed = priming(planned, chosen, held.value("ceiling_l"))
    peak = expected.numbers["peak_pressure_cmh2o"].high
    use = GasUse(schedule=gas_schedule(planned, chosen), priming=primed, peak_pressure_cmh2o=peak)
    stock = supplies(planned, chosen, use)
    sizes = tubes(planned)
    awake = waking(case, chosen, ran)
    reasons = _final_reasons(air, settings, limit, held, gas, begun, whom.weight)
    found = (
        *air.findings, *limit_findings(case, expected, settings, clipped), *held.findings, *primed.findings,
        *stock.findings, *sizes.findings, *whom.weight.findings, *sheet.findings, *card.findings,
        *(finding for each in running for finding in each.findings), *awake.findings, *slips(case, begun),
        *_fixed(begun),
    )  # fmt: skip
    return Plan(
        case=case, profile=chosen, begun=begun, settings=settings, reasons=reasons, changes=changes,
        ventilation=air, expected=expected, spare=held, gas=gas, priming=primed, supplies=stock, tubes=sizes,
        weight=whom.weight, drugs=sheet, infusions=running, emergency=card,
        labels=labels(sheet.doses, running, chosen.language), course=ran, weaning=awake,
        findings=gravest_first(found),
    )  # fmt: skip


def _expected(
    model: Model, settings: Settings, animals: int, seed: int, progress: Callable[[int, int], None] | None
) -> Outlook:
    """Draw the herd with the limit out of its way."""
    unlimited = replace(settings, pressure_limit_cmh2o=_HIGHEST_LIMIT_CMH2O)
    herd = simulate_herd(
        model.with_settings(unlimited), animals, seed, HERD_MIN, dt_s=STEP_S, progress=progress,
        validated=species_status(model.case.animal.species).validated,
    )  # fmt: skip
    return outlook(model.case, herd)


def _conducted(  # noqa: PLR0913, PLR0917  the parts a course is made of
    case: Case, begun: Starting, settings: Settings, held: Spare, gas: GasSchedule, profile: Profile
) -> tuple[Settings, tuple[Change, ...], Course]:
    """Return the settings to begin with, what is set later, and the course; the later dial is moved once.

    The dial that follows from uptake and spill is a first guess: the simulated animal says how deep it leads.
    """
    first, changes = _scheduled(begun, settings, held, gas, profile)
    ran = course(planned_case(case, first, changes), case.procedure.expected_min)
    depth = ran.minutes[-1].breath.mac_multiple if ran.minutes else None
    if not depth or "vaporiser_percent" in begun.fixed:
        return first, changes, ran
    factor = min(max(profile.mac_multiple / depth, _LEAST_DIAL_FACTOR), _MOST_DIAL_FACTOR)
    highest = HIGHEST_DIAL_PERCENT[settings.agent]
    moved = tuple(_with_dial(change, factor, highest) for change in changes)
    return first, moved, course(planned_case(case, first, moved), case.procedure.expected_min)


def _with_dial(change: Change, factor: float, highest_percent: float) -> Change:
    dial = change.settings.get("vaporiser_percent")
    if not isinstance(dial, float):
        return change
    moved = round(min(dial * factor, highest_percent), _DIAL_DIGITS)
    return replace(change, settings={**change.settings, "vaporiser_percent": moved})


def _scheduled(
    begun: Starting, settings: Settings, held: Spare, gas: GasSchedule, profile: Profile
) -> tuple[Settings, tuple[Change, ...]]:
    """Return the settings to begin with and what is set later: flow, dial, and less spare once settled."""
    fixed = begun.fixed
    later: dict[float, dict[str, Any]] = {}
    for phase in gas.changes():
        later.setdefault(phase.pop("at_min"), {}).update(
            {name: round(value, _DIAL_DIGITS) for name, value in phase.items() if name not in fixed}
        )
    if "spare_volume_l" not in fixed:
        later.setdefault(0.0, {})["spare_volume_l"] = held.value("to_begin_l")
        later.setdefault(profile.settled_after_min, {})["spare_volume_l"] = held.value("settled_l")
    settings = replace(settings, **later.pop(0.0, {}))
    changes = tuple(Change(at_min=at_min, settings=each) for at_min, each in sorted(later.items()) if each)
    return settings, changes


def _final_reasons(  # noqa: PLR0913, PLR0917  each part of the plan gives the reason of its own settings
    air: Ventilation,
    settings: Settings,
    limit: Reasoned,
    held: Spare,
    gas: GasSchedule,
    begun: Starting,
    weight: Weight,
) -> dict[str, Reasoned]:
    """Return the reason of every setting in the end; what goes by weight carries the weight's range."""
    first = gas.phases[0]
    later = {
        "pressure_limit_cmh2o": limit,
        "spare_volume_l": held.numbers["to_begin_l"],
        "fresh_gas_flow_l_min": first.fresh_gas_flow_l_min,
        "vaporiser_percent": first.vaporiser_percent,
    }
    reasons = {**air.reasons}
    for name, number_ in later.items():
        if name not in begun.fixed:
            reasons[name] = replace(number_, name=f"settings.{name}", value=getattr(settings, name))
    low_kg, value_kg, high_kg = weight.band_kg
    for name in _BY_WEIGHT:
        if low_kg < high_kg and name not in begun.fixed:
            value = reasons[name].value or 0.0
            reasons[name] = replace(
                reasons[name], low=value * low_kg / value_kg, high=value * high_kg / value_kg
            )
    return reasons


def _fixed(begun: Starting) -> Iterator[Finding]:
    if begun.fixed:
        names = ", ".join(sorted(begun.fixed))
        yield Finding(code="fixed_by_case", severity="note", about="settings", figures={"names": names})
