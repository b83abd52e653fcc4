"""Checks a certificate against the plan's files, alone: standard library only, nothing of the compiler is imported.

    python checker.py CERTIFICATE PLAN-OR-FOLDER          prints OK and leaves with 0, or the first reason and 1

It takes the certificate's word for what each step reads and changes. That the waits are written, that no written step is
missing, what happens before what, that nothing races, and who has what from when to when, it works out by itself."""

import hashlib
import json
import re
import sys
from collections import defaultdict
from pathlib import Path
from typing import Any, NamedTuple


class Line(NamedTuple):  # a statement: (file, line) of its beginning, its words, what it stands under
    at: tuple[str, int]
    indent: int
    text: str
    under: tuple["Line", ...]

    def up(self, words: str) -> Any:
        return next((line for line in (self, *self.under[::-1]) if re.match(rf"({words}) ", line.text)), None)

    def bounds(self, word: str) -> list[str]:
        found = re.findall(rf", *{word} ([\w.-]+(?:,? and [\w.-]+)*)", re.sub(r'"[^"]*"', "", self.text))
        return [name for names in found for name in re.split(r",? and ", names)]


def must(fact: object, reason: str) -> None:
    if not fact:
        raise ValueError(reason)


def lines_of(path: str, text: str) -> dict[int, Line]:
    """Physical line -> statement. Comments go; a deeper line that begins with and, or, then goes on the one above."""
    out: dict[int, Line] = {}
    stack: list[Line] = []
    for number, raw in enumerate(text.split("\n"), 1):
        bare = re.sub(r'((?:[^"#]|"[^"]*"?)*).*', r"\1", raw).expandtabs(8).rstrip()
        words, indent = " ".join(bare.split()), len(bare) - len(bare.lstrip())
        if words and stack and indent > stack[-1].indent and re.match(r"(and|or|then)(?![\w-])", words):
            stack[-1] = stack[-1]._replace(text=f"{stack[-1].text} {words}")
            out.update(dict.fromkeys(range(stack[-1].at[1], number + 1), stack[-1]))
        elif words:
            stack = [line for line in stack if line.indent < indent]
            stack.append(Line((path, number), indent, words, tuple(stack)))
            out[number] = stack[-1]
    return out


