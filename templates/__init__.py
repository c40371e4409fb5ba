"""Templates of the summary page; they lay out text and figures and compute nothing."""
