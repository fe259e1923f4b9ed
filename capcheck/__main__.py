"""``python -m capcheck``."""

import sys

from capcheck.cli import main

if __name__ == "__main__":
    sys.exit(main())
