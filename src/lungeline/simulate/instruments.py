"""The usual instruments of a theatre for large animals, made of figures; and the blood-gas analyser."""

from dataclasses import replace

from lungeline.reference import figure
from lungeline.simulate.sensors import Instrument, InstrumentPlace
from lungeline.units import convert

_PRESSURES = (
    "peak_pressure_cmh2o",
    "plateau_pressure_cmh2o",
    "mean_airway_pressure_cmh2o",
    "end_expiratory_pressure_cmh2o",
)


def _of(name: str) -> float:
    return figure(f"instruments.{name}").value


def usual_instruments() -> tuple[Instrument, ...]:
    """Return what is commonly at hand: spirometer at the Y, machine, sidestream analyser, arterial line."""
    return (*_volumes(), *_airway(), *_gases(), *_circulation())


def blood_gas_instruments() -> tuple[Instrument, ...]:
    """Return the analyser of arterial samples; it shows nothing unless blood is drawn."""
    oxygen = Instrument(
        key="pao2_mmhg", source="blood-gas analyser", place="syringe",
        delay_s=_of("blood_gas_analyser.delay_s"),
        noise_fraction=_of("blood_gas_analyser.oxygen_noise_fraction"),
        display_step=_of("blood_gas_analyser.oxygen_step_mmhg"),
    )  # fmt: skip
    carbon_dioxide = replace(
        oxygen, key="paco2_mmhg", noise_fraction=0.0,
        noise_sd=_of("blood_gas_analyser.co2_noise_mmhg"),
        display_step=_of("blood_gas_analyser.co2_step_mmhg"),
    )  # fmt: skip
    acidity = replace(
        oxygen, key="arterial_ph", noise_fraction=0.0,
        noise_sd=_of("blood_gas_analyser.noise_ph"), display_step=_of("blood_gas_analyser.step_ph"),
    )  # fmt: skip
    return carbon_dioxide, oxygen, acidity


def counting() -> Instrument:
    """Return a person who counts the breaths that the animal begins."""
    return Instrument(
        key="own_breaths_per_min", source="counted", place="animal",
        display_step=_of("breath_counter.step_per_min"),
    )  # fmt: skip


def _volumes() -> tuple[Instrument, ...]:
    inspired = Instrument(
        key="tidal_volume_inspired_l", source="spirometer", place="y",
        noise_fraction=_of("spirometer.noise_fraction"), display_step=_of("spirometer.step_l"),
    )  # fmt: skip
    stroke = Instrument(
        key="tidal_volume_inspired_l", source="ventilator", place="reservoir",
        noise_fraction=_of("stroke_scale.noise_fraction"), display_step=_of("stroke_scale.step_l"),
    )  # fmt: skip
    spare = Instrument(
        key="spare_volume_l", source="reservoir scale", place="reservoir",
        noise_sd=_of("reservoir_scale.noise_l"), display_step=_of("reservoir_scale.step_l"),
    )  # fmt: skip
    return inspired, replace(inspired, key="tidal_volume_expired_l"), stroke, spare


def _airway() -> tuple[Instrument, ...]:
    pressures = (
        Instrument(
            key=key, source="airway pressure", place="y",
            noise_sd=_of("airway_pressure.noise_cmh2o"), display_step=_of("airway_pressure.step_cmh2o"),
        )
        for key in _PRESSURES
    )  # fmt: skip
    rate = Instrument(
        key="respiratory_rate_per_min", source="airway pressure", place="y",
        display_step=_of("breath_counter.step_per_min"),
    )  # fmt: skip
    return *pressures, rate


def _gases() -> tuple[Instrument, ...]:
    # what is shown, and the two figures of its restlessness and its step
    shown = (
        ("etco2_mmhg", "co2_noise_mmhg", "co2_step_mmhg"),
        ("fico2_mmhg", "co2_noise_mmhg", "co2_step_mmhg"),
        ("fio2_fraction", "oxygen_noise_fraction", "oxygen_step_fraction"),
        ("inspired_agent_fraction", "agent_noise_fraction", "agent_step_fraction"),
        ("end_tidal_agent_fraction", "agent_noise_fraction", "agent_step_fraction"),
        ("mac_multiple", "mac_noise_multiple", "mac_step_multiple"),
    )
    place: InstrumentPlace = "sample line"
    return tuple(
        Instrument(
            key=key, source="gas analyser", place=place, delay_s=_of("gas_analyser.delay_s"),
            noise_sd=_of(f"gas_analyser.{noise}"), display_step=_of(f"gas_analyser.{step}"),
        )
        for key, noise, step in shown
    )  # fmt: skip


def _circulation() -> tuple[Instrument, ...]:
    always_percent = figure("monitors.pulse_oximeter.bias_percent").value
    saturation = Instrument(
        key="spo2_fraction", source="pulse oximeter", place="animal",
        delay_s=_of("pulse_oximeter.delay_s"), noise_sd=_of("pulse_oximeter.noise_fraction"),
        bias=convert(always_percent, "percent", "fraction"), display_step=_of("pulse_oximeter.step_fraction"),
    )  # fmt: skip
    pressure = Instrument(
        key="map_mmhg", source="arterial line", place="animal",
        noise_sd=_of("arterial_line.noise_mmhg"), display_step=_of("arterial_line.step_mmhg"),
    )  # fmt: skip
    rate = Instrument(
        key="heart_rate_per_min", source="arterial line", place="animal",
        noise_sd=_of("arterial_line.rate_noise_per_min"), display_step=_of("arterial_line.rate_step_per_min"),
    )  # fmt: skip
    return saturation, pressure, rate
