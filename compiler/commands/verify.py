"""``jackstay verify``: hands certificate and plan to the checker that knows nothing of the compiler."""

from __future__ import annotations

from argparse import Namespace
from importlib import import_module
from pathlib import Path

from jackstay.commands.checking import CannotRun
from jackstay.commands.terminal import Terminal


def run(args: Namespace, terminal: Terminal) -> int:
    if not Path(args.path).exists():
        raise CannotRun(f"{args.path} does not exist")
    try:
        certificate = Path(args.file).read_bytes()
    except OSError as error:
        raise CannotRun(f"{args.file} cannot be read: {error.strerror or error}") from error
    verdict = str(import_module("jackstay.checker.checker").Checker().verify(certificate, Path(args.path)))
    terminal.say(f"{verdict}\n")
    return 0 if verdict.startswith("OK") else 1
