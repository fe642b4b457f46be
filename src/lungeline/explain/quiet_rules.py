"""The rules of quiet watching: each looks at what is followed and what is set, and says one thing or none."""

from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from lungeline.case import Case, Finding, Settings
from lungeline.explain.assumed import Assumed
from lungeline.explain.usual import Usual
from lungeline.physiology.alveolar_gas import steady_paco2_mmhg
from lungeline.physiology.dead_space import alveolar_ventilation_l_min
from lungeline.simulate.setup import species_parameters
from lungeline.words import number_text

MOST_MAKE_UPS = 64
TOGETHER = 2  # devices whose readings have moved
FAR_OFF = 1.5  # of what a change must be to matter: one reading alone then counts; assumption
ADULT_HORSE = ("horse",)
LEAST_ADULT_KG = 300.0  # assumption
ML_PER_L = 1000.0
_DEVICE = {
    "tidal_volume_expired_l": "spirometer", "respiratory_rate_per_min": "pressure",
    "peak_pressure_cmh2o": "pressure", "plateau_pressure_cmh2o": "pressure",
    "end_expiratory_pressure_cmh2o": "pressure", "etco2_mmhg": "capnograph", "fico2_mmhg": "capnograph",
    "fio2_fraction": "oxygen", "inspired_agent_fraction": "agent", "end_tidal_agent_fraction": "agent",
    "spare_volume_l": "reservoir", "spo2_fraction": "oximeter", "map_mmhg": "arterial line",
    "heart_rate_per_min": "arterial line",
}  # fmt: skip


@dataclass(slots=True, kw_only=True)
class Watched:
    """What rules know: the case, what is set and was set before, when gas was made up; and readings.

    followed: readings that are fresh; at_s: the newest; expected: whether readings move on purpose now.
    """

    case: Case
    assumed: Assumed
    settings: Settings
    followed: Mapping[str, Usual] = field(default_factory=dict)
    at_s: float = 0.0
    expected: bool = False
    usual: Settings | None = None
    set_s: float = 0.0
    made_up_s: deque[float] = field(default_factory=lambda: deque(maxlen=MOST_MAKE_UPS))

    def changed(self, settings: Settings, at_s: float) -> None:
        """Take new settings; those that stood for long become what is usual."""
        if self.usual is None or at_s - self.set_s >= 60.0 * self.assumed.watching["left_min"]:
            self.usual = self.settings
        self.settings, self.set_s = settings, at_s

    def made_up(self, at_s: float) -> None:
        """Take the time of one dose of gas that the machine added by itself."""
        self.made_up_s.append(at_s)

    @property
    def left(self) -> bool:
        """Whether settings have stood long enough to have been forgotten."""
        return self.at_s - self.set_s >= 60.0 * self.assumed.watching["left_min"]

    @property
    def breathes_alone(self) -> bool:
        """Whether nobody ventilates."""
        return self.settings.mode == "spontaneous" or not self.settings.ventilator_on


Rule = Callable[[Watched], Finding | None]


def moved(watched: Watched) -> Finding | None:
    """Say that readings of two devices have moved together, or one very far; gravely only then."""
    if watched.expected:
        return None
    matters = watched.assumed.matters
    off = {channel: it for channel, it in watched.followed.items() if it.is_off and channel in _DEVICE}
    if not off:
        return None
    devices = {_DEVICE[channel] for channel in off}
    far = any(abs(it.off) >= FAR_OFF * matters[channel] for channel, it in off.items())
    together = len(devices) >= TOGETHER or far
    told = ", ".join(
        f"{channel} {number_text(channel, it.now)} ({number_text(channel, it.level or 0.0)})"
        for channel, it in sorted(off.items())
    )
    if together:
        return Finding(
            code="watch_moved_together", severity="caution", about=min(off), figures={"moved": told}
        )
    return Finding(code="watch_moved", severity="advice", about=min(off), figures={"moved": told})


def deep_breath_left(watched: Watched) -> Finding | None:
    """Say that a volume far above what was set before was never set back."""
    now, before = watched.settings, watched.usual
    if before is None or watched.breathes_alone or not (now.tidal_volume_l and before.tidal_volume_l):
        return None
    large = now.tidal_volume_l >= watched.assumed.watching["deep_breath_multiple"] * before.tidal_volume_l
    if not (large and watched.left):
        return None
    figures = {"set_l": now.tidal_volume_l, "before_l": before.tidal_volume_l}
    return Finding(
        code="watch_deep_breath_left",
        severity="caution",
        about="settings.tidal_volume_l",
        figures={**figures},
    )


