"""Names, kinds, units and words that do not mean what the plan takes them to mean: what the model stage reports."""
