"""A plan as text: what stops, what to set, what to expect, what must be ready, and what to watch."""

from collections.abc import Iterable, Iterator
from typing import Any

from lungeline.case import Finding, Reasoned, Settings
from lungeline.case.fields import described
from lungeline.cli.table import matters, with_unit
from lungeline.plan import Plan
from lungeline.plan.drugs.doses import AnimalDose
from lungeline.reference import species_status
from lungeline.words import number_text, say

_MARKS = {"stop": "STOP", "caution": "CAUTION", "advice": "advice", "note": "note"}
_UNKNOWN = "–"
_SHOWN_MINUTES = {1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0, 120.0, 180.0}
_EXPECTED = (
    ("peak_pressure_cmh2o", "peak pressure"),
    ("plateau_pressure_cmh2o", "plateau pressure"),
    ("etco2_mmhg", "EtCO2"),
    ("paco2_mmhg", "PaCO2"),
    ("pao2_mmhg", "PaO2"),
    ("spo2_fraction", "SpO2"),
    ("compliance_l_cmh2o", "compliance"),
    ("cardiac_output_l_min", "cardiac output"),
    ("map_mmhg", "mean arterial pressure"),
    ("end_tidal_agent_fraction", "end-tidal agent"),
)
_SPARE = (
    ("needed_l", "needed at connection"),
    ("rule_of_thumb_l", "rule of thumb (no source)"),
    ("to_begin_l", "hold to begin with"),
    ("ceiling_l", "so fill the reservoir to"),
    ("lower_at_min", "lower it after"),
    ("settled_l", "then hold"),
    ("settled_ceiling_l", "so set the ceiling to"),
    ("to_empty_minutes", "lasts, fresh gas stopped"),
)
_PRIMING = (
    ("flow_l_min", "oxygen flow, port plugged"),
    ("fill_minutes", "full after"),
    ("oxygen_minutes", "oxygen reached after"),
    ("minutes", "ready after"),
    ("litres_l", "oxygen used"),
    ("keeps_plugged_minutes", "keeps, plugged"),
)
_SUPPLIES = (
    ("oxygen_minutes", "oxygen lasts, connected"),
    ("oxygen_all_minutes", "oxygen lasts, all at hand"),
    ("oxygen_needed_l", "oxygen for the case"),
    ("agent_liquid_ml", "liquid agent for the case"),
    ("absorbent_hours", "absorbent lasts"),
    ("co2_equivalent_kg", "CO2 equivalent (100 years)"),
)
_WEANING = (
    ("breathes_after_stop_minutes", "breathes after the ventilator stops"),
    ("paco2_at_first_breath_mmhg", "PaCO2 at that breath"),
    ("breathes_at_half_rate_minutes", "breathes at half the rate"),
    ("off_circuit_limit_minutes", "longest off the circle (clinic)"),
)


def plan_lines(plan: Plan) -> list[str]:
    """Return the plan as lines; what a person must read first stands first."""
    return [
        *_heading(plan),
        "",
        *_finding_lines(plan),
        "",
        "Set, beside the rule of thumb",
        *_settings_lines(plan),
        "",
        "Expect (10 to 90 % of animals like this), SIMULATED",
        *_rows((label, plan.expected.numbers.get(key)) for key, label in _EXPECTED),
        "",
        "PEEP: what each would do, SIMULATED",
        *_peep_lines(plan),
        "",
        "Spare gas, beyond one tidal volume",
        *_rows((label, plan.spare.numbers[key]) for key, label in _SPARE),
        *[f"  {each}" for each in _manoeuvres(plan)],
        "",
        "Priming",
        *_by_last_name(plan.priming.numbers, _PRIMING),
        "",
        "Gas in and out, litres in that minute, SIMULATED",
        *_minute_lines(plan),
        "",
        "Later",
        *[f"  after {each.at_min:g} min: {_changes(each.settings)}" for each in plan.changes],
        "",
        "Supplies",
        *_by_last_name(plan.supplies.numbers, _SUPPLIES),
        "",
        "Tubes",
        *[f"  {each}" for each in _tube_lines(plan)],
        "",
        f"Drugs for {number_text('weight_kg', plan.case.animal.weight_kg)} (confirm each before use)",
        *_dose_lines(plan.drugs.doses),
        "",
        "Getting awake, SIMULATED",
        *_rows((label, plan.weaning.numbers[key]) for key, label in _WEANING),
        "",
        *_cautions(plan),
    ]


