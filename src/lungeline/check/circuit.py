"""The plugged circle under test: how much gas raises its pressure, and what else takes gas from it."""

import math
from dataclasses import dataclass, field

from lungeline.case import Reasoned
from lungeline.case.checks import check_record
from lungeline.case.fields import number, switch
from lungeline.check.readings import ML_PER_L
from lungeline.check.uncertainty import between, each_draw, even, normal, spread_of
from lungeline.errors import MissingError
from lungeline.figure import Basis, Figure
from lungeline.physics.constants import CMH2O_PER_MMHG, STANDARD_PRESSURE_MMHG
from lungeline.physics.gas_laws import isothermal_compliance_l_cmh2o
from lungeline.reference import figure

LEAST_ML_CMH2O = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """What is known of a circle when it is tested. Leave out what is not.

    volume_l: gas in it at ambient pressure, with whatever stands open: hoses, canister, reservoir, bag.
    volume_error_fraction: standard error of that.
    hose_compliance_ml_cmh2o: what hoses and other walls add, the bag apart; None where not known.
    bag_attached: whether a bag hangs on it.
    compliance_ml_cmh2o: of all of it, where it was measured before; then volume only tells how gas cools.
    compliance_error_fraction: standard error of that.
    sample_flow_l_min: gas a monitor draws off during the test and does not return.
    peep_cmh2o: set on a device left in the circle.
    barometric_pressure_mmhg: ambient pressure.
    """

    volume_l: float | None = field(default=None, metadata=number(0.5, 250, "volume under test"))
    volume_error_fraction: float = field(
        default_factory=lambda: figure("leak_test.volume_error_fraction").value,
        metadata=number(0, 0.5, "error of the volume"),
    )
    hose_compliance_ml_cmh2o: float | None = field(
        default=None, metadata=number(0, 100, "compliance of the hoses")
    )
    bag_attached: bool = field(default=False, metadata=switch("bag attached"))
    compliance_ml_cmh2o: float | None = field(default=None, metadata=number(0.5, 2000, "compliance"))
    compliance_error_fraction: float = field(
        default_factory=lambda: figure("leak_test.compliance_error_fraction").value,
        metadata=number(0, 0.5, "error of the compliance"),
    )
    sample_flow_l_min: float = field(default=0.0, metadata=number(0, 2, "sample flow"))
    peep_cmh2o: float = field(default=0.0, metadata=number(0, 50, "PEEP device"))
    barometric_pressure_mmhg: float = field(
        default=STANDARD_PRESSURE_MMHG, metadata=number(300, 850, "ambient pressure")
    )

    def __post_init__(self) -> None:
        """Refuse what no circle is."""
        check_record(self, "circuit")

    @property
    def known(self) -> bool:
        """Whether anything tells how much gas it stores."""
        return self.volume_l is not None or self.compliance_ml_cmh2o is not None

    @property
    def sample_ml_min(self) -> float:
        """What the monitor draws off [mL/min]."""
        return self.sample_flow_l_min * ML_PER_L

    def gas_ml_cmh2o(self, draw: int | None = None) -> float:
        """Return what the gas alone stores, at its middle or in one draw."""
        if self.volume_l is None:
            return 0.0
        off = 0.0 if draw is None else self.volume_error_fraction * normal("volume")[draw]
        gas = isothermal_compliance_l_cmh2o(self.volume_l, self.barometric_pressure_mmhg)
        return float(gas) * ML_PER_L * max(1.0 + off, 0.0)

    def walls_ml_cmh2o(self, draw: int | None = None) -> float:
        """Return what hoses and bag store by stretching, at its middle or in one draw."""
        bag = figure("leak_test.bag_compliance_ml_cmh2o")
        return self._hoses(draw) + (log_between("bag", bag, draw) if self.bag_attached else 0.0)

    def _hoses(self, draw: int | None) -> float:
        if self.hose_compliance_ml_cmh2o is not None:
            return self.hose_compliance_ml_cmh2o
        hoses = figure("leak_test.hose_compliance_ml_cmh2o")
        return hoses.value if draw is None else between("hoses", draw, hoses.low, hoses.high)

    def stored_ml_cmh2o(self, pressure_cmh2o: float, draw: int | None = None) -> float:
        """Return gas, at ambient pressure, that one cmH2O more takes, at its middle or in one draw."""
        if self.compliance_ml_cmh2o is not None:
            off = 0.0 if draw is None else self.compliance_error_fraction * normal("compliance")[draw]
            return max(self.compliance_ml_cmh2o * (1.0 + off), LEAST_ML_CMH2O)
        if self.volume_l is None:
            raise _unknown_store()
        # gas that fills stretched walls is pressed as well: the second part of d((V + eP)(B + P)/B)/dP
        denser = 1.0 + 2.0 * pressure_cmh2o / (self.barometric_pressure_mmhg * CMH2O_PER_MMHG)
        return max(self.gas_ml_cmh2o(draw) + self.walls_ml_cmh2o(draw) * denser, LEAST_ML_CMH2O)

    def gas_share_fraction(self) -> float:
        """Return the part of the store that is gas, and so warms when pressed."""
        gas, walls = self.gas_ml_cmh2o(), self.walls_ml_cmh2o()
        if self.compliance_ml_cmh2o is not None and gas > 0.0:
            return min(gas / self.compliance_ml_cmh2o, 1.0)
        return gas / (gas + walls) if gas + walls > 0.0 else 1.0

    def compliance(self, pressure_cmh2o: float) -> Reasoned | None:
        """Return the compliance by what is known, None where nothing is."""
        if not self.known:
            return None
        spread = spread_of(
            self.stored_ml_cmh2o(pressure_cmh2o),
            each_draw(lambda draw: self.stored_ml_cmh2o(pressure_cmh2o, draw)),
        )
        return Reasoned(
            name="circuit.compliance_ml_cmh2o",
            value=spread.value,
            low=spread.low,
            high=spread.high,
            formula=self._formula(),
            inputs=self._inputs(),
            basis=self._basis(),
            sources=("case", "project-assumption") if self.compliance_ml_cmh2o is None else ("case",),
            note="A guess where a bag is attached: rise and fall measures it." if self.bag_attached else "",
        )

    def _formula(self) -> str:
        if self.compliance_ml_cmh2o is not None:
            return "as measured before"
        return "volume ÷ ambient pressure + hoses" + (" + bag" if self.bag_attached else "")

    def _basis(self) -> Basis:
        return "assumption" if self.bag_attached and self.compliance_ml_cmh2o is None else "derived"

    def _inputs(self) -> dict[str, float | str | None]:
        return {
            "volume_l": self.volume_l,
            "gas_ml_cmh2o": self.gas_ml_cmh2o(),
            "walls_ml_cmh2o": self.walls_ml_cmh2o(),
            "compliance_ml_cmh2o": self.compliance_ml_cmh2o,
            "barometric_pressure_mmhg": self.barometric_pressure_mmhg,
        }


def log_between(name: str, given: Figure, draw: int | None) -> float:
    """Return a draw from low over the middle to high, as far below the middle as above it by ratio."""
    if draw is None:
        return given.value
    place = even(name)[draw]
    end = given.high if place > 1.0 / 2.0 else given.low
    return given.value * math.exp(abs(2.0 * place - 1.0) * math.log(end / given.value))


def _unknown_store() -> MissingError:
    return MissingError(
        where="circuit.volume_l",
        given="neither volume nor compliance",
        allowed="the litres of gas in the circle under test, or its compliance",
        do="Give one, or test by the flow that holds the pressure or by rise and fall, which need neither.",
    )
