"""``jackstay verify``: hands certificate and plan to the checker that knows nothing of the compiler."""

from __future__ import annotations

from argparse import Namespace
from importlib import import_module
from pathlib import Path

from jackstay.commands.checking import CannotRun
from jackstay.commands.terminal import Terminal
from jackstay.source.packaged import data_folder


def run(args: Namespace, terminal: Terminal) -> int:
    path = Path(args.path)
    if not path.exists():
        raise CannotRun(f"{path} does not exist")
    try:
        certificate = Path(args.file).read_bytes()
    except OSError as error:
        raise CannotRun(f"{args.file} cannot be read: {error.strerror or error}") from error
    checker = import_module("jackstay.checker.checker")
    holds, words = checker.verify(certificate, path if path.is_dir() else path.parent, data_folder("stdlib"))
    terminal.say(f"{words}\n")
    return 0 if holds else 1
