"""The sheet Working: the results once more, as formulas on the lab's own cells and the constants on Record."""
