"""``jackstay verify``: hands certificate and plan to the checker that knows nothing of the compiler."""

from __future__ import annotations

import json
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
    _must_be_data(certificate, args.file)
    verdict = str(import_module("jackstay.checker.checker").Checker().verify(certificate, Path(args.path)))
    terminal.say(f"{verdict}\n")
    return 0 if verdict.startswith("OK") else 1


def _must_be_data(certificate: bytes, file: str) -> None:
    """What is no JSON object was never a certificate: there is nothing to verify."""
    what = "is not a certificate as `jackstay check --certificate` writes it"
    try:
        data = json.loads(certificate)
    except json.JSONDecodeError as error:
        raise CannotRun(f"{file} {what}: it is no JSON from line {error.lineno}, column {error.colno} on") from error
    except (UnicodeDecodeError, RecursionError) as error:
        raise CannotRun(f"{file} {what}: it is no JSON") from error
    if not isinstance(data, dict):
        raise CannotRun(f"{file} {what}: it holds no fields")
