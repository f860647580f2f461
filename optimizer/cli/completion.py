"""`pivotwright completion SHELL`: what a shell needs to complete commands and options."""

import argparse
import sys

SUMMARY = "print what bash, zsh or fish needs to complete commands and options"
SHELLS = ("bash", "zsh", "fish")


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `completion`."""
    parser.add_argument("shell", choices=SHELLS, metavar="SHELL", help=" or ".join(SHELLS))


def run(options: argparse.Namespace) -> int:
    """Print the script."""
    from argcomplete.shell_integration import shellcode

    sys.stdout.write(shellcode(["pivotwright"], shell=options.shell) + "\n")
    return 0
