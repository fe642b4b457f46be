"""Pure formulas of the animal: one scalar function a formula, with its units and its source."""
