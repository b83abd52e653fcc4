"""A path that is gone on a line, and no line to go on."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Event, Label, Problem, Severity
from jackstay.model.literals import is_under
from jackstay.model.records import Slot, Term, Thing, World
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding, in_routine

RULE = Rule("no-line-for-path", Severity.ERROR, "A path is gone only on a line, and none will do.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, entry, actor, path, lines (those that start at its place), choice (the change of line that nearly
    would do, with the need that is missing), start (where the line is needed), step_before."""
    facts = problem.facts
    actor, path, lines, choice, entry = (facts[k] for k in ("actor", "path", "lines", "choice", "entry"))
    story = Story.of(plan, facts)
    kind = naming.a_kind(path.line_kind.name)
    missing = choice.missing if choice is not None else None
    can = _makers(plan.world, story, actor, lines) if missing is None else []
    if not lines:
        because = f"no {path.line_kind.name} has its `from` end at {the(path.line_place)}"
    elif missing is not None:
        because = f"what is missing is that {naming.clause(missing, choice.binding)}"
    elif can:
        because = f"{the(actor)} is on none, and what would change that is not inserted by itself"
    else:
        of = naming.a_kind(actor.kind.name)
        because = f"nothing that {of} can do here brings {kind} of that place to {the(actor)}"
    involved = [choice.binding[i] for i in range(2, len(choice.binding))] if choice is not None else lines[:2]
    involved = [line for line in involved if line is not None and getattr(line, "from_var", -1) >= 0]
    variables = [v for line in involved for v in (line.to_var, line.from_var)]
    past = story.past([*variables, actor.place_var])
    words = naming.joined(naming.entry_words(entry))
    last = Event(0, naming.proper(actor), f"is to {words}", f"fails at {facts['start'].name}: no line", entry.at)
    tied = [acted for acted in past if any(c.var in variables for c in acted.changes)]
    return finding(
        RULE,
        f"{the(actor)} cannot go on from {the(facts['start'])}: that path needs {kind} of {the(path.line_place)}.",
        problem.at,
        note=f"the way leads over a path on {kind} of {the(path.line_place)}",
        labels=[
            *in_routine(entry),
            Label(path.decl, f"the path on {kind} of {the(path.line_place)}"),
            *(Label(s.entry.at, f"{acting(s)} here") for s in tied[-1:]),
            *story.labels(*involved, at=problem.at),
            *([Label(missing.at, "this is missing")] if missing is not None else []),
        ],
        events=story.tell(past, [*variables, actor.place_var], last),
        because=because,
        fixes=(f"first let {the(actor)} {naming.listed(can, 'or')}",) if can else (),
    )


def _makers(world: World, story: Story, actor: Thing, lines: list[Thing]) -> list[str]:
    """Steps that the actor could do here and that leave it on one of the lines, in words; at most three."""
    found = []
    for action in world.actions:
        if not is_under(actor.kind, action.by) or action.helped_by:
            continue
        for effect in action.effects:
            test = effect.test
            if test.op != "to" or test.negated or not isinstance(test.a, Slot) or not _is_doer(test.b):
                continue
            for line in lines:
                binding: list[Any] = [actor, None, *(None for _ in action.params)]
                if not is_under(line.kind, action.params[test.a.index - 2].kinds):
                    continue
                binding[test.a.index] = line
                if None not in binding[2:] and all(story.judge.holds(need, tuple(binding)) for need in action.needs):
                    found.append(f"`{naming.joined(naming.phrase(action, tuple(binding)))}`")
    return list(dict.fromkeys(found))[:3]


def _is_doer(term: Term | None) -> bool:
    return isinstance(term, Slot) and term.index == 0
