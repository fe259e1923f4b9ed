"""``desk``: the page for the people who quote."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from capcheck.commands.command import Command, add_config, add_store, configuration_for, warn_of_not_obeyed

_MOST_PORTS: Final = 65_535


def _port(text: str) -> int:
    """Return a port; argparse turns the error into one line and exit code 2."""
    value = int(text)
    if not 0 <= value <= _MOST_PORTS:
        raise argparse.ArgumentTypeError(f"{text} is not a port, 0 to {_MOST_PORTS}")
    return value


def _workers(text: str) -> int:
    value = int(text)
    if not 1 <= value <= 64:
        raise argparse.ArgumentTypeError(f"{text} is not a number of workers, 1 to 64")
    return value


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--folder", type=Path, metavar="DIR", help="where quotes and their files are kept; default: desk"
    )
    parser.add_argument(
        "--host", default="", metavar="ADDRESS", help="let others in at this address; a token is printed once"
    )
    parser.add_argument("--port", type=_port, default=8765, metavar="N", help="0 chooses a free one; default: 8765")
    parser.add_argument("--workers", type=_workers, default=2, metavar="N", help="checks at once; default: 2")
    parser.add_argument("--demo", action="store_true", help="open with an invented shop and a board")
    add_config(parser)
    add_store(parser)


def _desk(arguments: argparse.Namespace) -> int:
    from capcheck.desk import serve
    from capcheck.shop import Configuration

    configuration = Configuration() if arguments.demo else configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    serve(
        configuration,
        folder=arguments.folder,
        store=arguments.store,
        host=arguments.host,
        port=arguments.port,
        jobs=arguments.workers,
        demo=arguments.demo,
    )
    return 0


COMMANDS: Final = (Command("desk", "open the page for the people who quote, in a browser", _arguments, _desk),)
