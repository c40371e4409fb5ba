"""The long run: results files of many days read, each day counted once, and the figures that follow."""
