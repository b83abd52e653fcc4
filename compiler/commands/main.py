"""The command line. Each verb's code is imported when that verb is asked for."""

from __future__ import annotations

import argparse
import errno
import os
import sys
from collections.abc import Sequence
from importlib import import_module

_ABOUT = """\
Jackstay reads a plan of an excursion - who goes where, carrying what, handing
what to whom, in what order - and tells you where it does not work.

  jackstay new NAME          write a small campaign to begin with
  jackstay check             look at every plan in this folder
  jackstay check second.stay look at one plan
  jackstay explain           the rules, in a line each
  jackstay explain RULE      one rule: what, why, a failing and a repaired plan
  jackstay trace THING PLAN  where a thing is, step by step
  jackstay build PLAN -o DIR the checklists, timelines and diagrams of a plan
  jackstay verify FILE PLAN  whether a check's certificate holds of a plan
  jackstay forecast PLAN     when it ends, and the chance that it is in time
  jackstay calibrate LOG...  durations from the records of rehearsals
  jackstay format PATH...    the text of plans in its canonical form
  jackstay compare OLD NEW   what a change does to crew, items and times
"""
_CHECK = """\
Checks plans and tells every finding as a story: the place, the lines that
matter, how it came to this, what is missing, what to do.

A PATH is a plan or a folder; of a folder, every plan that no other file there
draws on is checked. jackstay.toml, in the plan's folder or above it in its
repository, says how grave a rule's findings are and what is allowed.

Exit code: 0 nothing wrong (warnings may have been told), 1 errors (with --since
and --baseline: new ones), 2 the check could not run.
"""
_EXPLAIN = "Prints a rule's page, or the rules of a family, or all, with a line on each."
_TRACE = """\
Follows one thing through a plan: where it is and which step moved it.

With --at: where it is when one step begins, in whatever order the others get
there - where it surely is, where it may be and by which steps, where it is not.
"""
_BUILD = """\
Checks a plan and writes its outputs. With errors nothing is written, unless you
force it; forced outputs say on every page that they are unchecked. Files in the
output folder are replaced only when all new ones are ready, and only those that
an earlier build wrote there: .jackstay-outputs lists them. Where another file
has an output's name, nothing is written, unless --overwrite is given.

Exit code: 0 written, 1 the plan has errors, 2 nothing could be written.
"""
_VERIFY = """\
Checks a certificate that `jackstay check --certificate` wrote, against the files
of the plan as they are now, and without the compiler: a small program of its own
reads both, works the order out again and follows every item through it.

Exit code: 0 it holds, 1 it does not (the first reason is told), 2 it could not
be read.
"""
_FORECAST = """\
Draws the length of every step from its three numbers, many times over, and
tells when each excursion and task ends, the chance that limits are kept, what
the end hangs on, and which get-aheads fit: with the spread that a slow day makes
common, and beside it with each step varying for itself. The same seed gives the
same bytes.

A plan with errors is not forecast. Exit codes as of `check`.
"""
_CALIBRATE = """\
Reads records of rehearsals (CSV with the columns step, run, minutes) and
proposes three-point durations as an edit of the plan, and how much of the spread
a slow day makes common, with its band. A step is named by EXCURSION.TASK.MARK,
by FILE:LINE, or by its name in `jackstay forecast --format json`.

Exit code: 0 read, 1 a record or the plan has errors (nothing is written then),
2 it could not be read or written.
"""
_FORMAT = """\
Writes plans in their canonical form: blanks, indentation, line ends, empty lines.
Words, comments and what the plan says stay; each text is read again and compared
before anything is written. A PATH is a plan or a folder, of which every .stay
file below is formatted that is not hidden; - reads standard input and writes to
standard output. A file in canonical form already is not touched. One with a
line that cannot be read is left alone, and the finding shown.

Exit code: 0 done, or (with --check) nothing to do, 1 with --check: a file would
change, 2 a file could not be read, formatted or written (the others are).
"""
_COMPARE = """\
Says what has changed between two plans in meaning, not line by line: steps that
are new, gone, moved to another actor, place or order, or take another time; who
waits for whom; what that does to the hands items go through, the end of each
excursion, what goes out and comes in, the critical chain, times, supplies and
the way home; findings that appear and disappear. A name that is changed
everywhere is one change.

OLD and NEW are plans or folders, or REV:PATH as it was at a revision of the git
repository around it (PATH as seen from here, else from the repository's top).

  jackstay compare main:plans plans              your change, as a text
  jackstay compare main:plans plans --for teal   what it means for Teal
  jackstay compare HEAD~3:plans HEAD:plans --format markdown -o comment.md

Exit code: 0 nothing has changed, 1 something has, 2 could not compare. Where a
side cannot be followed, what can be compared is, and the rest is named.
"""
_NEW = """\
Writes a small campaign into a new folder called NAME: a site, two excursions,
the project's settings. It checks clean, and every output can be built from it.

Exit code: 0 written, 2 not: the folder exists, or NAME cannot be a name.
"""
_ENDS = "NO_COLOR and FORCE_COLOR are obeyed, and so is COLUMNS."


