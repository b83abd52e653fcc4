"""Findings as test results: a suite a file that was read, a case a finding, and one that passes where there is none.

An error is a failure. A warning passes and tells its story in the case's output; what is not decided is skipped, which
is what the form has for "not judged"; where a check is strict both are failures, as the exit code has it. What is left
out is skipped too, with who decided that and why. Nothing in it tells the time: the form's times are optional, and the
same plan gives the same bytes.

There is no standard of the form. This keeps to what the common readers share; ``tests/report/junit.xsd`` states it.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree

from jackstay.diagnostics.aside import Aside, How
from jackstay.diagnostics.fingerprints import fingerprint
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.report.cells import shown
from jackstay.report.excerpt import Sources
from jackstay.report.text import story

WIDTH = 100


def _fails(finding: Diagnostic, strict: bool) -> bool:
    return finding.severity is Severity.ERROR or (strict and finding.severity is not Severity.NOTE)


def _named(finding: Diagnostic, sources: Sources, taken: set[str]) -> str:
    """What the case is called: the same after an edit elsewhere, so that a history of runs can follow it."""
    stem = ": ".join(part for part in (finding.rule, " / ".join(fingerprint(finding, sources).inside)) if part)
    name, number = stem, 1
    while name in taken:
        number += 1
        name = f"{stem} ({number})"
    taken.add(name)
    return shown(name)


def _suite(
    whole: ElementTree.Element,
    path: str,
    findings: Sequence[Diagnostic],
    aside: Sequence[Aside],
    sources: Sources,
    strict: bool,
) -> tuple[int, int]:
    """One file's; how many cases it has, and how many fail."""
    suite = ElementTree.SubElement(whole, "testsuite", name=shown(path))
    within = shown(path.removesuffix(".stay"))
    taken: set[str] = set()
    failures = skipped = 0
    for finding in findings:
        case = ElementTree.SubElement(suite, "testcase", name=_named(finding, sources, taken), classname=within)
        told, message = story(finding, sources, WIDTH), shown(" ".join(finding.message.split()))
        if _fails(finding, strict):
            failures += 1
            ElementTree.SubElement(case, "failure", type=finding.rule, message=message).text = told
        elif finding.severity is Severity.UNDECIDED:
            skipped += 1
            ElementTree.SubElement(case, "skipped", type=finding.rule, message=f"not decided: {message}").text = told
        else:
            ElementTree.SubElement(case, "system-out").text = told
    for one in aside:
        skipped += 1
        case = ElementTree.SubElement(suite, "testcase", name=_named(one.finding, sources, taken), classname=within)
        message = shown(f"{one.decision}: {' '.join(one.finding.message.split())}")
        told = story(one.finding, sources, WIDTH)
        ElementTree.SubElement(case, "skipped", type=one.finding.rule, message=message).text = told
    if not findings and not aside:
        ElementTree.SubElement(suite, "testcase", name="nothing found", classname=within)
    cases = max(1, len(findings) + len(aside))
    for key, number in (("tests", cases), ("failures", failures), ("errors", 0), ("skipped", skipped)):
        suite.set(key, str(number))
    return cases, failures


def render(findings: Sequence[Diagnostic], sources: Sources, strict: bool = False, aside: Sequence[Aside] = ()) -> str:
    """The document, ASCII only. Files without findings are those of the sources that are the user's own."""
    whole = ElementTree.Element("testsuites", name="jackstay")
    own = {path for path in sources if not path.startswith("stdlib:")}
    left = [one for one in aside if one.how is not How.LOWERED]
    tests = failures = 0
    for path in sorted(own | {one.at.path for one in (*findings, *(one.finding for one in left))}):
        here = [finding for finding in findings if finding.at.path == path]
        cases, failed = _suite(whole, path, here, [one for one in left if one.finding.at.path == path], sources, strict)
        tests, failures = tests + cases, failures + failed
    for key, number in (("tests", tests), ("failures", failures), ("errors", 0)):
        whole.set(key, str(number))
    ElementTree.indent(whole, " ")
    text: bytes = ElementTree.tostring(whole, encoding="us-ascii", xml_declaration=True)
    return text.decode("ascii") + "\n"
