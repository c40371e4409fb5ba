"""The formulas against worked examples and certified values of others, on the machine they run on.

The cases stand as data in ``batchcal/reference/check_values/``: one file a formula or a group of them, one row a
case, with the value expected, its tolerance, the status of that value and its source.
"""
