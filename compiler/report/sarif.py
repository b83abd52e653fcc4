"""Findings as SARIF 2.1.0, the OASIS standard for results of static analysis.

A finding is a result; its story is a code flow with a thread flow for each actor, whose events keep their common
numbers as execution order; its labels are related locations; its repairs with edits are fixes. Places are relative to
the project's folder (``PROJECT``) or to the shipped vocabularies (``VOCABULARY``): no machine's folders are told.
Columns count code points, and the run says so. Section numbers are of the standard.

What the analysis leaves open is a result of kind ``open``, whose level is then ``none`` (3.27.9, 3.27.10). Readers
that list only what has a level would show nothing of it, so that the run's invocation warns of each such point too.

What is left out is a result with a suppression (3.35): `inSource` where the plan allows it, `external` where the
project or a baseline does, with the reason as justification. Where one result has suppressions all have, if none
(3.27.23). What the project only makes less grave is no suppression: the result says as a property what it was found as.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from jackstay.diagnostics.aside import PLAN, Aside, How
from jackstay.diagnostics.fingerprints import fingerprint
from jackstay.diagnostics.records import Diagnostic, Edit, Event, Fix, Severity
from jackstay.report.excerpt import Sources
from jackstay.report.sarif_rules import descriptor
from jackstay.rules import registry
from jackstay.source.spans import Span

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
PRINT = "ruleAndNames/v1"
_LEVEL = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "note"}
_BASES = {
    "PROJECT": {"description": {"text": "The top of the project's repository, or the folder of its jackstay.toml."}},
    "VOCABULARY": {"description": {"text": "The vocabularies that come with Jackstay."}},
}
_PLAIN = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~/")
Json = dict[str, Any]


def _artifact(path: str) -> Json:
    if path.startswith("stdlib:"):
        return {"uri": _uri(path.removeprefix("stdlib:")) + ".stay", "uriBaseId": "VOCABULARY"}
    return {"uri": _uri(path), "uriBaseId": "PROJECT"}


def _uri(path: str) -> str:
    """A relative reference of RFC 3986: every byte of UTF-8 that is not unreserved is escaped, a colon too, which would
    look like a scheme."""
    data = path.encode("utf-8", "surrogateescape")
    return "".join(chr(byte) if chr(byte) in _PLAIN else f"%{byte:02X}" for byte in data)


def _region(at: Span) -> Json:
    return {"startLine": at.line, "startColumn": at.start + 1, "endLine": at.line, "endColumn": at.end + 1}


def _location(at: Span, text: str = "", number: int | None = None) -> Json:
    found: Json = {} if number is None else {"id": number}
    if at.path:
        found["physicalLocation"] = {"artifactLocation": _artifact(at.path)}
        if at.line:
            found["physicalLocation"]["region"] = _region(at)
    return found | ({"message": {"text": text}} if text else {})


def _own_place(finding: Diagnostic, sources: Sources, inside: Sequence[str]) -> Json:
    at = finding.at
    found = _location(at, finding.note)
    file = sources.get(at.path)
    if file is not None and 1 <= at.line <= len(file.lines) and at.end > at.start:
        found["physicalLocation"]["region"]["snippet"] = {"text": file.lines[at.line - 1][at.start : at.end]}
    if len(inside) > 1:
        found["logicalLocations"] = [{"name": inside[-2], "fullyQualifiedName": " / ".join(inside[:-1])}]
    return found


def _thread_flows(events: Sequence[Event]) -> list[Json]:
    """A flow for each who acts, in the order of first acts; who acts together has the event in each one's flow."""
    flows: dict[str, list[Json]] = {}
    for event in events:
        told = {
            "location": _location(event.at, f"{event.text} → {event.leaves}" if event.leaves else event.text),
            "executionOrder": event.number,
            "importance": "essential" if event is events[-1] else "important",
        }
        if event.leaves:
            told["state"] = {"leaves": {"text": event.leaves}}
        for actor in event.actors or (event.actor,):
            flows.setdefault(actor, []).append(told)
    return [
        {"id": actor, "message": {"text": actor or "the plan"}, "locations": locations}
        for actor, locations in flows.items()
    ]


def _replacement(at: Span, text: str, sources: Sources) -> Json:
    """Lines that are put in before a line begin at its first column; after the last line, at the end of the text."""
    file = sources.get(at.path)
    if file is not None and at.line > len(file.lines) and at.start == at.end == 0 and file.lines:
        last = len(file.lines)
        end = len(file.lines[-1])
        at, text = Span(at.path, last, end, end), "\n" + text.removesuffix("\n")
    return {"deletedRegion": _region(at), "insertedContent": {"text": text}}


def _replacements(edits: Sequence[Edit], sources: Sources) -> list[Json]:
    """In the order of their places; two that insert at one place become one, since nothing says which comes first."""
    found: list[Json] = []
    for edit in sorted(edits, key=lambda edit: edit.at):
        one = _replacement(edit.at, edit.text, sources)
        if found and found[-1]["deletedRegion"] == one["deletedRegion"]:
            found[-1]["insertedContent"]["text"] += one["insertedContent"]["text"]
        else:
            found.append(one)
    return found


