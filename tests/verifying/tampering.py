"""Certificates that say something else than they should: each with what was done to it. The same seed, the same ones.

What would change nothing is left out when a change is made: an edge that the others imply, the order of what has no
order, words that nobody can check against the text (those of inserted steps; what the compiler says that steps read).
"""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Iterator
from typing import Any

Data = dict[str, Any]


def tampered(certificate: Data, seed: int, each: int) -> Iterator[tuple[str, Data]]:
    """``each`` tries of every kind; a try for which the certificate has no room gives nothing."""
    rng = random.Random(seed)
    text = json.dumps(certificate)
    for change in CHANGES:
        for _ in range(each):
            data = json.loads(text)
            try:
                told = change(data, rng)
            except (IndexError, ValueError):  # nothing to choose from, or less than two of it
                continue
            if told and data != certificate:
                yield f"{change.__name__.strip('_')}: {told}", data


def _step(data: Data, rng: random.Random) -> tuple[Data, Data]:
    one = rng.choice(data["excursions"])
    return one, rng.choice(one["steps"])


def _told(one: Data, step: Data) -> str:
    return f"{one['name']} {step['step']}"


def _clock(data: Data, rng: random.Random) -> str:
    one, step = _step(data, rng)
    step["clock"][rng.choice(list(step["clock"]))] += rng.choice((-1, 1, 2))
    return _told(one, step)


def happens_before(steps: list[Data]) -> list[set[int]]:
    """Per step, all that is over when it starts; straight from the definition."""
    before: list[set[int]] = []
    for i, step in enumerate(steps):
        into = [e["step"] for e in step["after"]]
        into += [e["step"] for w in step["within"] for e in steps[w["step"]]["after"] if e["step"] < i]
        found = set(into)
        for p in into:
            found |= before[p]
            for inner in (s["step"] for s in steps[:i] if any(w["step"] == p for w in s["within"])):
                found |= {inner} | before[inner]
        before.append(found)
    return before


def _dropped_edge(data: Data, rng: random.Random) -> str:
    one, step = _step(data, rng)
    edges = rng.choice([step["after"], step["within"]]) or step["after"]
    if not edges:
        return ""
    was = happens_before(one["steps"])
    edge = edges.pop(rng.randrange(len(edges)))
    return "" if edge["why"] != "own" and was == happens_before(one["steps"]) else f"{_told(one, step)} {edge}"


def _waits_elsewhere(data: Data, rng: random.Random) -> str:
    """An edge is said to come from another step."""
    one, step = _step(data, rng)
    edges = step["after"] + step["within"]
    if not edges:
        return ""
    edge = rng.choice(edges)
    if edge["why"] == "task":  # from any step of that task it would be true as well
        others = [s["step"] for s in one["steps"] if s["task"] != edge["task"]]
    else:
        others = [s["step"] for s in one["steps"]]
    edge["step"] = rng.choice(others)
    return f"{_told(one, step)} {edge}"


def _wait_not_written(data: Data, rng: random.Random) -> str:
    """A wait for a call that nothing at that step's line waits for."""
    one, step = _step(data, rng)
    here = [s for s in one["steps"] if s["place"] == step["place"] or s["task"] == step["task"]]
    known = {e["mark"] for s in here for e in s["after"] + s["within"] if "mark" in e}
    earlier = [s for s in one["steps"][: step["step"]] if s["says"] and s["says"][0] not in known]
    if not earlier:
        return ""
    call = rng.choice(earlier)
    edge = {"step": call["step"], "why": "wait", "mark": call["says"][0], "says": call["says"][1]}
    real = [e for s in one["steps"] for e in s["after"] if e.get("mark") == call["says"][0]]
    edge["on"] = real[0]["on"] if real and rng.random() < 0.5 else step["place"]
    step["after"].append(edge)
    return f"{_told(one, step)} {edge}"


def _wait_renamed(data: Data, rng: random.Random) -> str:
    one, step = _step(data, rng)
    edges = [e for e in step["after"] + step["within"] if "mark" in e]
    marks = sorted({s["says"][0] for s in one["steps"] if s["says"]})
    if not edges or len(marks) < 2:
        return ""
    rng.choice(edges)["mark"] = rng.choice(marks)
    return _told(one, step)


