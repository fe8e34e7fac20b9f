"""`python -m scheduler` is `pondround`."""

from scheduler.cli.main import run

run()
