"""Drugs for one animal: doses, infusions, the emergency card, labels."""
