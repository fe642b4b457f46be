"""Gas that must be there: spare in the reservoir, priming, what flows, and what must last."""
