"""The circle: the pressure of its reservoir."""

from lungeline.compiled import formula


@formula
def reservoir_pressure_cmh2o(content_l: float, capacity_l: float, bag_compliance_l_cmh2o: float) -> float:
    """Pressure of a reservoir filled past its capacity [cmH2O].

    content_l: gas in the reservoir [L]
    capacity_l: what it holds without stretching [L], above 0
    bag_compliance_l_cmh2o: compliance beyond capacity [L/cmH2O], above 0

    Source: linear elastic reservoir, a modelling choice.

    >>> reservoir_pressure_cmh2o(23.0, 20.0, 0.3)
    10.0
    """
    return max(0.0, content_l - capacity_l) / bag_compliance_l_cmh2o