def _task_edge_not_written(data: Data, rng: random.Random) -> str:
    one, step = _step(data, rng)
    known = {e["task"] for s in one["steps"] if s["task"] == step["task"] for e in s["after"] if e["why"] == "task"}
    earlier = [s for s in one["steps"][: step["step"]] if s["task"] not in known]
    if not earlier:
        return ""
    other = rng.choice(earlier)
    place = next((e["place"] for s in one["steps"] for e in s["after"] if e["why"] == "task"), step["place"])
    edge = {"step": other["step"], "why": "task", "task": other["task"], "place": place, "heading": None}
    step["after"].append(edge)
    return f"{_told(one, step)} {edge}"


def _values(data: Data) -> list[tuple[Any, Any]]:
    """Every place where a value stands, as (container, key)."""
    out: list[tuple[Any, Any]] = []
    for one in data["excursions"]:
        out += [(one[end], name) for end in ("start", "end") for name in one[end]]
        out += [(c, key) for s in one["steps"] for c in s["changes"] for key in ("before", "after")]
        out += [(link, "on") for chain in one["custody"].values() for link in chain]
    return out


def _swapped_values(data: Data, rng: random.Random) -> str:
    (a, i), (b, j) = rng.sample(_values(data), 2)
    a[i], b[j] = b[j], a[i]
    return f"{i} {b[j]}, {j} {a[i]}"


def _value(data: Data, rng: random.Random) -> str:
    places = _values(data)
    (a, i), (b, j) = rng.sample(places, 2)
    a[i] = rng.choice((copy.deepcopy(b[j]), None, []))
    return f"{i} {a[i]}"


def _removed_step(data: Data, rng: random.Random) -> str:
    one, step = _step(data, rng)
    one["steps"].remove(step)
    return _told(one, step)


def _last_step_removed(data: Data, rng: random.Random) -> str:
    """Only what nothing later refers to, with all numbers still in order, and its share of the count taken off."""
    one = rng.choice(data["excursions"])
    step = one["steps"].pop()
    for actor in step["cast"]:
        one["columns"][actor] -= 1
    return _told(one, step)


def _removed_and_numbered_anew(data: Data, rng: random.Random) -> str:
    one, step = _step(data, rng)
    gone = step["step"]
    one["steps"].remove(step)
    for s in one["steps"]:
        s["step"] -= s["step"] > gone
        for kind in ("after", "within"):
            s[kind] = [e for e in s[kind] if e["step"] != gone]
            for e in s[kind]:
                e["step"] -= e["step"] > gone
        for actor in step["cast"]:
            if actor in s["positions"] and s["step"] >= gone:
                s["positions"][actor] -= 1
    for actor in step["cast"]:
        one["columns"][actor] -= 1
    return _told(one, step)


def _hash(data: Data, rng: random.Random) -> str:
    path = rng.choice(list(data["sources"]))
    digits = list(data["sources"][path])
    at = rng.randrange(len(digits))
    digits[at] = rng.choice([d for d in "0123456789abcdef" if d != digits[at]])
    data["sources"][path] = "".join(digits)
    return path


def _file_left_out(data: Data, rng: random.Random) -> str:
    path = rng.choice(list(data["sources"]))
    del data["sources"][path]
    return path


def _file_put_in(data: Data, rng: random.Random) -> str:
    data["sources"][rng.choice(("other.stay", "../plan.stay", "/etc/hostname"))] = "0" * 64
    return "another file"


def _reordered(data: Data, rng: random.Random) -> str:
    one = rng.choice(data["excursions"])
    a, b = rng.randrange(len(one["steps"])), rng.randrange(len(one["steps"]))
    one["steps"][a], one["steps"][b] = one["steps"][b], one["steps"][a]
    return f"{one['name']} {a} {b}"


