"""A step begins with a word that no action begins with."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label, source_line, suggested, use_fix
from jackstay.rules.records import Rule
from jackstay.source.spans import Span

RULE = Rule("unknown-verb", Severity.ERROR, "A step begins with a word that no action begins with.")

REMARKS = ("warning", "caution", "note")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: word, candidates (first words), actors, elsewhere (module, pattern, place of such verbs not in reach)."""
    word, at = problem.facts["word"], problem.at
    if word in REMARKS:
        line = source_line(plan, at)
        rest = line[at.end :].split(" #")[0].rstrip()
        words = Span(at.path, at.line, at.end + 1, at.end + len(rest))
        edits = (Edit(words, f'"{rest.strip()}"'),) if rest.strip() and '"' not in rest else ()
        return finding(
            RULE,
            problem,
            f"The {word} is not in quotes.",
            "read as a step",
            f"without them “{word}” is taken for a verb",
            help=(Fix("put its words in quotes", edits),),
        )
    elsewhere = problem.facts["elsewhere"]
    if elsewhere:
        module, _, decl = elsewhere[0]
        return finding(
            RULE,
            problem,
            f"“{word}” is a verb of {module}, which this file does not use.",
            "not known here",
            "a file knows the verbs of what it uses, at any depth",
            label(decl, "declared here"),
            (use_fix(at.path, module),),
        )
    labels, fixes = suggested(problem, word, [*problem.facts["candidates"], *problem.facts["actors"]])
    because = "a step is found by its first word, and a heading by the name of an actor"
    return finding(
        RULE,
        problem,
        f"No action begins with “{word}”.",
        "no such verb",
        because,
        labels if fixes and fixes[0].edits else (),
        fixes or (Fix(f"declare it: `action {word} …`"),),
    )
