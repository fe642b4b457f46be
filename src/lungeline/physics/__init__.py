"""Pure formulas of gas and tubes: one scalar function a formula, with its units and its source."""