def _fixes(fixes: Sequence[Fix], sources: Sources) -> list[Json]:
    found = []
    for fix in fixes:
        files = list(dict.fromkeys(edit.at.path for edit in fix.edits))
        if not files or any(path.startswith("stdlib:") for path in files):
            continue
        changes = [
            {
                "artifactLocation": _artifact(path),
                "replacements": _replacements([edit for edit in fix.edits if edit.at.path == path], sources),
            }
            for path in files
        ]
        found.append({"description": {"text": fix.text}, "artifactChanges": changes})
    return found


def _message(finding: Diagnostic) -> Json:
    rows = [finding.message]
    rows += [_ended(f"Because {finding.because}")] if finding.because else []
    rows += [_ended(f"{'Or' if number else 'Help'}: {fix.text}") for number, fix in enumerate(finding.help)]
    return {"text": "\n".join(rows)}


def _ended(text: str) -> str:
    return text if text.endswith((".", "?", "!")) else f"{text}."


def _result(finding: Diagnostic, sources: Sources, index: int) -> Json:
    key = fingerprint(finding, sources)
    is_open = finding.severity is Severity.UNDECIDED
    result: Json = {
        "ruleId": finding.rule,
        "ruleIndex": index,
        "kind": "open" if is_open else "fail",
        "level": "none" if is_open else _LEVEL[finding.severity],
        "message": _message(finding),
        "locations": [_own_place(finding, sources, key.inside)],
        "partialFingerprints": {PRINT: key.digest()},
    }
    if finding.labels:
        result["relatedLocations"] = [
            _location(label.at, label.text, number) for number, label in enumerate(finding.labels, start=1)
        ]
    if finding.events:
        result["codeFlows"] = [
            {"message": {"text": "how it comes to this"}, "threadFlows": _thread_flows(finding.events)}
        ]
    if fixes := _fixes(finding.help, sources):
        result["fixes"] = fixes
    return result


def _suppression(one: Aside) -> Json:
    """3.35. One that nobody has given a reason for is not accepted yet."""
    silent = one.how is How.ALLOWED and not one.reason.strip()
    words = one.reason if one.how is How.ALLOWED and not silent else one.decision
    found: Json = {
        "kind": "inSource" if one.by == PLAN else "external",
        "status": "underReview" if silent else "accepted",
        "justification": words,
    }
    if one.at.path:
        found["location"] = _location(one.at)
    properties = {"how": one.how.value, "by": one.by} | ({"until": one.until} if one.until else {})
    return found | {"properties": properties}


def _results(
    findings: Sequence[Diagnostic], aside: Sequence[Aside], sources: Sources, indices: dict[str, int]
) -> list[Json]:
    """What is told, and after it what is left out."""
    told = [_result(finding, sources, indices[finding.rule]) for finding in findings]
    if not aside:
        return told
    lowered = {(one.finding.order(), one.now): one for one in aside if one.how is How.LOWERED}
    for finding, result in zip(findings, told, strict=True):
        result["suppressions"] = []
        if one := lowered.get((finding.order(), finding.severity)):
            result["properties"] = {"foundAs": one.finding.severity.value, "loweredBy": one.by}
    for one in aside:
        if one.how is not How.LOWERED:
            result = _result(one.finding, sources, indices[one.finding.rule])
            told.append(result | {"suppressions": [_suppression(one)]})
    return told


def _invocation(findings: Sequence[Diagnostic], indices: dict[str, int], exit_code: int, left_out: str) -> Json:
    told: list[Json] = [
        {
            "level": "warning",
            "message": {"text": f"Not decided: {finding.message}"},
            "associatedRule": {"id": finding.rule, "index": indices[finding.rule]},
            "locations": [_location(finding.at)],
        }
        for finding in findings
        if finding.severity is Severity.UNDECIDED
    ]
    told += [{"level": "note", "message": {"text": left_out}}] if left_out else []
    found: Json = {"executionSuccessful": True, "exitCode": exit_code}
    return found | ({"toolExecutionNotifications": told} if told else {})


def document(
    findings: Sequence[Diagnostic],
    sources: Sources,
    version: str,
    exit_code: int = 0,
    left_out: str = "",
    aside: Sequence[Aside] = (),
) -> Json:
    """version: Jackstay's. exit_code: of the check. left_out: in words, what of the findings is not told. aside: that,
    as findings. Paths of findings and sources are relative to the project's folder."""
    every = [*findings, *(one.finding for one in aside)]
    used = {finding.rule for finding in every}
    rules = sorted(used, key=lambda name: (registry.family(name), name))
    indices = {name: at for at, name in enumerate(rules)}
    paths = sorted({path for path in sources if path} | {finding.at.path for finding in every if finding.at.path})
    return {
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {"name": "Jackstay", "version": version, "rules": [descriptor(name) for name in rules]}
                },
                "invocations": [_invocation(findings, indices, exit_code, left_out)],
                "originalUriBaseIds": _BASES,
                "columnKind": "unicodeCodePoints",
                "artifacts": [
                    {"location": _artifact(path), "encoding": "utf-8", "roles": ["analysisTarget"]} for path in paths
                ],
                "results": _results(findings, aside, sources, indices),
            }
        ],
    }


def render(
    findings: Sequence[Diagnostic],
    sources: Sources,
    version: str,
    exit_code: int = 0,
    left_out: str = "",
    aside: Sequence[Aside] = (),
) -> str:
    """The document as text, ASCII only, ending in a line break."""
    return json.dumps(document(findings, sources, version, exit_code, left_out, aside), indent=1) + "\n"
