"""Plan, rehearse, explain and record the ventilation of an anaesthetised large animal."""
