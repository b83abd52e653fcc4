"""``jackstay calibrate``"""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.commands.checking import CannotRun, checked, gather, seen_from_here, the_one, today
from jackstay.commands.terminal import Terminal
from jackstay.diagnostics.records import Severity

if TYPE_CHECKING:
    from jackstay.pipeline import Checked
    from jackstay.timing.calibration_log import Fault, Row
    from jackstay.timing.calibration_study import Study


def run(args: Namespace, terminal: Terminal) -> int:
    from jackstay.outputs.calibration import as_text, differences
    from jackstay.report.cells import shown
    from jackstay.timing.calibration_names import Names
    from jackstay.timing.calibration_study import study

    rows, faults = _logs(args.logs)
    plan = the_one(args.plan)
    result = checked(plan, today(args.today))
    outcome = gather([(plan, result)])
    if outcome.has(Severity.ERROR) or result.flow is None:
        from jackstay.commands.telling import tell_findings

        tell_findings(outcome, terminal)
        terminal.complain("nothing was calibrated: the plan has errors")
        return 1
    folder = plan.parent
    found = study(result.flow, rows, Names(result.flow.excursions, folder.as_posix()))
    faults = sorted([*faults, *found.faults], key=lambda fault: (args.logs.index(fault.path), fault.line))
    for fault in faults:
        terminal.say(shown(f"{fault.path}:{fault.line}: error: {fault.text}") + "\n")
    before, after = _edited(folder, result, found)
    terminal.say(as_text(result, found))
    changes = [(seen_from_here(path, folder.as_posix()), before[path], after[path]) for path in sorted(after)]
    terminal.say(differences(changes))
    if faults:
        if args.write:
            terminal.complain("nothing was written: put the records right first, or take them out")
        return 1
    if args.write:
        _write(folder, plan, before, after, terminal)
    return 0


def _logs(paths: list[str]) -> tuple[list[Row], list[Fault]]:
    from jackstay.timing.calibration_log import read_log

    rows: list[Row] = []
    faults: list[Fault] = []
    for path in dict.fromkeys(paths):
        try:
            data = Path(path).read_bytes()
        except OSError as error:
            raise CannotRun(f"{path} cannot be read: {error.strerror or error}") from error
        read, wrong = read_log(path, data)
        rows += read
        faults += wrong
    return rows, faults


def _edited(folder: Path, result: Checked, found: Study) -> tuple[dict[str, bytes], dict[str, bytes]]:
    """Each file that changes, before and after, by its path in the campaign's folder."""
    from jackstay.diagnostics.edits import apply_edits
    from jackstay.timing.calibration_edits import Brackets

    before: dict[str, bytes] = {}
    after: dict[str, bytes] = {}
    for path, wanted in found.brackets().items():
        source = result.sources[path]
        data = (folder / path).read_bytes()
        text = data.decode("utf-8-sig")
        if text.replace("\r\n", "\n") != source.text:
            raise CannotRun(f"{path} has changed since it was read, or ends its lines with bare carriage returns")
        brackets = Brackets(source)
        edits = [edit for line, bracket in wanted if (edit := brackets.edit(line, bracket)) is not None]
        changed = apply_edits(text, edits).encode("utf-8")
        if data.startswith(b"\xef\xbb\xbf"):
            changed = b"\xef\xbb\xbf" + changed
        if changed != data:
            before[path], after[path] = data, changed
    return before, after


def _write(folder: Path, plan: Path, before: dict[str, bytes], after: dict[str, bytes], terminal: Terminal) -> None:
    """Replace the files, each in one go, once all of them together have been read again and understood."""
    from jackstay.commands.writing import replace_file

    if not after:
        terminal.say("nothing to write\n")
        return
    wrong = _not_understood(folder, plan, after)
    if wrong:
        raise CannotRun(f"nothing was written: {wrong} would not be understood with these brackets")
    written = 0
    try:
        for path in sorted(after):
            if (folder / path).read_bytes() != before[path]:
                raise CannotRun(f"{path} has changed meanwhile; files written: {written} of {len(after)}")
            place = (folder / path).resolve()  # a link stays a link
            mode = place.stat().st_mode
            replace_file(place, after[path])
            place.chmod(mode)
            written += 1
    except OSError as error:
        raise CannotRun(f"{path} cannot be written: {error.strerror or error}; files written: {written}") from error
    terminal.say(f"wrote {written} file{'' if written == 1 else 's'}\n")


def _not_understood(folder: Path, plan: Path, after: dict[str, bytes]) -> str:
    """The place of the first error that the edited files would have; empty: none."""
    from jackstay.model.from_syntax import build_world
    from jackstay.rules.registry import rule
    from jackstay.source.files import SourceFile, source_from_bytes
    from jackstay.source.library import Library
    from jackstay.syntax.modules import load

    library = Library(folder)
    for path, data in after.items():
        source = source_from_bytes(path, data.removeprefix(b"\xef\xbb\xbf"))
        assert isinstance(source, SourceFile)  # it was read before, and only brackets are new
        library.overlay[path] = source
    loaded = load(library, plan.stem)
    _, problems = build_world(loaded.modules)  # type: ignore[arg-type]
    for problem in [*loaded.problems, *problems]:
        if rule(problem.rule).severity is Severity.ERROR:
            return f"{problem.at.path}:{problem.at.line}"
    return ""
