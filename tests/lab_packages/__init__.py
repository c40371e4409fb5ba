"""Packages as laboratories have them: made by several programs, and furnished with parts that few libraries know.

``javascript_day.xlsx`` was made by ``javascript_day.mjs``, which stands beside it; the others are made as tests run.
"""
