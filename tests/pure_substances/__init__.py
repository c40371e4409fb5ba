"""Pure substances with known heats of combustion, fired on paper and brought back through the whole chain."""
