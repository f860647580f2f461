"""Commands and options that were mistyped: one line that says which was meant."""

import argparse
from collections.abc import Sequence

# What people call the job of each command.
COMMANDS = {
    "suggest": ("optimize", "optimise", "run", "solve", "search", "find", "fit", "calc"),
    "curve": ("plot", "graph", "toe", "bump", "sweep", "analyze", "bumpsteer"),
    "reach": ("heights", "lower", "ride-height", "map"),
    "gauge": ("measure", "readings", "dial", "laser"),
    "sheet": ("print", "report", "form"),
    "check": ("validate", "lint", "verify", "test"),
    "new": ("init", "template", "create", "start", "starter", "example"),
    "--help": ("help", "usage"),
}


# What says how low the car is, of a command that has no option for it.
HEIGHT, HEIGHTS = "the case says it, under [ride]", "did you mean --heights A:B:STEP?"
LOWERED_BY = {"suggest": HEIGHT, "sheet": HEIGHT, "check": HEIGHT, "reach": HEIGHTS}


def command_meant(typed: str, known: Sequence[str]) -> str:
    """Say which command was meant, or which there are."""
    job = next((name for name, words in COMMANDS.items() if typed.lower() in words), None)
    near = [job] if job else _alike(typed.lower(), known)
    meant = f"did you mean {near[0]}?" if near else f"there are {', '.join(known)}"
    return f"there is no command {typed}; {meant}"


def choice_meant(typed: str, known: Sequence[str]) -> str:
    """Say which of an option's choices was meant, or which there are."""
    near = [one for one in known if typed and typed.lower() in one]
    near = near or _alike(typed.lower(), known)
    meant = f"did you mean {' or '.join(near)}?" if near else f"there are {', '.join(known)}"
    return f"there is no {typed}; {meant}"


def option_meant(typed: str, command: str, parsers: dict[str, argparse.ArgumentParser]) -> str:
    """Say which option of a command was meant, or which command takes it."""
    typed = typed.split("=")[0]
    word = typed.replace("_", "-").lower()
    if not word.startswith("-") or word == "-":
        return f"{command} does not take {typed}; {command} --help lists what it takes"
    if word in ("--case", "--file", "--input"):
        return f"{command} has no option {typed}; name the case without one: {command} CASE"
    if word == "--lowered-by" and command in LOWERED_BY:
        return f"{command} has no option {typed}; {LOWERED_BY[command]}"
    options = {name: _options(parser) for name, parser in parsers.items()}
    own = options[command]
    near = _near(word, own)
    others = [name for name, taken in options.items() if word in taken]
    takes = "takes" if len(others) == 1 else "take"
    if others and word not in own:
        return f"{command} has no option {typed}; {' and '.join(others)} {takes} it"
    if near:
        return f"{command} has no option {typed}; did you mean {' or '.join(near)}?"
    return f"{command} has no option {typed}; {command} --help lists what it takes"


def _near(word: str, own: list[str]) -> list[str]:
    """Options that may be meant: those that begin with a lone letter, else the nearest."""
    if len(word) == len("-q"):
        return [one for one in own if one.startswith(f"-{word}")]
    near = [one for one in own if one == word] or [one for one in own if word[2:] in one[2:]]
    return near[:1] or _alike(word, own, cutoff=0.75)


def _alike(word: str, known: Sequence[str], cutoff: float = 0.6) -> list[str]:
    from difflib import get_close_matches  # few mistype

    return get_close_matches(word, known, n=1, cutoff=cutoff)


def _options(parser: argparse.ArgumentParser) -> list[str]:
    found = [text for action in parser._actions for text in action.option_strings]
    return [text for text in found if text.startswith("--")]
