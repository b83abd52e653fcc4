"""The text of a plan, as the compiler reads it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from oracles.brute import OWN, Action, Fallback, Hold, Kind, Lit, Plan, Rule, Step, Thing
from oracles.vocabulary import KIND_LINES

_QUANT = {
    ("none", "actor"): "nobody of {}",
    ("none", "item"): "nothing of {}",
    ("some", "actor"): "anyone of {}",
    ("some", "item"): "anything of {}",
    ("every", "actor"): "everyone of {}",
    ("every", "item"): "everything of {}",
}


def text_of(plan: Plan) -> str:
    """One file: vocabulary, things, rules, one excursion."""
    out: list[str] = ["use units"]
    if plan.shipped:
        out += ["use suited", "use arm", "use cabin"]
    else:
        for kind in plan.kinds.values():
            out += _kind(kind)
        for action in dict.fromkeys(s.action for s in (*plan.steps, *(s for f in plan.fallbacks for s in f.steps))):
            out += _action(action, plan)
    members = {name: (group, names) for group, names in plan.groups.items() for name in names}
    for thing in sorted(
        plan.things.values(), key=lambda t: ("location", "actor", "item").index(plan.kinds[t.kind].sort)
    ):
        if thing.name in members:
            group, names = members[thing.name]
            if thing.name == names[0]:
                out.append(_thing(replace(thing, name=f"{group} 1 to {len(names)}"), plan))
            continue
        out.append(_thing(thing, plan))
    out += [f"path {a} to {b} {metres} m" for a, b, metres in plan.paths]
    for i, rule in enumerate([] if plan.shipped else plan.rules):
        out += _rule(rule, i, plan)
    crew = [
        t.name for t in plan.things.values() if plan.kinds[t.kind].sort == "actor" and t.name not in plan.bystanders
    ]
    out += ["excursion outing", f"  crew {', '.join(crew)}"]
    called = {i for s in plan.steps for i in (*s.on, *s.beside)}
    called |= {f.caller for f in plan.fallbacks if not f.fails}
    called |= {n for f in plan.fallbacks for s in f.steps for n in s.on if n < OWN}
    for task in sorted({s.task for s in plan.steps}):
        after = "".join(f", after task{t}" for t in plan.after.get(task, ()))
        after += "".join(f", with task{t}" for t in plan.along.get(task, ()))
        out.append(f"  task task{task} : {plan.ranks.get(task, 'required')}{after}")
        out += _steps(plan, task, called)
        if plan.done.get(task):
            out.append(f"    done when {', '.join(literal(lit, plan) for lit in plan.done[task])}")
    for number, fallback in enumerate(plan.fallbacks):
        out += _fallback(plan, number, fallback)
    out += [f"  {how}: {', '.join(n)}" for how, n in (("left outside", plan.out), ("comes inside", plan.home)) if n]
    if plan.shipped:  # everything is outside from first to last: to move it is no mistake here
        items = [t.name for t in plan.things.values() if plan.kinds[t.kind].sort == "item"]
        out.append(f"  left outside: {', '.join(items)}")
        out += [f"  left so: {literal(lit, plan)}" for lit in plan.left]
    return "\n".join(out) + "\n"


def _steps(plan: Plan, task: int, called: set[int]) -> list[str]:
    out: list[str] = []
    heading: tuple[str, str | None] | None = None
    for i, step in enumerate(plan.steps):
        if step.task != task:
            continue
        bounds = [f"on {' and '.join(_mark(plan, n, task) for n in step.on)}"] if step.on else []
        who = step.actor + (f" and {step.helper}" if step.helper else "")
        if step.heading:
            out.append("    " + ", ".join([f"{who} at {step.args['PLACE']}", *bounds]))
            heading = (step.actor, step.helper)
            continue
        if heading != (step.actor, step.helper):
            out.append(f"    {who}")
            heading = (step.actor, step.helper)
        bounds += [f"while {_mark(plan, n, task)}" for n in step.beside] + ([f"says m{i}"] if i in called else [])
        out.append("      " + ", ".join([_words(step), *bounds]))
        if step.action.may:
            calls = [f"fallback other{n}" for n, f in enumerate(plan.fallbacks) if f.fails and f.caller == i]
            out.append(f"        if it fails: {calls[0] if calls else 'go on'}")
    return out


def _words(step: Step) -> str:
    return " ".join(w if isinstance(w, str) else step.args[w[0]] for w in step.action.words)


def _fallback(plan: Plan, number: int, fallback: Fallback) -> list[str]:
    start = "" if fallback.fails else f", from {_mark(plan, fallback.caller, -1)}"
    then = f", then {', '.join(f'task{t}' for t in fallback.then)}" if fallback.then else ""
    out = [f'  fallback other{number} "Another way"{start}{then}']
    for i, step in enumerate(fallback.steps):
        marks = [f"own{number}-{n - OWN}" if n >= OWN else _mark(plan, n, -1) for n in step.on]
        bounds = [f"on {' and '.join(marks)}"] if marks else []
        bounds += [f"says own{number}-{i}"] if any(OWN + i in s.on for s in fallback.steps) else []
        out.append("    " + step.actor + (f" and {step.helper}" if step.helper else ""))
        out.append("      " + ", ".join([_words(step), *bounds]))
        if step.action.may:
            out.append("        if it fails: go on")
    return out


def _mark(plan: Plan, number: int, task: int) -> str:
    """A mark of another task is named through that task."""
    other = plan.steps[number].task
    return f"m{number}" if other == task else f"task{other}.m{number}"


def _kind(kind: Kind) -> list[str]:
    out = [f"kind {kind.name} is {' and '.join(kind.parents) or kind.sort}"]
    out += ["  " + line for line in KIND_LINES.get(kind.name, [])] + [f"  {_hold(h)}" for h in kind.holds]
    return [*out, *([f"  carries mass up to {kind.carries} kg"] if kind.carries else [])]


def _hold(hold: Hold) -> str:
    counting = f" counting {hold.counting}" if hold.counting else ""
    return f"holds {hold.limit or 'any'} {hold.kind} by {hold.manner}{counting}"


def _action(action: Action, plan: Plan) -> list[str]:
    words = " ".join(w if isinstance(w, str) else f"{w[0]}: {' or '.join(w[1])}" for w in action.words)
    out = [
        f"action {words}",
        f"  by {action.by}"
        + (f", helped by {action.helped}" if action.helped else "")
        + "".join(f", with {s}" for s in action.joined),
    ]
    if action.serves:
        out.append(f"  serves {action.serves}")
    if action.needs:
        out.append(f"  needs {', '.join(literal(n, plan) for n in action.needs)}")
    if action.works_on:
        out.append(f"  works on {action.works_on}")
    if action.makes:
        out.append(
            f"  makes {', then '.join(literal(m, plan) + (' from afar' if m.afar else '') for m in action.makes)}"
        )
    return [*out, *(["  may: it fails"] if action.may else []), "  takes 1 min"]


def _term(term: Any, plan: Plan) -> str:
    if isinstance(term, tuple) and term[0] == "some":
        return f"a {term[1]}"
    return term if isinstance(term, str) else _QUANT[term[0], plan.kinds[term[1]].sort].format(term[1])


def literal(lit: Lit, plan: Plan) -> str:
    a, b, no = _term(lit.a, plan), _term(lit.b, plan) if lit.b is not None else "", "not " if lit.neg else ""
    if lit.op == "on":
        return f"{a} {no}in {lit.manner} of {b}" if lit.manner else f"{a} {no}on {b}"
    if lit.op == "reach":
        return f"{a} {no}in reach" + ("" if b == "actor" else f" of {b}")
    if lit.op in ("at", "from", "to"):
        return f"{a} {no}{lit.op} {b}"
    if lit.op == "working":
        return f"{a} working on {b}"
    if lit.op == "moving":
        return f"{a} moving at {b}"
    value = f"{lit.prop} of {a} - {lit.value[1]}" if isinstance(lit.value, tuple) else lit.value
    value = f"{value} kg" if lit.prop == "mass" else value
    return f"{lit.prop} of {a} {'at least' if lit.op == 'least' else f'is {no}'.rstrip()} {value}"


def _thing(thing: Thing, plan: Plan) -> str:
    kind = plan.kinds[thing.kind]
    unit = {"mass": " kg", "length": " m"}
    parts = [f"{prop} {value}{unit.get(prop, '')}" for prop, value in thing.props.items() if value is not None]
    if plan.shipped and "bolts" in thing.props:
        parts = [
            f"{part} of 4, normally {thing.props['bolts']}" if part.startswith("bolts") else part for part in parts
        ]
    parts += [f"on {holder}" if manner == "ground" else f"on {manner} of {holder}" for manner, holder in thing.held]
    if thing.place:
        parts.append(
            f"at {thing.place}" if plan.kinds[plan.things[thing.place].kind].sort == "location" else f"on {thing.place}"
        )
    if all(thing.ends):
        parts.append(f"from {thing.ends[0]} to {thing.ends[1]}")
    if thing.near:
        parts.append(f"within reach of {' and '.join(thing.near)}")
    if thing.runner:
        parts.append(f"run by {thing.runner}")
    if thing.reaches:
        parts.append(f"reaches {', '.join(thing.reaches)}")
    return f"{kind.sort} {', '.join([f'{thing.name} : {thing.kind}', *parts])}"


def _rule(rule: Rule, number: int, plan: Plan) -> list[str]:
    kinds = dict(rule.slots)
    shown: set[str] = set()

    def put(lit: Lit) -> str:
        words = literal(lit, plan).split()
        for i, word in enumerate(words):
            if word in kinds and word not in shown:
                shown.add(word)
                words[i] = f"{word}: {kinds[word]}"
        return " ".join(words)

    first, rest = put(rule.tests[0]), ", ".join(put(t) for t in rule.tests[1:])
    return [
        f"rule rule{number}",
        f"  {'always' if rule.always else 'never'} {first}" + (f" while {rest}" if rest else ""),
    ]


__all__ = ["Step", "literal", "text_of"]
