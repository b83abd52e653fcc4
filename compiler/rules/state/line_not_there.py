"""A line whose end is not on what a step needs it on."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("line-not-there", Severity.ERROR, "A step needs an end of a line on something that it is not tied to.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, test (the need that does not hold: L from X, or L to X)."""
    flow, step, test = problem.facts["flow"], problem.facts["step"], problem.facts["test"]
    story = Story(plan, flow, step.index)
    line, holder = naming.resolved(test.a, step.binding), naming.resolved(test.b, step.binding)
    need = Label(test.at, "this is what it needs")
    if line is None:
        return finding(RULE, f"{acting(step)}, but {test.text} does not hold.", problem.at, labels=[need])
    var = line.from_var if test.op == "from" else line.to_var
    on = story.state.values[var] if var >= 0 else None
    wanted = the(holder) if holder is not None else the(story.judge.term(test.b, step.binding) if test.b else None)
    end = f"the `{test.op}` end of {the(line)}"
    now = f"it is on {the(on)}" if on is not None else "it hangs on nothing"
    past = story.past((var,))
    labels = [Label(past[-1].entry.at, f"{acting(past[-1])} here")] if past else []
    needs = "need" if len(naming.doers(step.binding)) > 1 else "needs"
    return finding(
        RULE,
        f"{naming.who(step.binding)} {needs} {end} {'not ' if test.negated else ''}on {wanted}, but {now}.",
        problem.at,
        note=f"{end}: {the(on) if on is not None else 'on nothing'}",
        labels=[*labels, *story.labels(line, at=problem.at), need],
        events=story.history(step, (var,), f"fails: {line.name} {test.op}: {on.name if on is not None else 'nothing'}"),
        because=f"no step {'after that' if past else 'before this'} brings that end to {wanted}"
        if not test.negated
        else f"no step {'after that' if past else 'before this'} takes that end off {wanted}",
    )
