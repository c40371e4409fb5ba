"""Laboratory days made up for tests: honest ones by a forward model, and the same days with one slip in them.

Everything is invented. Nothing here imports the program under test: the headings, the chemistry and the arithmetic
are typed once more by hand, so that an error in the program cannot hide in its own test.

- ``honest.honest_day(seed, ...)`` makes a day in which nothing is wrong but honest scatter.
- ``unusual.UNUSUAL`` lists honest days of laboratories that work otherwise than most.
- ``slips.SLIPS`` lists the slips; ``slips.bad_day(name, seed, ...)`` makes a fitting honest day and applies one.
- ``write.write(day, path)`` writes the workbook, formulas with stored values.
"""