def _reordered_and_numbered_anew(data: Data, rng: random.Random) -> str:
    """Two neighbours of which the second waits for the first."""
    one = rng.choice(data["excursions"])
    steps = one["steps"]
    pairs = [i for i in range(len(steps) - 1) if any(e["step"] == i for e in steps[i + 1]["after"])]
    if not pairs:
        return ""
    i = rng.choice(pairs)
    steps[i], steps[i + 1] = steps[i + 1], steps[i]
    new = {i: i + 1, i + 1: i}
    for s in steps:
        s["step"] = new.get(s["step"], s["step"])
        for e in s["after"] + s["within"]:
            e["step"] = new.get(e["step"], e["step"])
    return f"{one['name']} {i}"


def _cast(data: Data, rng: random.Random) -> str:
    one, step = _step(data, rng)
    kind = rng.choice(("other", "less", "more", "turned"))
    others = [a for a in one["columns"] if a not in step["cast"]]
    i = rng.randrange(len(step["cast"]))
    if kind == "other" and others:
        step["cast"][i] = rng.choice(others)
    elif kind == "more" and others:
        step["cast"].append(rng.choice(others))
    elif kind == "less":
        step["cast"].pop(i)
    elif kind == "turned":
        step["cast"].reverse()
    return f"{_told(one, step)} {kind}"


def _cast_and_positions(data: Data, rng: random.Random) -> str:
    """Somebody else does the step, as the next of that one's list."""
    one, step = _step(data, rng)
    others = [a for a in one["columns"] if a not in step["cast"]]
    if not others:
        return ""
    gone, new = rng.choice(step["cast"]), rng.choice(others)
    count = sum(new in s["cast"] for s in one["steps"][: step["step"]])
    step["cast"] = [new if a == gone else a for a in step["cast"]]
    step["positions"] = {(new if a == gone else a): (count if a == gone else n) for a, n in step["positions"].items()}
    return f"{_told(one, step)} {gone} {new}"


def _position(data: Data, rng: random.Random) -> str:
    one, step = _step(data, rng)
    step["positions"][rng.choice(step["cast"])] += rng.choice((-1, 1))
    return _told(one, step)


def _call(data: Data, rng: random.Random) -> str:
    """A mark that is waited for names the end of another step, or nothing says it."""
    one = rng.choice(data["excursions"])
    waited = {e["step"] for s in one["steps"] for e in s["after"] + s["within"] if "mark" in e}
    said = [s for s in one["steps"] if s["says"] and s["step"] in waited]
    if not said:
        return ""
    step, other = rng.choice(said), rng.choice(one["steps"])
    step["says"], other["says"] = other["says"], step["says"]
    return f"{_told(one, step)} {_told(one, other)}"


def _wait_for_an_earlier_part(data: Data, rng: random.Random) -> str:
    """A call, and all that waits for it, is moved to an earlier step of the same line."""
    one = rng.choice(data["excursions"])
    pairs = [
        (s, t)
        for s in one["steps"]
        for t in one["steps"][: s["step"]]
        if s["says"] and all(t[key] == s[key] for key in ("place", "in_routine", "cast"))
    ]
    if not pairs:
        return ""
    step, other = rng.choice(pairs)
    other["says"], step["says"] = step["says"], None
    for s in one["steps"]:
        for e in s["after"] + s["within"]:
            if e["step"] == step["step"] and e.get("mark") == other["says"][0]:
                e["step"] = other["step"]
    return f"{_told(one, step)} {_told(one, other)}"


def _text(data: Data, rng: random.Random) -> str:
    one, step = _step(data, rng)
    if step["inserted"] or step["in_routine"]:
        return ""
    step["text"] = rng.choice([s["text"] for s in one["steps"] if s["text"] not in step["text"]])
    return _told(one, step)


def _place(data: Data, rng: random.Random) -> str:
    one, step = _step(data, rng)
    other = rng.choice(one["steps"])
    if step["inserted"] or step["in_routine"] or other["text"] == step["text"] or other["place"] == step["place"]:
        return ""
    step["place"] = other["place"]
    return _told(one, step)


