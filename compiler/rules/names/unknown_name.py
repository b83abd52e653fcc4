"""A name stands for nothing here."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, found_elsewhere, suggested
from jackstay.rules.records import Rule

RULE = Rule("unknown-name", Severity.ERROR, "A name stands for nothing here.")


def _noun(name: str, wanted: str) -> str:
    """``actor called adda``; ``task of this excursion called fill``."""
    if name.isupper():
        return f"slot called {name} in this line's action or rule"
    if " or " in wanted or wanted in ("a thing", "one thing"):
        return f"thing called {name}"
    what = wanted.removeprefix("an ") if wanted.startswith(("an ", "another ")) else wanted.removeprefix("a ")
    what = what.replace("another ", "other ")
    head, of, rest = what.partition(" of ")
    return (
        f"{head} called {name} in {rest.replace('a file used here', 'the files used here')}"
        if of
        else f"{what} called {name}"
    )


def _because(name: str, wanted: str) -> str:
    if "." in name:
        head = name.split(".")[0]
        return f"nothing that {head} stands for has that name"
    if " or " in wanted:
        return f"{wanted} belongs here"
    return "neither this file nor one that it uses declares it"


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, wanted (what belongs there), candidates, places (in this file), elsewhere (module, alias, place)."""
    name, wanted = problem.facts["name"], problem.facts["wanted"]
    other = found_elsewhere(problem)
    if other is not None:
        module, labels, fixes = other
        return finding(
            RULE,
            problem,
            f"{name} is declared in {module}, which this file does not use under that name.",
            "not known here",
            "a file sees only the names of the files that it uses itself",
            labels,
            fixes,
        )
    if name in ("actor", "helper"):
        who = "acts" if name == "actor" else "helps"
        return finding(
            RULE,
            problem,
            f"The clause speaks of the {name}, and nobody {who} here.",
            f"nobody {who}",
            "only an action has somebody who does it" if name == "actor" else "the action's `by` line names no helper",
            help=(Fix("name who is meant, or what is in reach of what"),),
        )
    labels, fixes = suggested(problem, name, problem.facts["candidates"])
    return finding(
        RULE, problem, f"There is no {_noun(name, wanted)}.", "no such name", _because(name, wanted), labels, fixes
    )
