"""A task that does not reach what it is for."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("not-done", Severity.ERROR, "A task ends without what it says it is done by.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, task, test (of its `done when`), moment (the number of its last step)."""
    facts = problem.facts
    task, test = facts["task"], facts["test"]
    story = Story(plan, facts["flow"], facts["moment"] + 1)
    thing = story.judge.term(test.a, ())
    variables: list[int] = []
    but = "it is not so"
    if thing is not None and test.prop is not None:
        var = thing.prop_vars.get(test.prop, -1)
        variables = [var] if var >= 0 else []
        value = naming.property_value(thing, test.prop, story.state.value(thing, test.prop))
        but = f"the {test.prop} of {the(thing)} is {value}"
    elif thing is not None:
        variables = story.own(thing) if test.op != "located" else story.whole_way(thing)
        but = f"{the(thing)} is {story.whereabouts(thing)}"
    steps = story.past(variables)
    return finding(
        RULE,
        f"When {task.name} is over, {but}, but it says that it is done when “{test.text}”.",
        problem.at,
        note=f"but {but}",
        labels=[
            *(Label(s.entry.at, f"{acting(s)} here") for s in steps[-1:]),
            *story.labels(*([thing] if thing is not None else []), at=problem.at),
            *story.bystanders((test,), ()),
            Label(task.decl, "this task"),
        ],
        events=story.tell(steps, variables),
        because=f"no step {'between that and' if steps else 'before'} the task's end makes it so",
    )
