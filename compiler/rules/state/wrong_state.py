"""A property that does not have the value which a step needs."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Label, Problem, Severity
from jackstay.model.literals import is_under
from jackstay.model.records import Action, Const, Slot, Test, Thing, World
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("wrong-state", Severity.ERROR, "A step needs something in a state that it is not in.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, test (the need that does not hold, of a property)."""
    flow, step, test = problem.facts["flow"], problem.facts["step"], problem.facts["test"]
    story = Story(plan, flow, step.index)
    need = Label(test.at, "this is what it needs")
    thing = story.judge.term(test.a, step.binding)
    if thing is None or test.prop is None:
        return finding(RULE, f"{acting(step)}, but {test.text} does not hold.", problem.at, labels=[need])
    prop = f"the {test.prop} of {the(thing)}"
    value = naming.property_value(thing, test.prop, story.state.value(thing, test.prop))
    wanted = ("not " if test.negated else "") + naming.relation(test, step.binding)
    variable = thing.prop_vars.get(test.prop, -1)
    past = story.past((variable,)) if variable >= 0 else []
    labels = [Label(past[-1].entry.at, f"{acting(past[-1])} here")] if past else []
    can = _makers(plan.world, test, thing)
    fixes = (Fix(f"first let somebody {naming.listed(can, 'or')}"),) if can else ()
    needs = "need" if len(naming.doers(step.binding)) > 1 else "needs"
    declared = thing.kind.properties.get(test.prop)
    if declared is not None and declared.sort == "count":
        state = f"{'at ' if test.op == 'is' else 'to be '}{wanted}, but there are {value}"
    else:
        state = f"to be {wanted}, but it is {value}"
    return finding(
        RULE,
        f"{naming.who(step.binding)} {needs} {prop} {state}.",
        problem.at,
        note=f"{test.prop} of {thing.name}: {value}",
        labels=[*labels, *story.labels(thing, at=problem.at), need],
        events=story.history(step, (variable,), f"fails: {test.prop} of {thing.name} is {value}"),
        because=f"no step {'after that' if past else 'before this'} makes it {wanted}"
        if past
        else f"it has been {value} from the start, and no step before this makes it {wanted}",
        fixes=fixes,
    )


def _makers(world: World, test: Test, thing: Thing) -> list[str]:
    """Steps that leave the property at just this value, in words; at most three."""
    if test.negated or test.op != "is" or not isinstance(test.value, Const):
        return []
    found = []
    for action in world.actions:
        for effect in action.effects:
            made = effect.test
            if made.prop != test.prop or not isinstance(made.value, Const) or made.value.value != test.value.value:
                continue
            if isinstance(made.a, Slot) and made.a.index >= 2 and _fits(action, made.a.index, thing):
                binding: list[Any] = [None] * (len(action.params) + 2)
                binding[made.a.index] = thing
                found.append("`" + naming.joined(naming.phrase(action, binding)) + "`")
    return list(dict.fromkeys(found))[:3]


def _fits(action: Action, index: int, thing: Thing) -> bool:
    return is_under(thing.kind, action.params[index - 2].kinds)
