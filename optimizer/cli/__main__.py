"""Where the program starts: Ctrl-C is answered in one word from the first line on."""

import gc
import os
import signal
import sys

STOPPED = 130  # exit code of what is stopped by hand
SAID = b"pivotwright: stopped\n"
# Read by numpy when it is imported.  Matrices are small here: threads only wait for each other.
ONE_THREAD = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS")
# Most objects that a command makes last to its end: more of them are made before it is asked
# which ones are garbage.
MADE_UNASKED = 300_000


def start() -> int:
    """Run the program; see `optimizer.cli.main`."""
    signal.signal(signal.SIGINT, _stop)
    for name in ONE_THREAD:
        os.environ.setdefault(name, "1")
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # or all packages are asked
    gc.set_threshold(MADE_UNASKED)
    from optimizer.cli.main import interrupt, main

    signal.signal(signal.SIGINT, interrupt)
    try:
        code = main()
    except KeyboardInterrupt:  # in the moments before and after a command
        code = STOPPED
        os.write(2, SAID)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # all is said; nothing is left to stop
    gc.freeze()  # nor is any garbage worth finding before it all goes at once
    if code == STOPPED:
        # Python kills itself in place of exiting where Ctrl-C fell into code that it made of text.
        os._exit(STOPPED)
    return code


def _stop(*_: object) -> None:
    """Stop before anything was begun."""
    os.write(2, SAID)
    os._exit(STOPPED)


if __name__ == "__main__":
    sys.exit(start())
