"""The simulated animal as a plan asks it: what settings lead to once all has settled, remembered."""

from collections.abc import Callable
from dataclasses import replace

from lungeline.case import Breath, Case, Settings, Start
from lungeline.physiology.blood_gases import oxygen_content_l_l
from lungeline.physiology.oxygen_delivery import oxygen_delivery_l_min
from lungeline.simulate.run import simulate
from lungeline.simulate.setup import animal_values

STEADY_MIN = 30.0
STEP_S = 0.02


class Model:
    """One animal on its circle, asked again and again with other settings.

    What was asked before is not simulated again, so that one changed number costs one run.
    """

    def __init__(self, case: Case) -> None:
        """Take the animal, its place and equipment; nothing goes wrong and nothing is changed later."""
        self.case = replace(case, changes=(), faults=(), start=Start(state="settled"))
        self._known: dict[Settings, Breath] = {}
        self._last: tuple[Settings, Callable[[], bytes]] | None = None

    def steady(self, settings: Settings) -> Breath:
        """Return a breath after half an hour of these settings."""
        if settings not in self._known:
            self._run(settings)
        return self._known[settings]

    def settled(self, settings: Settings) -> bytes:
        """Return the animal after that half hour, to go on from; quick for the settings last asked about."""
        last = self._last
        if last is None or last[0] != settings:
            last = self._run(settings)
        return last[1]()

    def _run(self, settings: Settings) -> tuple[Settings, Callable[[], bytes]]:
        run = simulate(self.with_settings(settings), STEADY_MIN, dt_s=STEP_S)
        self._known[settings] = run.at_end
        self._last = settings, run.live.state
        return self._last

    def with_settings(self, settings: Settings) -> Case:
        """Return the settled case with other settings."""
        return replace(self.case, settings=settings, assumed_settings=())

    def oxygen_delivery_l_min(self, settings: Settings) -> float:
        """Return oxygen carried to the tissues: output times arterial content."""
        breath = self.steady(settings)
        animal = animal_values(self.case, settings, {})
        content = oxygen_content_l_l(
            breath.pao2_mmhg or 0.0,
            breath.arterial_ph or 0.0,
            animal["p50_mmhg"],
            animal["haemoglobin_g_dl"],
        )
        return float(oxygen_delivery_l_min(breath.cardiac_output_l_min or 0.0, content))
