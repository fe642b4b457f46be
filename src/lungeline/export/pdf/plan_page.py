"""The plan on one page: findings first, then what to set, expect, fill and have ready."""

from collections.abc import Iterable, Iterator
from typing import Any

from lungeline.case import Reasoned, Settings
from lungeline.case.fields import described
from lungeline.export.pdf.heading import plan_heading
from lungeline.export.pdf.number_print import UNKNOWN, amount, band, of, text
from lungeline.export.pdf.told_findings import plan_findings
from lungeline.plan import Plan

Row = dict[str, Any]
Section = dict[str, Any]

# In the order of the hands: what is turned first stands first.
_SET = (
    "mode", "tidal_volume_l", "respiratory_rate_per_min", "inspiratory_time_s", "pause_s",
    "inspiratory_pressure_cmh2o", "pressure_limit_cmh2o", "peep_cmh2o", "trigger_flow_l_min",
    "apnoea_backup_s", "fresh_gas_flow_l_min", "fresh_gas_oxygen_fraction", "agent", "vaporiser_percent",
    "spare_volume_l",
)  # fmt: skip
_ONLY_IN = {
    "inspiratory_pressure_cmh2o": {"pressure"},
    "trigger_flow_l_min": {"assisted"},
    "apnoea_backup_s": {"assisted", "spontaneous"},
}
_EXPECTED = (
    ("peak_pressure_cmh2o", "peak pressure"),
    ("plateau_pressure_cmh2o", "plateau pressure"),
    ("compliance_l_cmh2o", "compliance"),
    ("etco2_mmhg", "EtCO2"),
    ("paco2_mmhg", "PaCO2"),
    ("pao2_mmhg", "PaO2"),
    ("spo2_fraction", "SpO2"),
    ("end_tidal_agent_fraction", "end-tidal agent"),
    ("mac_multiple", "depth, multiple of MAC"),
    ("map_mmhg", "mean arterial pressure"),
    ("heart_rate_per_min", "heart rate"),
    ("cardiac_output_l_min", "cardiac output"),
)
_SPARE = (
    ("needed_l", "needed at connection"),
    ("to_begin_l", "hold to begin with"),
    ("ceiling_l", "so fill the reservoir to"),
    ("lower_at_min", "lower it after"),
    ("settled_l", "then hold"),
    ("settled_ceiling_l", "so set the ceiling to"),
    ("to_empty_minutes", "lasts, fresh gas stopped"),
)
_PRIMING = (
    ("flow_l_min", "oxygen flow, port plugged"),
    ("vaporiser_percent", "vaporiser"),
    ("fill_minutes", "full after"),
    ("minutes", "ready after"),
    ("litres_l", "oxygen used"),
    ("keeps_plugged_minutes", "keeps, plugged"),
)
_SUPPLIES = (
    ("oxygen_needed_l", "oxygen for the case"),
    ("oxygen_minutes", "lasts, connected"),
    ("oxygen_all_minutes", "lasts, all at hand"),
    ("agent_liquid_ml", "liquid agent"),
    ("absorbent_hours", "absorbent lasts"),
)
_SIMULATED = " \N{EN DASH} SIMULATED"
_LEFT_OUT = "No room for priming, tubes and supplies among so many STOPs: see --json."
_WAKING = (
    ("off_circuit_limit_minutes", "LONGEST OFF THE CIRCLE"),
    ("breathes_after_stop_minutes", "breathes, ventilator stopped"),
    ("paco2_at_first_breath_mmhg", "PaCO2 at that breath"),
    ("breathes_at_half_rate_minutes", "breathes, at half the rate"),
)


def plan_page(plan: Plan) -> dict[str, Any]:
    """Return the content of the plan's page."""
    foreseen, stock = plan.expected.numbers, _by_last(plan.supplies.numbers)
    return {
        "kind": "plan",
        "name": "Plan",
        "heading": plan_heading(plan),
        "findings": plan_findings(plan),
        "left_out": _LEFT_OUT,
        "more_words": ["and", "more: see --json"],
        "left": [
            _section("Set", _settings(plan), beside="rule of thumb"),
            _section("Later", _later(plan)),
            _section("Prime", _chosen(_PRIMING, _by_last(plan.priming.numbers)), beside="range", may_go=True),
            _section("Tubes", _tubes(plan), beside="at mean inspiratory flow", may_go=True),
        ],
        "right": [
            _section(
                f"Expect{_SIMULATED}", _chosen(_foreseen(plan), foreseen), beside="10 to 90 % of animals"
            ),
            _section("Spare gas, beyond one breath", _spare(plan)),
            _section("Supplies", _chosen(_SUPPLIES, stock), beside="range", may_go=True),
            _section(f"Getting awake{_SIMULATED}", _chosen(_WAKING, plan.weaning.numbers)),
        ],
        "peep": _peep(plan),
    }


