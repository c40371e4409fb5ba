"""Published equations, one to a function: floats or numpy arrays in and out, units in the names, no rounding.

The functions compute and do not judge: whether a value may be used at all is decided before, where a finding can
name the cell. References are keys of ``batchcal/reference/sources.toml``.
"""
