"""Calorific values from a hand-worked oxygen-bomb calorimeter, processed a day at a time from spreadsheets."""

__version__ = "0.1.0"