def _inserted(data: Data, rng: random.Random) -> str:
    one, step = _step(data, rng)
    if step["in_routine"] or (step["inserted"] and not step["changes"]) or (step["changes"] and not step["inserted"]):
        return ""
    step["inserted"] = not step["inserted"]
    return _told(one, step)


def _conflict(data: Data, rng: random.Random) -> str:
    """A step is said to read what another changes, with nothing between them that orders them."""
    one = rng.choice(data["excursions"])
    before = happens_before(one["steps"])
    pairs = [
        (s, t, c["variable"])
        for s in one["steps"]
        for t in one["steps"][s["step"] + 1 :]
        for c in s["changes"]
        if s["step"] not in before[t["step"]] and c["variable"] not in t["reads"]
    ]
    if not pairs:
        return ""
    s, t, var = rng.choice(pairs)
    t["reads"].append(var)
    return f"{_told(one, s)} {_told(one, t)} {var}"


def _excursions(data: Data, rng: random.Random) -> str:
    if rng.random() < 0.5:
        return str(data["excursions"].pop(rng.randrange(len(data["excursions"])))["name"])
    one = rng.choice(data["excursions"])
    one["starts_after"] = rng.choice([None, *(x["name"] for x in data["excursions"])])
    return f"{one['name']} after {one['starts_after']}"


def _variables(data: Data, rng: random.Random) -> str:
    name, other = rng.sample(list(data["variables"]), 2)
    a, b = data["variables"][name], data["variables"][other]
    if rng.random() < 0.3:
        del data["variables"][name]
    else:
        key = rng.choice(list(a))
        a[key] = b[key] if b.get(key, a[key]) != a[key] else f"{a[key]}s"
    return f"{name} {a}"


def _custody(data: Data, rng: random.Random) -> str:
    one = rng.choice(data["excursions"])
    name, other = rng.sample(list(one["custody"]), 2)
    chain = one["custody"][name]
    kind = rng.choice(("gone", "link", "step", "other"))
    link = rng.randrange(len(chain))
    if kind == "gone":
        del one["custody"][name]
    elif kind == "link":
        chain.pop(link)
    elif kind == "step":
        chain[link]["from"] = (chain[link]["from"] or 0) + 1
    else:
        one["custody"][name], one["custody"][other] = one["custody"][other], chain
    return f"{one['name']} {name} {kind}"


def _any_leaf(data: Data, rng: random.Random) -> str:
    """Any number or word of the steps, whatever it means, is another one."""
    one, step = _step(data, rng)
    keys = ["step", "task", "cast", "positions", "clock", "after", "within", "changes", "says"]
    keys += ["place", "text"] if not step["inserted"] and not step["in_routine"] else []
    leaves: list[tuple[Any, Any]] = []

    def walk(at: Any, key: Any) -> None:
        value = at[key]
        if isinstance(value, dict | list):
            for inner in list(value) if isinstance(value, dict) else range(len(value)):
                walk(value, inner)
        else:
            leaves.append((at, key))

    for key in keys:
        walk(step, key)
    at, key = rng.choice(leaves)
    value = at[key]
    if isinstance(value, int):
        at[key] = value + rng.choice((-1, 1, 1000))
        if isinstance(at, dict) and at.get("why") == "task":
            return ""  # see `_waits_elsewhere`
    else:
        at[key] = rng.choice((f"{value}~", 0, [value])) if value is not None else rng.choice(("x", 0, ["x"]))
    return f"{_told(one, step)} {key} {value} {at[key]}"


CHANGES = (
    _clock,
    _dropped_edge,
    _waits_elsewhere,
    _wait_not_written,
    _wait_renamed,
    _task_edge_not_written,
    _swapped_values,
    _value,
    _removed_step,
    _last_step_removed,
    _removed_and_numbered_anew,
    _hash,
    _file_left_out,
    _file_put_in,
    _reordered,
    _reordered_and_numbered_anew,
    _cast,
    _cast_and_positions,
    _position,
    _call,
    _wait_for_an_earlier_part,
    _text,
    _place,
    _inserted,
    _conflict,
    _excursions,
    _variables,
    _custody,
    _any_leaf,
)
