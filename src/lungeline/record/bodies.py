"""What the body of each kind of entry may hold, described field by field as in a case.

The ranges are bounds of what is possible, wide, against slips of unit and decimal point; assumption.
"""

from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from lungeline.case.animal import Position, Species
from lungeline.case.fields import choice, number, switch, text

Purpose = Literal["real", "rehearsal", "demo"]
WeighedBy = Literal["scales", "tape", "guess"]
Phase = Literal["prepare", "induce", "maintain", "wean", "recover", "closed"]
Meaning = Literal["signed", "countersigned", "co-signed", "witnessed"]
Action = Literal["start", "change", "stop"]
Presence = Literal["came", "left"]
CheckVerdict = Literal["go", "caution", "stop"]
Done = Literal["shown", "followed", "declined", "later"]
_LINE, _PARAGRAPH = 200, 2000


def _number(low: float, high: float, label: str) -> Any:  # noqa: ANN401  a field of a dataclass
    return field(default=None, metadata=number(low, high, label))


def _text(label: str, most: int = _LINE) -> Any:  # noqa: ANN401  a field of a dataclass
    return field(default="", metadata=text(most, label))


def _switch(label: str) -> Any:  # noqa: ANN401  a field of a dataclass
    return field(default=False, metadata=switch(label))


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """Whose record this is: the first entry of a case."""

    purpose: Purpose = field(metadata=choice(get_args(Purpose), "real, rehearsal or demo"))
    name: str = field(metadata=text(_LINE, "name of the animal"))
    species: Species = field(metadata=choice(get_args(Species), "species"))
    weight_kg: float | None = _number(5, 1500, "weight")
    weighed_by: WeighedBy | None = field(
        default=None, metadata=choice(get_args(WeighedBy), "how the weight was had")
    )
    age_years: float | None = _number(0, 60, "age")
    breed: str = _text("breed")
    sex: str = _text("sex")
    position: Position | None = field(default=None, metadata=choice(get_args(Position), "position"))
    procedure: str = _text("procedure")
    diagnosis: str = _text("diagnosis")
    place: str = _text("place")
    owner: str = _text("owner")
    case_number: str = _text("the clinic's number of the case")


@dataclass(frozen=True, slots=True, kw_only=True)
class Vitals:
    """One row of the chart: what was measured, as far as it was."""

    heart_rate_per_min: float | None = _number(0, 300, "heart rate")
    systolic_pressure_mmhg: float | None = _number(0, 350, "systolic arterial pressure")
    map_mmhg: float | None = _number(0, 300, "mean arterial pressure")
    diastolic_pressure_mmhg: float | None = _number(0, 300, "diastolic arterial pressure")
    respiratory_rate_per_min: float | None = _number(0, 150, "respiratory rate")
    own_breaths_per_min: float | None = _number(0, 150, "own breaths")
    spo2_fraction: float | None = _number(0, 1, "saturation by pulse oximeter")
    temperature_c: float | None = _number(20, 45, "body temperature")
    etco2_mmhg: float | None = _number(0, 200, "end-tidal carbon dioxide")
    fico2_mmhg: float | None = _number(0, 150, "inspired carbon dioxide")
    fio2_fraction: float | None = _number(0, 1, "inspired oxygen")
    inspired_agent_fraction: float | None = _number(0, 0.2, "inspired agent")
    end_tidal_agent_fraction: float | None = _number(0, 0.2, "end-tidal agent")
    tidal_volume_inspired_l: float | None = _number(0, 50, "inspired tidal volume")
    tidal_volume_expired_l: float | None = _number(0, 50, "expired tidal volume")
    peak_pressure_cmh2o: float | None = _number(-30, 150, "peak airway pressure")
    plateau_pressure_cmh2o: float | None = _number(-30, 150, "plateau pressure")
    mean_airway_pressure_cmh2o: float | None = _number(-30, 100, "mean airway pressure")
    end_expiratory_pressure_cmh2o: float | None = _number(-30, 60, "end-expiratory pressure")
    compliance_l_cmh2o: float | None = _number(0, 5, "compliance")
    spare_volume_l: float | None = _number(0, 100, "spare volume")
    capillary_refill_s: float | None = _number(0, 20, "capillary refill")
    rhythm: str = _text("rhythm")
    eye: str = _text("signs of the eye")
    source: str = _text("instrument or place of measurement")
    estimated: bool = _switch("estimated, not measured")
    artefact: bool = _switch("artefact: kept, but not to be used")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gases:
    """A blood gas with what it takes to read it."""

    sample: Literal["arterial", "venous"] = field(
        metadata=choice(("arterial", "venous"), "arterial or venous")
    )
    paco2_mmhg: float | None = _number(0, 250, "carbon dioxide of the sample")
    pao2_mmhg: float | None = _number(0, 900, "oxygen of the sample")
    arterial_ph: float | None = _number(6.5, 8, "pH of the sample")
    bicarbonate_mmol_l: float | None = _number(0, 80, "bicarbonate")
    base_excess_mmol_l: float | None = _number(-50, 50, "base excess")
    lactate_mmol_l: float | None = _number(0, 50, "lactate")
    glucose_mmol_l: float | None = _number(0, 80, "glucose")
    sodium_mmol_l: float | None = _number(80, 220, "sodium")
    potassium_mmol_l: float | None = _number(0.5, 15, "potassium")
    ionised_calcium_mmol_l: float | None = _number(0.1, 5, "ionised calcium")
    haemoglobin_g_dl: float | None = _number(0, 30, "haemoglobin")
    packed_cell_volume_fraction: float | None = _number(0, 0.9, "packed cell volume")
    fio2_fraction: float | None = _number(0, 1, "inspired oxygen when it was drawn")
    temperature_c: float | None = _number(20, 45, "temperature of the animal")
    site: str = _text("where it was drawn")
    artefact: bool = _switch("artefact: kept, but not to be used")