def limit_left(watched: Watched) -> Finding | None:
    """Say that a pressure limit raised for a manoeuvre was never set back."""
    now, before = (
        watched.settings.pressure_limit_cmh2o,
        (watched.usual or watched.settings).pressure_limit_cmh2o,
    )
    if now is None or before is None or watched.breathes_alone or not watched.left:
        return None
    if now - before < watched.assumed.watching["limit_raised_cmh2o"]:
        return None
    return Finding(
        code="watch_limit_left", severity="advice", about="settings.pressure_limit_cmh2o",
        figures={"set_cmh2o": now, "before_cmh2o": before},
    )  # fmt: skip


def cpap_left(watched: Watched) -> Finding | None:
    """Say that pressure is still held between the breaths of an animal that breathes on its own."""
    it = watched.followed.get("end_expiratory_pressure_cmh2o")
    if it is None or not it.newest or not watched.breathes_alone or not watched.left:
        return None
    if it.now < watched.assumed.watching["cpap_cmh2o"]:
        return None
    return Finding(code="watch_cpap_left", severity="caution", about=it.channel, figures={it.channel: it.now})


def make_up_often(watched: Watched) -> Finding | None:
    """Say that gas is made up more often than before: a leak may hide behind it."""
    w, at_s = watched.assumed.watching, watched.at_s
    span_s = 60.0 * w["make_up_span_min"]
    late = sum(at_s - span_s < it <= at_s for it in watched.made_up_s)
    before = sum(at_s - 2.0 * span_s < it <= at_s - span_s for it in watched.made_up_s)
    if late < w["make_up_often"] or late < w["make_up_multiple"] * before:
        return None
    return Finding(
        code="watch_make_up_often", severity="caution", about="spare_volume_l",
        figures={"times_number": float(late), "before_number": float(before),
            "span_min": w["make_up_span_min"]},
    )  # fmt: skip


def resistance_felt(watched: Watched) -> Finding | None:
    """Say that an animal that breathes on its own has to push."""
    peak, baseline = (watched.followed.get(f"{it}_pressure_cmh2o") for it in ("peak", "end_expiratory"))
    if not watched.breathes_alone or watched.expected or peak is None or baseline is None:
        return None
    if not (peak.newest and baseline.newest):
        return None
    above = peak.now - baseline.now
    if above < watched.assumed.watching["resistance_cmh2o"]:
        return None
    return Finding(
        code="watch_resistance_felt", severity="caution", about=peak.channel, figures={"above_cmh2o": above}
    )


def hypoventilates(watched: Watched) -> Finding | None:
    """Say that an adult horse on its own breathes half of the usual volume, and what CO2 that leads to."""
    animal, w = watched.case.animal, watched.assumed.watching
    volume, rate = (
        watched.followed.get("tidal_volume_expired_l"),
        watched.followed.get("respiratory_rate_per_min"),
    )
    adult = animal.species in ADULT_HORSE and animal.weight_kg >= LEAST_ADULT_KG
    if not (adult and watched.breathes_alone) or watched.expected or volume is None or rate is None:
        return None
    if not (volume.newest and rate.newest):
        return None
    usual_l = w["usual_own_volume_ml_kg"] * animal.weight_kg / ML_PER_L
    if volume.now > w["half_volume_share"] * usual_l or rate.now > w["ordinary_rate_per_min"]:
        return None
    leads_to_mmhg = paco2_it_leads_to_mmhg(watched.case, volume.now, rate.now)
    if leads_to_mmhg < w["leads_to_paco2_mmhg"]:
        return None
    return Finding(
        code="watch_hypoventilates", severity="caution", about=volume.channel,
        figures={
            "tidal_volume_expired_l": volume.now, "usual_l": usual_l,
            "respiratory_rate_per_min": rate.now, "paco2_mmhg": leads_to_mmhg,
        },
    )  # fmt: skip


def paco2_it_leads_to_mmhg(case: Case, tidal_volume_l: float, respiratory_rate_per_min: float) -> float:
    """Return PaCO2 once this breathing has gone on for long, in the usual animal of this weight."""
    p = {
        name: it.at_weight(case.animal.weight_kg)
        for name, it in species_parameters(case.animal.species).items()
    }
    airway_l = p["airway_dead_space_ml_kg"] * case.animal.weight_kg / ML_PER_L
    alveolar = p["alveolar_dead_space_fraction"] * max(tidal_volume_l - airway_l, 0.0)
    ventilation = alveolar_ventilation_l_min(tidal_volume_l, airway_l + alveolar, respiratory_rate_per_min)
    output = p["carbon_dioxide_output_l_min"]
    return float(steady_paco2_mmhg(output, ventilation, case.animal.temperature_c))


RULES: tuple[Rule, ...] = (
    moved,
    deep_breath_left,
    limit_left,
    cpap_left,
    make_up_often,
    resistance_felt,
    hypoventilates,
)
