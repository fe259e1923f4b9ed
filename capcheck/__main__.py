"""``python -m capcheck``."""

from capcheck.cli import run

if __name__ == "__main__":
    run()