def _section(title: str, rows: Iterable[Row], *, beside: str = "", may_go: bool = False) -> Section:
    """Return a section; may_go: whether it gives way when there is no room for every STOP."""
    return {"title": title, "beside": beside, "rows": list(rows), "may_go": may_go}


def _settings(plan: Plan) -> Iterator[Row]:
    docs, rules = described(Settings), plan.begun.reasons
    for name in _SET:
        if plan.settings.mode not in _ONLY_IN.get(name, {plan.settings.mode}):
            continue
        value = getattr(plan.settings, name)
        rule = rules.get(name)
        beside = "" if rule is None else text(name, rule.value)
        kept = "as the case asks" if name in plan.begun.fixed else beside
        yield _row(docs[name].label, amount(name, value), kept)
    told = plan.ventilation.numbers
    ratio, flow = told["inspiratory_expiratory_ratio"].value, told["mean_inspiratory_flow_l_s"]
    if ratio:
        yield _row("I:E", {"value": f"1:{round(1.0 / ratio, 1):g}", "unit": ""})
    yield _row("mean inspiratory flow", of(flow))


def _later(plan: Plan) -> Iterator[Row]:
    docs = described(Settings)
    for change in plan.changes:
        when = f"after {text('at_min', change.at_min)}"
        for name, value in change.settings.items():
            yield _row(f"{when}: {docs[name].label}", amount(name, value))


def _spare(plan: Plan) -> Iterator[Row]:
    rule = text("l", plan.spare.numbers["rule_of_thumb_l"].value)
    for key, label in _SPARE:
        beside = f"rule of thumb {rule}" if key == "to_begin_l" else ""
        yield _row(label, of(plan.spare.numbers[key]), beside)
    for need in plan.spare.manoeuvres:
        there = "there" if need.short_l <= 0.0 else f"{text('short_l', need.short_l)} SHORT"
        yield _row(need.name, amount("needed_l", need.needed_l), there)


def _tubes(plan: Plan) -> Iterator[Row]:
    for option in plan.tubes.options:
        cost, length = text("cmh2o", option.pressure_cmh2o.value), of(option.length_cm)
        label = f"{option.why or 'usual here'}, {length['value']} {length['unit']}"
        yield _row(label, of(option.internal_diameter_mm), f"costs {cost}")


def _peep(plan: Plan) -> Section:
    steps, best = plan.ventilation.peep_steps, plan.ventilation.best_peep_cmh2o
    return {
        "title": f"PEEP, what each would do{_SIMULATED}",
        "heads": ["PEEP cmH2O", "peak cmH2O", "PaO2 mmHg", "output L/min", "O2 delivered L/min", ""],
        "rows": [
            [
                amount("cmh2o", step.peep_cmh2o)["value"],
                amount("cmh2o", step.peak_pressure_cmh2o)["value"],
                amount("mmhg", step.pao2_mmhg)["value"],
                amount("l_min", step.cardiac_output_l_min)["value"],
                amount("l_min", step.oxygen_delivery_l_min)["value"],
                "most O2" if step.peep_cmh2o == best else "",
            ]
            for step in steps
        ],
    }


def _foreseen(plan: Plan) -> tuple[tuple[str, str], ...]:
    """Return what to show of the expected: a herd that never breathes out has no EtCO2 to tell."""
    return tuple(each for each in _EXPECTED if each[0] in plan.expected.numbers)


def _by_last(numbers: Iterable[Reasoned]) -> dict[str, Reasoned]:
    return {number.name.rpartition(".")[2]: number for number in numbers}


def _chosen(wanted: tuple[tuple[str, str], ...], known: dict[str, Reasoned]) -> list[Row]:
    return [_told(label, known[key]) for key, label in wanted]


def _told(label: str, number: Reasoned) -> Row:
    """Return a row; where there is no value, the shorter way to say why stands in the place of the range."""
    why = min(filter(None, (number.note, number.formula)), key=len)
    return _row(label, of(number), why if number.value is None else band(number))


def _row(label: str, shown: dict[str, str], beside: str = "") -> Row:
    return {"label": label, **shown, "beside": beside if beside != UNKNOWN else ""}