@dataclass(frozen=True, slots=True, kw_only=True)
class DrugGiven:
    """A single dose."""

    drug: str = field(metadata=text(_LINE, "drug"))
    amount_mg: float | None = _number(0, 1e6, "amount")
    volume_ml: float | None = _number(0, 1e5, "volume")
    use: str = _text("what it is for, as the plan has it")
    route: str = _text("route")
    batch: str = _text("batch")
    drawn_by: str = _text("who drew it up")
    checked_by: str = _text("who checked it")
    estimated: bool = _switch("estimated, not measured")


@dataclass(frozen=True, slots=True, kw_only=True)
class Controlled:
    """A controlled drug drawn from stock or thrown away: what was drawn must be what was given and wasted."""

    drug: str = field(metadata=text(_LINE, "drug"))
    drawn_mg: float | None = _number(0, 1e6, "amount drawn from stock")
    wasted_mg: float | None = _number(0, 1e6, "amount thrown away")
    batch: str = _text("batch")
    witness: str = _text("who saw it")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedDose:
    """A dose as the plan has it, beside which what was given is set."""

    drug: str = field(metadata=text(_LINE, "drug"))
    use: str = _text("what it is for")
    route: str = _text("route")
    total_mg: float | None = _number(0, 1e6, "amount planned")
    volume_ml: float | None = _number(0, 1e5, "volume planned")


