"""Run the command line with ``python -m batchcal``."""

from batchcal.cli import main

main()
