"""Many workbooks in one call: what is up to date, the workers that do the rest, the index of what came of it."""
