"""A need about a whole kind, or of another sort, that does not hold."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.model.records import Quantified, Test, Thing
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("need-not-met", Severity.ERROR, "A step needs something of a whole kind of things, and it is not so.")

MOST = 3  # things named as those that break the need


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, test (the need that does not hold; mostly with a quantifier)."""
    flow, step, test = problem.facts["flow"], problem.facts["step"], problem.facts["test"]
    story = Story(plan, flow, step.index)
    against = witnesses(story, test, step.binding)
    wish = naming.clause(test, step.binding)
    label = Label(test.at, "this is what it needs")
    variables = [v for thing in against for v in (story.own(thing) + property_of(test, thing))]
    past = story.past(variables, MOST)
    some = wanted_some(test)
    if some is not None:
        but = naming.clause(some, step.binding)
    elif against:
        but = "; ".join(says(story, test, thing) for thing in against[:MOST])
        if len(against) > MOST:
            but += f"; and {len(against) - MOST} more"
    else:
        but = "there is no such thing"
    return finding(
        RULE,
        f"{acting(step)}, which needs that {wish}, but {but}.",
        problem.at,
        note="not so by then",
        labels=[
            *(Label(s.entry.at, f"{acting(s)} here") for s in past[-1:]),
            *story.labels(*([] if some is not None else against[:MOST]), at=problem.at),
            *story.bystanders((test,), step.binding),
            label,
        ],
        events=story.history(step, variables, f"fails: {but}"),
        because=f"no step {'after that' if past else 'before this'} brings it about that {wish}",
    )


def witnesses(story: Story, test: Test, binding: Any) -> list[Thing]:
    """The things that break a quantified need; of a need for some such thing, all that there are."""
    for side, term in (("a", test.a), ("b", test.b)):
        if not isinstance(term, Quantified):
            continue
        if term.quant == "some" and not test.negated:
            return story.judge.among(term)
        out = []
        for thing in story.judge.among(term):
            plain = test._replace(a=thing) if side == "a" else test._replace(b=thing)
            if isinstance(plain.a, Quantified) or isinstance(plain.b, Quantified):
                continue
            if story.judge.holds(plain, binding) == (term.quant == "none"):
                out.append(thing)
        if side == "b" and out:
            other = naming.resolved(test.a, binding)
            return [other] if other is not None else out
        return out
    about = naming.resolved(test.a, binding)
    return [about] if about is not None else []


def wanted_some(test: Test) -> Test | None:
    """A need for some thing of a kind turned round: none of them does."""
    for side, term in (("a", test.a), ("b", test.b)):
        if isinstance(term, Quantified) and term.quant == "some" and not test.negated:
            none = term._replace(quant="none")
            return test._replace(a=none) if side == "a" else test._replace(b=none)
    return None


def property_of(test: Test, thing: Thing) -> list[int]:
    var = thing.prop_vars.get(test.prop, -1) if test.prop is not None else -1
    return [var] if var >= 0 else []


def says(story: Story, test: Test, thing: Thing) -> str:
    if test.prop is not None and test.op in ("is", "least", "most"):
        value = naming.property_value(thing, test.prop, story.state.value(thing, test.prop))
        return f"the {test.prop} of {naming.the(thing)} is {value}"
    return f"{naming.the(thing)} is {story.where(thing)}"
