"""``jackstay new``"""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from argparse import Namespace
from importlib.resources import files
from pathlib import Path

from jackstay.commands.checking import CannotRun
from jackstay.commands.terminal import Terminal

_CAMPAIGN = "campaign.stay"
_NAME = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
_OLD = 'campaign starter "Starter:'
_FILES = ("campaign.stay", "site.stay", "first.stay", "second.stay", "jackstay.toml")
_TAKEN = ("campaign", "site", "first", "second")  # names of files, and of what is declared in them


def starter() -> dict[str, str]:
    """The texts of the campaign that `new` writes, by file name; it is called ``starter``."""
    folder = files("jackstay.commands").joinpath("starter")
    return {name: folder.joinpath(name).read_text(encoding="utf-8") for name in _FILES}


def _named(name: str) -> None:
    """Raises CannotRun for what the language does not take as a name, or the campaign uses otherwise."""
    from jackstay.syntax.tokens import MAX_NAME, RESERVED

    if not _NAME.fullmatch(name):
        raise CannotRun(
            f"“{name}” is no name: write lower-case letters, digits and hyphens, beginning with a letter, "
            "like north-ridge"
        )
    if len(name) > MAX_NAME:
        raise CannotRun(f"a name has at most {MAX_NAME} letters, this one has {len(name)}")
    if name in RESERVED:
        raise CannotRun(f"{name} is a word of the language and cannot be a name")
    if name in _TAKEN:
        raise CannotRun(f"{name} is the name of a file in every new campaign: choose another")


def run(args: Namespace, terminal: Terminal) -> int:
    _named(args.name)
    target = Path(args.name)
    if os.path.lexists(target):
        raise CannotRun(f"{target} exists already: nothing was written")
    texts = starter()
    title = args.name.replace("-", " ").capitalize()
    texts[_CAMPAIGN] = texts[_CAMPAIGN].replace(_OLD, f'campaign {args.name} "{title}:')
    try:
        _write(target, texts)
    except OSError as error:
        raise CannotRun(f"{target} cannot be written: {error.strerror or error}") from error
    from jackstay.report.cells import wrap

    rows = [
        *wrap(f"wrote a campaign to {target}: {', '.join(texts)}", terminal.width),
        "",
        f"  jackstay check {target}",
        f"  jackstay build {target} -o {target}-out",
        "",
        *wrap("Everything in it is invented. Begin with site.stay: places, crew, things.", terminal.width),
    ]
    terminal.say("\n".join(rows) + "\n")
    return 0


def _write(target: Path, texts: dict[str, str]) -> None:
    """Aside first, then renamed: nobody meets half a campaign."""
    aside = Path(tempfile.mkdtemp(prefix=".jackstay-", dir=target.parent))
    try:
        for name, text in texts.items():
            (aside / name).write_text(text, encoding="utf-8", newline="\n")
        mask = os.umask(0)
        os.umask(mask)
        aside.chmod(0o777 & ~mask)
        os.rename(aside, target)
    except BaseException:
        shutil.rmtree(aside, ignore_errors=True)
        raise
