"""Run the command line with ``python -m batchcal``."""

from batchcal.cli import main

if __name__ == "__main__":
    main()