def why_lines(plan: Plan, why: dict[str, Any]) -> list[str]:
    """Return where one number comes from."""
    known = plan.sources()
    lines = [f"{why['name']} = {_value(why['name'], why['value'])}{_band(why)}", f"  {why['formula']}"]
    lines += [f"    {name} = {_value(name, value)}" for name, value in why["inputs"].items()]
    lines.append(f"  basis: {why['basis']}")
    lines += [f"  source: {key}{f' – {known[key]}' if key in known else ''}" for key in why["sources"]]
    return [*lines, *([f"  note: {why['note']}"] if why["note"] else [])]


def _heading(plan: Plan) -> Iterator[str]:
    animal, case = plan.case.animal, plan.case
    title = f" – {case.title}" if case.title else ""
    yield f"PLAN{title}"
    who = f"{animal.species}, {animal.weight_kg:.4g} kg, {animal.position}, {animal.condition}"
    yield f"{who}; {case.procedure.kind}"
    yield f"By profile: {plan.profile.name}{'' if plan.profile.signed else ' (nobody has signed it)'}"
    yield "Nothing here forbids to begin." if plan.green else "DO NOT BEGIN before every STOP is settled."


def _finding_lines(plan: Plan) -> Iterator[str]:
    """Give findings once each; what concerns drugs alone is counted, the sheet has it beside each dose."""
    shown, drugs = 0, 0
    for finding in plan.findings:
        if finding.severity in {"advice", "note"} and _of_drugs(finding):
            drugs += 1
            continue
        if finding.severity == "caution" and _of_drugs(finding):
            drugs += 1
            continue
        said = say(finding, plan.profile.language)
        yield f"{_MARKS[finding.severity]:<8} {said.says}"
        yield f"{'':<8} -> {said.do}"
        shown += 1
    if drugs:
        yield f"{'':<8} {drugs} remarks on doses: with --json, and on the printed sheet beside each dose."


def _of_drugs(finding: Finding) -> bool:
    return finding.about.startswith(("drugs", "infusions", "emergency", "profile.doses"))


def _settings_lines(plan: Plan) -> Iterator[str]:
    rules = plan.begun.reasons
    for doc in described(Settings).values():
        if not matters(doc.name, plan.settings):
            continue
        value = getattr(plan.settings, doc.name)
        rule = rules[doc.name].value if doc.name in rules else None
        beside = "" if rule is None else f"rule {with_unit(doc, rule)}"
        kept = "  as the case asks" if doc.name in plan.begun.fixed else ""
        yield f"  {doc.label:<28}{with_unit(doc, value):<16}{beside}{kept}".rstrip()
    numbers = plan.ventilation.numbers
    trigger, backup, cpap = (
        plan.reasons["trigger_flow_l_min"],
        plan.reasons["apnoea_backup_s"],
        numbers["cpap_cmh2o"],
    )
    if plan.settings.mode != "assisted":
        after = _value(backup.name, backup.value)
        told = f"trigger {_value(trigger.name, trigger.value)}, a breath after {after}"
        yield f"  {'should breaths be assisted':<28}{told}"
    told = f"CPAP {_value(cpap.name, cpap.value)}: it stays as PEEP when control starts, until taken off"
    yield f"  {'breathing for itself':<28}{told}"
    ratio = numbers["inspiratory_expiratory_ratio"].value
    if ratio:
        flow = numbers["mean_inspiratory_flow_l_s"]
        yield f"  {'I:E':<28}1:{1.0 / ratio:.1f}"
        yield f"  {'mean inspiratory flow':<28}{_value(flow.name, flow.value)}"


def _rows(rows: Iterable[tuple[str, Reasoned | None]]) -> Iterator[str]:
    for label, number in rows:
        if number is not None:
            band = _band(number.as_json(), number.name)
            yield f"  {label:<38}{_value(number.name, number.value):<16}{band}".rstrip()


