"""What shall we set? Ventilation, spare gas, priming, supplies, drugs and weaning, each number with its reason."""