class Checker:
    where = "certificate"

    def run(self, data: Any, folder: Path, stock: Path) -> str:
        self.files: dict[str, dict[int, Line]] = {}
        self.ends: dict[Any, Any] = {}
        todo, sources = [data["plan"]], data["sources"]
        for path in todo:
            must(not re.search(r"^/|\\|(^|/)\.\.(/|$)", path), f"{path} leads out of the plan's folder")
            place = stock / f"{path[7:]}.stay" if path.startswith("stdlib:") else folder / path
            text = re.sub("\r\n?", "\n", place.read_bytes().decode("utf-8-sig"))
            same = hashlib.sha256(text.encode()).hexdigest() == sources.get(path)
            must(same, f"{path} is not the file that was checked")
            self.files[path] = lines_of(path, text)
            for used in (re.match(r"use ([\w./-]+)|excursions (.+)", x.text) for x in self.files[path].values()):
                for name in re.split(" ?, ?", used[1] or used[2]) if used else ():
                    file = f"{name}.stay" if f"{name}.stay" in sources else f"stdlib:{name}"
                    todo += [file] if file not in todo else []
        must(set(todo) == set(sources), "it lists files that are no part of the plan")
        self.lines = [line for file in self.files.values() for line in dict.fromkeys(file.values())]
        heads = [f"{v['property']} of" if v["property"] else v["sort"] for v in data["variables"]]
        self.vars = {f"{n} {v['thing']}": (v["sort"], v["thing"]) for n, v in zip(heads, data["variables"], strict=True)}
        self.actors = {thing for sort, thing in self.vars.values() if sort == "place"}
        for one in data["excursions"]:
            self.excursion(one, one["steps"], one["start"])
        plans = {line.text.split()[1] for line in self.lines if line.text.startswith("excursion ")}
        must({*self.ends} - {None} == plans, "the plan has other excursions")
        return f"{len(plans)} excursions, {sum(len(one['steps']) for one in data['excursions'])} steps"

    def line(self, place: str) -> Line:
        path, _, number = place.rpartition(":")
        return self.files[path][int(number)]

    def excursion(self, one: Any, steps: list[Any], start: dict[str, Any]) -> None:
        self.where, self.steps, head, state = one["name"], steps, self.line(one["place"]), dict(start)
        links = [re.match(r"starts (as|from promise of) ([\w-]+)", x.text) for x in self.lines if head in x.under]
        before = next((m[2] for m in links if m and (m[1] != "as" or m.string.endswith(" ends"))), None)
        must(before == one["starts_after"] and before in {None, *self.ends}, "it does not start after that")
        must(self.ends.setdefault(before, start) == start, "its start is not what was left")
        must(head.text.split()[:2] == ["excursion", self.where] and self.where not in self.ends, "it is not written there")
        must(start.keys() == self.vars.keys(), "its start does not have every variable")
        self.trails = [[self.line(place) for place in (s["place"], *s["in_routine"])] for s in steps]
        self.keys = [tuple(line.at for line in trail) for trail in self.trails]
        self.all_written(head)
        lists: dict[str, list[int]] = defaultdict(list)
        ended: list[int] = []
        inner, mask, touched, wrote = (defaultdict[Any, int](int) for _ in range(4))
        chains = {var: [(None, x)] for var, x in start.items() if self.vars[var][0] in ("held", "from", "to")}
        for var in self.vars:
            self.held(var, state)
        for i, s in enumerate(steps):
            self.where, bits = f"{one['name']}, step {i} ({s['place']})", 0
            places = [(actor, len(lists[actor])) for actor in s["cast"]]
            must(s["step"] == i and [*s["positions"].items()] == places != [], "it is out of its place")
            own = [(lists[actor][-1], actor) for actor, place in places if place]
            must(own == [(e["step"], e["actor"]) for e in s["after"] if e["why"] == "own"], "a list's order is left out")
            must(all(self.keys[p] <= self.keys[i] for p, _ in own), "what its cast did before is written further down")
            for e in s["after"] + s["within"]:
                must(self.written(e, i), f"this is not written: {json.dumps(e)}")
                for edge in steps[e["step"]]["after"] if e["why"] == "while" else [e]:
                    bits |= ended[edge["step"]] if edge["step"] < i else 0
            must(s["clock"] == {a: (bits & mask[a]).bit_count() for a in one["columns"]}, "its clock is another")
            for var in s["reads"]:
                must(var in state and not wrote[var] & ~bits, f"{var} may be changing meanwhile")
            for var, old, new in ((c["variable"], c["before"], c["after"]) for c in s["changes"]):
                must(not touched[var] & ~bits, f"{var} may be in use meanwhile")
                must(state[var] == old, f"{var} is {state[var]}, not {old}")
                state[var] = new
                touched[var], wrote[var] = touched[var] | 1 << i, wrote[var] | 1 << i
                self.held(var, state)
                chains.get(var, []).append((i, new))
                self.own_hands(var, old, new, s["cast"])
            for var in s["reads"]:
                touched[var] |= 1 << i
            ended.append(bits | 1 << i | inner[i])
            for e in s["within"]:
                inner[e["step"]] |= ended[i]
            for actor in s["cast"]:
                lists[actor].append(i)
                mask[actor] |= 1 << i
        self.where = one["name"]
        must(one["columns"] == [*lists], "its actors are others")
        must(state == one["end"], "its end is not what the steps leave")
        since = {v: zip(c, [i for i, _ in c[1:]] + [None], strict=True) for v, c in chains.items()}
        chain = {v: [{"from": a, "to": b, "on": x} for (a, x), b in pairs] for v, pairs in since.items()}
        must(chain == {f"{c['what']} {c['thing']}": c["chain"] for c in one["custody"]}, "the custody chains are others")
        self.ends[one["name"]] = state

    def held(self, var: str, state: dict[str, Any]) -> None:
        sort, thing = self.vars[var]
        if sort == "held":
            must(all(isinstance(x, str) and x for pair in state[var] for x in pair), f"{var} is no holding")
        elif sort != "property":
            must(state[var] is None or isinstance(state[var], str), f"{var} is no thing")
        on = [state.get(f"{what} {thing}") for what in ("held", "from", "to")]
        must(any(on) or f"held {thing}" not in state, f"{thing} is held by nothing")

    def own_hands(self, var: str, old: Any, new: Any, cast: list[str]) -> None:
        """Nothing comes to, leaves or moves an actor who is not there for it."""
        sort, thing = self.vars[var]
        who = {thing} if sort == "place" else {old, new} if sort in ("from", "to") else set()
        if sort == "held":
            who = {h for pair in (old, new) for m, h in pair if [m, h] not in old or [m, h] not in new}
        must(who & self.actors <= set(cast), "somebody's own things change without them")

    def all_written(self, head: Line) -> None:
        """Every step of the text is there (an arrival may be nothing to do); every call is said by the step that it ends."""
        seen: dict[Any, set[Any]] = defaultdict(set)
        self.marks: dict[str, list[tuple[int, int]]] = defaultdict(list)
        for i, (s, key, trail) in enumerate(zip(self.steps, self.keys, self.trails, strict=True)):
            task, line = trail[0].up("task"), trail[-1]
            must(task and task.text.split()[1] == s["task"] + ":" and head in task.under, f"step {i} is not of that task")
            for k, line in enumerate(trail):
                arrives = s["inserted"] and k + 1 == len(trail)
                seen[key[:k]] |= {line.up("task|routine").at} | (set() if arrives and not self.heading(line) else {line.at})
            if s["says"]:
                call = self.line(s["says"][1])
                must(call.at in key and s["says"][0] in call.bounds("says"), f"step {i} does not say that")
                self.marks[s["says"][0]].append((i, key.index(call.at)))
        parents = {line.under[-1].at for line in self.lines if line.under and not ASIDE.match(line.text)}
        for calls, have in seen.items():
            ...