def _parser() -> argparse.ArgumentParser:
    form = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(
        "jackstay", description=_ABOUT, epilog=_ENDS, formatter_class=form, usage="jackstay VERB ..."
    )
    parser.add_argument("--version", action="store_true", help="print the version and leave")
    verbs = parser.add_subparsers(prog="jackstay", dest="verb", metavar="VERB", title="verbs")

    def verb(name: str, about: str, line: str) -> argparse.ArgumentParser:
        return verbs.add_parser(name, description=about, help=line, formatter_class=form)

    def day(command: argparse.ArgumentParser) -> None:
        command.add_argument("--today", metavar="DATE", help="the day to judge `until` by (default: the clock's)")

    check = verb("check", _CHECK, "find what does not work")
    check.add_argument(
        "paths", metavar="PATH", nargs="*", default=["."], help="plans or folders (default: this folder)"
    )
    check.add_argument(
        "--format",
        choices=("text", "line", "json", "sarif", "github", "junit"),
        default="text",
        help="stories, a line each, data, or what other programs show",
    )
    check.add_argument("--strict", action="store_true", help="warnings and undecided points fail the check too")
    check.add_argument(
        "--certificate", metavar="FILE", help="if nothing is wrong with the one plan, write why its order holds"
    )
    check.add_argument("--watch", action="store_true", help="check again whenever a file is saved, until Ctrl-C")
    check.add_argument(
        "--cache", metavar="DIR", help="keep results there, and do not check again what has not changed since"
    )
    check.add_argument("--since", metavar="REV", help="tell only what is new against a revision of git")
    check.add_argument("--baseline", metavar="FILE", help="leave out the findings that FILE knows")
    check.add_argument("--write-baseline", metavar="FILE", help="write FILE, so that it knows every finding")
    check.add_argument("--schema", action="store_true", help="print the JSON schema of --format json and leave")
    day(check)
    explain = verb("explain", _EXPLAIN, "what a rule finds, and why")
    explain.add_argument("rule", metavar="RULE", nargs="?", help="a rule's name, as findings show it, or a family's")
    trace = verb("trace", _TRACE, "follow a thing through the plan")
    trace.add_argument("thing", metavar="THING", help="an actor, an item or a location")
    trace.add_argument(
        "path", metavar="PATH", nargs="?", default=".", help="a plan or its folder (default: this folder)"
    )
    trace.add_argument("--at", metavar="FILE:LINE", help="only when the step written there begins, under any timing")
    day(trace)
    build = verb("build", _BUILD, "write checklists, timelines, diagrams")
    build.add_argument(
        "path", metavar="PATH", nargs="?", default=".", help="a plan or its folder (default: this folder)"
    )
    build.add_argument("-o", "--output", metavar="DIR", help="the folder to write into")
    build.add_argument(
        "--paper",
        action="append",
        choices=("a4", "letter", "cuff", "none"),
        help="what checklists and lists are printed on, as PDF; may be given again (default: a4; cuff: 90 by 200 mm)",
    )
    build.add_argument(
        "--only",
        metavar="NAME",
        nargs="+",
        action="extend",
        help="only these parts (review, order, crew, checklists, …) or files; what else is there stays",
    )
    build.add_argument(
        "--forecast",
        metavar="N",
        type=int,
        nargs="?",
        const=2000,
        default=0,
        help="put a forecast of N runs into the review page (default, if N is not given: 2000)",
    )
    build.add_argument("--force", action="store_true", help="write in spite of errors, marked unchecked")
    build.add_argument(
        "--overwrite", action="store_true", help="replace files that have an output's name and are of no build"
    )
    build.add_argument("--schema", action="store_true", help="print the JSON schema of plan.json and leave")
    day(build)
    verify = verb("verify", _VERIFY, "check a certificate without the compiler")
    verify.add_argument("file", metavar="FILE", help="the certificate")
    verify.add_argument(
        "path", metavar="PATH", nargs="?", default=".", help="the plan it is of, or its folder (default: this folder)"
    )
    forecast = verb("forecast", _FORECAST, "when it may end, with what chance")
    forecast.add_argument(
        "path", metavar="PATH", nargs="?", default=".", help="a plan or its folder (default: this folder)"
    )
    forecast.add_argument("--samples", metavar="N", type=int, default=10_000, help="runs drawn (default: 10000)")
    forecast.add_argument("--seed", metavar="S", type=int, default=1, help="of the draws (default: 1)")
    forecast.add_argument("--format", choices=("text", "json"), default="text", help="a page or data")
    day(forecast)
    calibrate = verb("calibrate", _CALIBRATE, "durations from rehearsals")
    calibrate.add_argument("logs", metavar="LOG", nargs="+", help="CSV with the columns step, run, minutes")
    calibrate.add_argument("--plan", metavar="PATH", default=".", help="the plan or its folder (default: this folder)")
    calibrate.add_argument("--write", action="store_true", help="make the edits in the plan's files")
    day(calibrate)
    formats = verb("format", _FORMAT, "write plans in their canonical form")
    formats.add_argument("paths", metavar="PATH", nargs="+", help="plans or folders, or - for standard input")
    formats.add_argument("--check", action="store_true", help="write nothing, list the files that would change")
    formats.add_argument("--diff", action="store_true", help="write nothing, show how files would change")
    compare = verb("compare", _COMPARE, "what has changed in meaning")
    compare.add_argument("old", metavar="OLD", help="a plan or folder, or REV:PATH")
    compare.add_argument("new", metavar="NEW", help="the same")
    compare.add_argument("--for", dest="actor", metavar="ACTOR", help="only what bears on one of the crew")
    compare.add_argument(
        "--format",
        choices=("text", "markdown", "json", "html"),
        default="text",
        help="lines, a comment under a change, data, or a page with the timelines and diagrams of both sides",
    )
    compare.add_argument("-o", "--output", metavar="FILE", help="write it to a file (a page always is)")
    day(compare)
    new = verb("new", _NEW, "write a small campaign to begin with")
    new.add_argument("name", metavar="NAME", help="of the campaign and its folder, like north-ridge")
    return parser


