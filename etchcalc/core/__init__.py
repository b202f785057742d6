"""How any calculation is said: units, vocabulary, formulas that show their working, tables."""
