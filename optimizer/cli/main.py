"""The program `pivotwright`: picks the command, and turns whatever goes wrong into an exit code."""

import _thread
import io
import os
import signal
import sys
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from types import FrameType

from optimizer.cli.options import print_json
from optimizer.cli.parser import parsed
from optimizer.errors import (
    CaseFileError,
    Fault,
    PivotwrightError,
    StudyNotKept,
    printable,
    without_secrets,
)

DONE, NOTHING_FITS, WRONG_INPUT, SOFTWARE_FAULT, STOPPED = 0, 1, 2, 70, 130
SOON = 0.01  # s: until a callback has ended
COLOR_KEYS = ("NO_COLOR", "FORCE_COLOR")
_interrupts: list[int] = []


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Those of the process if left out.

    Returns
    -------
    int
        0 done; 1 done, but nothing buildable meets the limits and the tolerance; 2 the input is
        wrong, or the answer could not be written; 70 a fault of the program itself; 130 stopped by
        hand.
    """
    given = list(sys.argv[1:] if arguments is None else arguments)
    if _closed_streams():
        return _said("the answer could not be written: stdout is closed", WRONG_INPUT)
    try:
        code = _run(given)
        sys.stdout.flush()
    except PivotwrightError as mistake:
        return _wrong_input(mistake, given)
    except KeyboardInterrupt:
        return _stopped()
    except BrokenPipeError:
        _drop_stdout()  # the reader has gone (a pager closed, say)
        return DONE
    except OSError as fault:
        _drop_stdout()
        return _said(f"the answer could not be written: {fault.strerror}", WRONG_INPUT)
    except Exception as fault:
        return _stopped() if _interrupted(fault) else _software_fault(fault, given)
    return code


def interrupt(number: int, frame: FrameType | None) -> None:
    """Raise KeyboardInterrupt for Ctrl-C, and keep in mind that it was asked for.

    Native code that it falls into may print it before it raises another fault (numpy's import
    does): no trace of Python's own is shown from here on.  Python drops it where it falls into a
    callback: it is raised once more.
    """
    _interrupts.append(number)
    sys.excepthook, sys.unraisablehook = _shows_nothing, _raised_again
    signal.default_int_handler(number, frame)


def _shows_nothing(*_: object) -> None:
    pass


def _raised_again(dropped: "sys.UnraisableHookArgs") -> None:
    if issubclass(dropped.exc_type, KeyboardInterrupt):
        import threading

        threading.Timer(SOON, _thread.interrupt_main).start()


def _run(given: list[str]) -> int:
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a terminal may know fewer letters than a report
    options = parsed(given)
    with _colored(options.color), warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always", StudyNotKept)
        code: int = options.run(options)
    for one in told:
        if issubclass(one.category, StudyNotKept):
            _said(str(one.message), code, kind="warning")
        else:
            warnings.warn_explicit(one.message, one.category, one.filename, one.lineno)
    return code


def _closed_streams() -> bool:
    """Stand in for streams that the caller has closed, so that no file gets their numbers.

    Says whether stdout was one of them.
    """
    silent = sys.stdout is None
    for name in ("stdin", "stdout", "stderr"):
        if getattr(sys, name) is None:
            mode = "r" if name == "stdin" else "w"
            setattr(sys, name, open(os.devnull, mode, encoding="utf-8"))  # noqa: SIM115
    return silent


@contextmanager
def _colored(when: str) -> Iterator[None]:
    """Let reports be colored always or never, whatever the terminal and its NO_COLOR say."""
    kept = {name: os.environ.pop(name, None) for name in COLOR_KEYS} if when != "auto" else {}
    if when != "auto":
        os.environ["FORCE_COLOR" if when == "always" else "NO_COLOR"] = "1"
    try:
        yield
    finally:
        for name, value in kept.items():
            os.environ.pop(name, None)
            if value is not None:
                os.environ[name] = value


def _wrong_input(mistake: PivotwrightError, given: list[str]) -> int:
    if "--json" in given:
        _print_faults(mistake)
    return _said(str(mistake), WRONG_INPUT)


def _print_faults(mistake: PivotwrightError) -> None:
    """Faults on stdout, for the program that asked for JSON."""
    whole = [Fault("", str(mistake))]
    file = str(mistake.path) if isinstance(mistake, CaseFileError) else None
    faults = mistake.faults if isinstance(mistake, CaseFileError) else whole
    listed = [{"file": file, "location": one.location, "message": one.message} for one in faults]
    with_them = {"format": 2, "faults": listed}
    try:
        print_json(with_them)
        sys.stdout.flush()
    except OSError:
        _drop_stdout()


def _interrupted(fault: BaseException | None) -> bool:
    """Whether a fault comes of Ctrl-C, which a package may turn into another one on its way."""
    if _interrupts:
        return True
    while fault is not None:
        if isinstance(fault, KeyboardInterrupt):
            return True
        fault = fault.__cause__ or fault.__context__
    return False


def _stopped() -> int:
    return _said("stopped", STOPPED, kind=None)


def _software_fault(fault: BaseException, given: list[str]) -> int:
    import traceback

    place = traceback.extract_tb(fault.__traceback__)[-1]
    where = f"{type(fault).__name__} in {place.name}, {os.path.basename(place.filename)}"
    if "--debug" in given:
        trace = "".join(traceback.format_exception(fault))
        for argument in given:
            trace = without_secrets(trace, argument) if "://" in argument else trace
        sys.stderr.write(printable(trace, keep="\n"))
    more = "" if "--debug" in given else "; --debug shows how it came about"
    return _said(
        f"a fault of the program, not of yours ({where}:{place.lineno}): "
        f"please report this line, the command and its files{more}",
        SOFTWARE_FAULT,
    )


def _said(sentence: str, code: int, kind: str | None = "error") -> int:
    named = "" if kind is None else f"{kind}: "
    with suppress(OSError):  # if no one listens
        sys.stderr.write(printable(f"pivotwright: {named}{sentence}\n", keep="\n"))
        sys.stderr.flush()
    return code


def _drop_stdout() -> None:
    """Keep Python from trying once more at exit."""
    with suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