def _by_last_name(numbers: Iterable[Reasoned], wanted: tuple[tuple[str, str], ...]) -> Iterator[str]:
    known = {number.name.rpartition(".")[2]: number for number in numbers}
    return _rows((label, known.get(key)) for key, label in wanted)


def _value(name: str, value: float | str | None) -> str:
    if value is None:
        return _UNKNOWN
    return value if isinstance(value, str) else number_text(name, value)


def _band(told: dict[str, Any], name: str = "") -> str:
    if told["low"] is None or told["high"] is None or told["low"] == told["high"]:
        return ""
    key = name or told["name"]
    return f"({number_text(key, told['low'])} to {number_text(key, told['high'])})"


def _peep_lines(plan: Plan) -> Iterator[str]:
    yield f"  {'PEEP':>5} {'peak':>6} {'PaO2':>6} {'output':>8} {'MAP':>5} {'O2 delivered':>14}"
    for step in plan.ventilation.peep_steps:
        mark = " <- most oxygen" if step.peep_cmh2o == plan.ventilation.best_peep_cmh2o else ""
        yield (
            f"  {step.peep_cmh2o:>5g} {step.peak_pressure_cmh2o:>6.0f} {step.pao2_mmhg:>6.0f}"
            f" {step.cardiac_output_l_min:>8.1f} {step.map_mmhg:>5.0f}"
            f" {step.oxygen_delivery_l_min:>14.2f}{mark}"
        )


def _minute_lines(plan: Plan) -> Iterator[str]:
    """Give some minutes of the course: what comes, what goes where, and what the reservoir holds at least."""
    heads = ("min", "fresh", "used", "leak", "sample", "spilled", "room air", "reservoir", "MAC")
    yield "  " + "".join(f"{head:>10}" for head in heads)
    for minute in plan.course.minutes:
        if minute.at_min not in _SHOWN_MINUTES:
            continue
        shown = (
            minute.fresh_gas_l, minute.oxygen_used_l, minute.leaked_l, minute.sampled_l, minute.spilled_l,
            minute.room_air_l, minute.lowest_reservoir_l, minute.breath.mac_multiple or 0.0,
        )  # fmt: skip
        yield "  " + f"{minute.at_min:>10g}" + "".join(f"{max(each, 0.0):>10.2f}" for each in shown)


def _manoeuvres(plan: Plan) -> Iterator[str]:
    for need in plan.spare.manoeuvres:
        enough = "there" if need.short_l <= 0.0 else f"{number_text('short_l', need.short_l)} short"
        yield f"{need.name:<38}takes {number_text('needed_l', need.needed_l)}: {enough}"


def _changes(settings: Any) -> str:  # noqa: ANN401  the settings of a change, of any kind
    docs = described(Settings)
    return ", ".join(f"{docs[name].label} {with_unit(docs[name], value)}" for name, value in settings.items())


def _tube_lines(plan: Plan) -> Iterator[str]:
    for option in plan.tubes.options:
        told = {number.name.rpartition(".")[2]: number for number in option.numbers}
        parts = (f"{_value(each.name, each.value)}" for each in told.values())
        yield ", ".join(parts) + ("" if option.fits else "  (outside the usual)")


def _dose_lines(doses: Iterable[AnimalDose]) -> Iterator[str]:
    for dose in doses:
        per_kg, total, volume = (
            _value(each.name, each.value) for each in (dose.dose, dose.total_mg, dose.volume_ml)
        )
        yield f"  {dose.name.replace('_', ' '):<38}{per_kg:<14}{total:<12}{volume:<10}{dose.status}"


def _cautions(plan: Plan) -> Iterator[str]:
    status = species_status(plan.case.animal.species)
    yield "Cautions"
    yield f"  - {status.reason}"
    yield "  - Decision support, not a medical device: it controls nothing."
    yield "  - The attending veterinarian decides."
    yield "  - Local codes and licensed practice come first."
    yield "  - Oxygen feeds fire; scavenge waste gas."
