"""``python -m pitreckon``: the same as the command."""

from pitreckon.cli.main import run

if __name__ == "__main__":
    run()