_STREAM_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)  # of the disk that the output goes to
_DEFECT = (
    "jackstay: a mistake in Jackstay itself, not in the plan ({kind}: {text}). Nothing was written. Please report it "
    "with the plan; JACKSTAY_DEBUG=1 shows where it happened."
)


def _run(arguments: Sequence[str] | None) -> int:
    parser = _parser()
    args = parser.parse_args(arguments)
    from jackstay.commands.checking import CannotRun
    from jackstay.commands.terminal import Terminal

    terminal = Terminal.here()
    if args.version:
        from importlib.metadata import version

        terminal.say(f"jackstay {version('jackstay')}\n")
        return 0
    if args.verb is None:
        parser.print_help(sys.stderr)
        return 2
    try:
        return int(import_module(f"jackstay.commands.{args.verb}").run(args, terminal))
    except CannotRun as error:
        sys.stdout.flush()
        terminal.complain(str(error))
        return 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Exit code: 0, 1 errors in a plan, 2 could not run, 130 interrupted."""
    try:
        code = _run(arguments)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        # Whoever read us has left. Python would complain once more at exit: give it somewhere to flush to.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except KeyboardInterrupt:
        return 130
    except Exception as defect:
        if isinstance(defect, OSError) and defect.errno in _STREAM_FULL:
            # What could not be flushed would be tried once more at exit.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            print(f"jackstay: the output cannot be written: {defect.strerror}", file=sys.stderr)
            return 2
        # A plan never does this: it is a mistake in the compiler. Say so in one line, and where to look.
        if os.environ.get("JACKSTAY_DEBUG"):
            raise
        print(_DEFECT.format(kind=type(defect).__name__, text=str(defect)[:200]), file=sys.stderr)
        return 2
