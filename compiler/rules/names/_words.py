"""What the rules of this family share: quoting the plan, and did-you-mean with its edits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Label, Problem
from jackstay.diagnostics.suggest import nearest
from jackstay.model.words import with_article
from jackstay.rules.records import Rule
from jackstay.source.spans import Span

Candidates = Sequence[tuple[str, str, Span]]  # name, what it is, where declared
FEW = 4  # so many names are listed when none is near


def listed(words: Iterable[str], last: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    every = list(words)
    return f" {last} ".join([", ".join(every[:-1]), every[-1]]) if len(every) > 1 else "".join(every)


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def source_line(plan: Any, at: Span) -> str:
    """The line of a place as written; empty where its file is not at hand."""
    source = plan.sources.get(at.path) if plan is not None else None
    return source.lines[at.line - 1] if source is not None and 0 < at.line <= len(source.lines) else ""


def written(plan: Any, at: Span) -> str:
    return source_line(plan, at)[at.start : at.end]


def label(at: Span | None, text: str) -> tuple[Label, ...]:
    """One label, or none for what stands in no file."""
    return (Label(at, text),) if at is not None and at.path else ()


def use_fix(path: str, module: str) -> Fix:
    """Bring in the names of a file."""
    return Fix(f"use {module}", (Edit(Span(path, 1, 0, 0), f"use {module}\n"),))


def found_elsewhere(problem: Problem) -> tuple[str, tuple[Label, ...], tuple[Fix, ...]] | None:
    """Where another file declares the name: the file, its label, and how to reach it."""
    name, elsewhere = problem.facts["name"], problem.facts.get("elsewhere") or ()
    if not elsewhere:
        return None
    module, alias, decl = elsewhere[0]
    fixes: tuple[Fix, ...] = (use_fix(problem.at.path, module),)
    if alias:
        fixes = (replace(f"{alias}.{name}", name, problem),)
    return module, label(decl, "declared here"), fixes


def replace(new: str, old: str, problem: Problem) -> Fix:
    """Write another word wherever the wrong one stands."""
    places = problem.facts.get("places") or [problem.at]
    good = all(at.end - at.start == len(old) for at in places)
    return Fix(f"write {new}", tuple(Edit(at, new) for at in places) if good else ())


def suggested(problem: Problem, name: str, candidates: Candidates) -> tuple[tuple[Label, ...], tuple[Fix, ...]]:
    """The nearest names, each with its edit, and the place of the first; a short list of all where none is near."""
    known = {candidate[0]: candidate for candidate in candidates}
    near = nearest(name, known)
    if near:
        _, what, decl = known[near[0]]
        text = f"{near[0]} is {what if ' ' in what else with_article(what)}" if what else f"{near[0]} stands here"
        return label(decl, text), tuple(replace(other, name, problem) for other in near)
    if 0 < len(known) <= FEW:
        return (), (Fix(f"there is {listed(known)}"),)
    return (), ()


def finding(
    rule: Rule,
    problem: Problem,
    message: str,
    note: str,
    because: str,
    labels: tuple[Label, ...] = (),
    help: tuple[Fix, ...] = (),
) -> Diagnostic:
    return Diagnostic(
        rule.name, rule.severity, message, problem.at, note=note, labels=labels, because=because, help=help
    )
