"""Answers commands in children of one process that has imported the program and warmed it up once.

A job is a line of JSON on stdin: the words of a command, the folder to stand in, where stdout and
stderr go, how long it may take [s] and how much memory it may ask for [bytes].  The answer is a
line with the exit code, below 0 for the signal that ended it: SIGALRM what took too long.
"""

import atexit
import gc
import json
import os
import pkgutil
import resource
import signal
import sys
import threading
import traceback
from contextlib import redirect_stdout, suppress
from importlib import import_module
from io import StringIO
from pathlib import Path
from typing import Any, NoReturn

PACKAGES = ("geometry", "optimizer")
CASES = Path(__file__).parents[2] / "cases"
WARMING = (  # what models, readers and parsers make on their first use is then there
    ("suggest", CASES / "track-wishbone.toml", "--kits", CASES / "kits.toml"),
    ("gauge", CASES / "readings" / "no-points.toml"),
    ("survey", CASES / "surveys" / "inch-coupe.toml"),
)


def import_everything() -> None:
    for name in PACKAGES:
        package = import_module(name)
        for module in pkgutil.walk_packages(package.__path__, f"{name}."):
            if not module.name.endswith("__main__"):
                import_module(module.name)


def warm_up() -> None:
    from optimizer.cli.main import main

    for words in WARMING:
        with redirect_stdout(StringIO()):
            assert main([str(word) for word in words]) == 0
    gc.collect()
    gc.freeze()  # so that children share these pages


def serve() -> None:
    import_everything()
    warm_up()
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            run(json.loads(line))
        _, status = os.waitpid(child, 0)
        with suppress(ProcessLookupError):
            os.killpg(child, signal.SIGKILL)  # whatever it has started
        sys.stdout.write(f"{os.waitstatus_to_exitcode(status)}\n")
        sys.stdout.flush()


def run(job: dict[str, Any]) -> NoReturn:
    """Be the program from its first line to its exit code."""
    os.setsid()
    os.chdir(job["folder"])
    for stream, path in ((0, os.devnull), (1, job["out"]), (2, job["err"])):
        os.dup2(os.open(path, os.O_RDONLY if stream == 0 else os.O_WRONLY | os.O_CREAT), stream)
    sys.stdin = open(os.devnull, encoding="utf-8")  # noqa: SIM115
    resource.setrlimit(resource.RLIMIT_AS, (job["memory"], job["memory"]))
    signal.alarm(job["seconds"])
    sys.argv = ["pivotwright", *job["words"]]
    os._exit(_code())


def _code() -> int:
    """What Python would make of the program's end."""
    from optimizer.cli.__main__ import start

    try:
        code = start()
    except SystemExit as end:
        code = int(end.code or 0)
    except BaseException:
        traceback.print_exc()
        code = 1
    threading._shutdown()
    atexit._run_exitfuncs()
    sys.stdout.flush()
    sys.stderr.flush()
    return code


if __name__ == "__main__":
    serve()
