"""Lets `python -m labelkit` stand for `labelkit`."""

from labelkit.cli.main import run

if __name__ == "__main__":
    run()
