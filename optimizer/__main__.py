"""Where the program starts: Ctrl-C is answered in one word from the first line on."""

import os
import signal
import sys


def start() -> int:
    """Run the program; see `optimizer.cli.main`."""
    signal.signal(signal.SIGINT, _stop)
    from optimizer.cli.main import main

    signal.signal(signal.SIGINT, signal.default_int_handler)
    return main()


def _stop(*_: object) -> None:
    """Stop before anything was begun."""
    os.write(2, b"pivotwright: stopped\n")
    os._exit(130)


if __name__ == "__main__":
    sys.exit(start())