@dataclass(frozen=True, slots=True, kw_only=True)
class Infusion:
    """An infusion begun, changed or stopped."""

    drug: str = field(metadata=text(_LINE, "drug"))
    action: Action = field(metadata=choice(get_args(Action), "start, change or stop"))
    rate_ml_h: float | None = _number(0, 1e5, "rate")
    dose_ug_kg_min: float | None = _number(0, 1e5, "dose rate")
    amount_mg: float | None = _number(0, 1e6, "amount given in all, once stopped")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fluid:
    """Fluid that went in or came out."""

    what: str = field(metadata=text(_LINE, "which fluid"))
    direction: Literal["in", "out"] = field(metadata=choice(("in", "out"), "in or out"))
    volume_l: float | None = _number(0, 300, "volume")
    estimated: bool = _switch("estimated, not measured")


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something that happened or was done."""

    what: str = field(metadata=text(_LINE, "what happened"))
    detail: str = _text("detail", _PARAGRAPH)
    incident: bool = _switch("incident or near miss")


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """One item of a check with its result.

    machine, log_entry, log_count_number, log_hash: where it stands in the log of the machine: whose, the uid
    and number of its entry, and the hash that entry has there.
    """

    item: str = field(metadata=text(_LINE, "what was checked"))
    passed: bool = field(metadata=switch("passed"))
    verdict: CheckVerdict | None = field(
        default=None, metadata=choice(get_args(CheckVerdict), "verdict of the check")
    )
    machine: str = _text("machine")
    leak_ml_min: float | None = _number(0, 1e5, "leak")
    test_pressure_cmh2o: float | None = _number(0, 150, "pressure of the leak test")
    compliance_l_cmh2o: float | None = _number(0, 5, "compliance of the circuit")
    absorbent_age_hours: float | None = _number(0, 1e4, "hours of the absorbent")
    log_entry: str = _text("uid in the log of the machine")
    log_count_number: float | None = _number(1, 2**53 - 1, "entry of that log")
    log_hash: str = field(default="", metadata=text(64, "hash in that log"))
    detail: str = _text("detail", _PARAGRAPH)


@dataclass(frozen=True, slots=True, kw_only=True)
class Advised:
    """Advice that was shown, and what was done about it."""

    code: str = field(metadata=text(_LINE, "code of the finding"))
    done: Done = field(metadata=choice(get_args(Done), "what was done about it"))
    severity: str = _text("severity")
    about: str = _text("what it is about")
    reason: str = _text("reason", _PARAGRAPH)


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseBegun:
    """A part of the anaesthetic that begins."""

    phase: Phase = field(metadata=choice(get_args(Phase), "phase"))


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamMember:
    """Somebody of the team who comes or leaves."""

    person: str = field(metadata=text(_LINE, "who"))
    function: str = field(metadata=text(_LINE, "as what: anaesthetist, surgeon, assistant, recovery …"))
    presence: Presence = field(default="came", metadata=choice(get_args(Presence), "came or left"))


@dataclass(frozen=True, slots=True, kw_only=True)
class HandOver:
    """Someone else takes over."""

    to: str = field(metadata=text(_LINE, "who takes over"))
    detail: str = _text("what was handed over", _PARAGRAPH)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recovery:
    """How the animal got up."""

    lateral_min: float | None = _number(0, 1e4, "time lying on its side")
    sternal_min: float | None = _number(0, 1e4, "time to sternal")
    standing_min: float | None = _number(0, 1e4, "time to standing")
    attempts_number: float | None = _number(0, 1000, "attempts to stand")
    score: str = _text("score, with its scale")
    detail: str = _text("detail", _PARAGRAPH)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomeKnown:
    """How the animal was later."""

    after: Literal["24 h", "7 days"] = field(metadata=choice(("24 h", "7 days"), "24 h or 7 days"))
    status: Literal["alive", "euthanasia", "dead"] = field(
        metadata=choice(("alive", "euthanasia", "dead"), "alive, euthanasia or dead")
    )
    cause: str = _text("cause", _PARAGRAPH)


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """Somebody stands for all up to a head."""

    meaning: Meaning = field(metadata=choice(get_args(Meaning), "what the signature means"))
    role: str = field(metadata=text(_LINE, "role of the signer"))
    head_count_number: float = field(metadata=number(1, 2**53 - 1, "entries signed"))
    head_hash: str = field(metadata=text(64, "hash of the last entry signed"))


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockWrong:
    """A device's clock and the store's do not agree."""

    device_time: str = field(metadata=text(_LINE, "the device's clock"))
    store_time: str = field(metadata=text(_LINE, "the store's clock at that moment"))
    ahead_s: float = field(metadata=number(-1e11, 1e11, "how far the device is ahead"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Reasoning:
    """Why something was set, struck out or corrected."""

    reason: str = field(metadata=text(_PARAGRAPH, "reason"))
