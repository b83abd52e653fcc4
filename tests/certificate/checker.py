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


class Line(NamedTuple):  # a statement: (file, line) of its beginning, its words, the statements that it stands under
    at: tuple[str, int]
    text: str
    under: tuple["Line", ...]

    def up(self, words: str) -> Any:
        return next((line for line in (self, *self.under[::-1]) if re.match(rf"({words}) ", line.text)), None)

    def bounds(self, word: str) -> list[str]:
        found = re.findall(rf", *(?:{word}) ([\w.-]+(?:,? and [\w.-]+)*)", re.sub(r'"[^"]*"', "", self.text))
        return [name for names in found for name in re.split(r",? and ", names)]


def must(fact: object, reason: str) -> None:
    if not fact:
        raise ValueError(reason)


def lines_of(path: str, text: str) -> dict[int, Line]:
    """Physical line -> statement. Comments go; a deeper line that begins with and, or, then goes on the one above."""
    out: dict[int, Line] = {}
    stack: list[tuple[int, Line]] = []
    for number, raw in enumerate(text.split("\n"), 1):
        bare = re.sub(r'((?:[^"#]|"[^"]*"?)*).*', r"\1", raw).expandtabs(8)
        words, indent = " ".join(bare.split()), len(bare) - len(bare.lstrip())
        if words and stack and indent > stack[-1][0] and re.match(r"(and|or|then)(?![\w-])", words):
            indent, line = stack.pop()
            line = line._replace(text=f"{line.text} {words}")
        else:
            stack = [one for one in stack if one[0] < indent] if words else stack
            line = Line((path, number), words, tuple(above for _, above in stack))
        if words:
            stack.append((indent, line))
            out.update(dict.fromkeys(range(line.at[1], number + 1), line))
    return out


class Checker:
    where = "certificate"

    def run(self, data: Any, folder: Path, stock: Path) -> str:
        files: dict[str, dict[int, Line]] = {}
        todo, sources = [data["plan"]], data["sources"]
        for path in todo:
            must(not re.search(r"^/|\\|(^|/)\.\.(/|$)", path), f"{path} leads out of the plan's folder")
            place = stock / f"{path[7:]}.stay" if path.startswith("stdlib:") else folder / path
            text = re.sub("\r\n?", "\n", place.read_bytes().decode("utf-8-sig"))
            same = hashlib.sha256(text.encode()).hexdigest() == sources.get(path)
            must(same, f"{path} is not the file that was checked")
            files[path] = lines_of(path, text)
            for used in re.findall(r"^(?:use ([\w./-]+)| +excursions (.+))", text, re.M):
                names = [f"{name}.stay" for name in re.findall(r"[\w./-]+", "".join(used))]
                todo += [file for file in (n if n in sources else f"stdlib:{n[:-5]}" for n in names) if file not in todo]
        must(set(todo) == set(sources), "it lists files that are no part of the plan")
        self.lines = {f"{p}:{number}": line for p, file in files.items() for number, line in file.items()}
        heads = [f"{v['property']} of" if v["property"] else v["sort"] for v in data["variables"]]
        self.vars = {f"{n} {v['thing']}": (v["sort"], v["thing"]) for n, v in zip(heads, data["variables"], strict=True)}
        self.actors, self.ends = {thing for sort, thing in self.vars.values() if sort == "place"}, dict[Any, Any]()
        for one in data["excursions"]:
            self.excursion(one, one["steps"], one["start"], one["name"])
        plans = {line.text.split()[1] for line in self.lines.values() if line.text.startswith("excursion ")}
        must({*self.ends} - {None} == plans, "the plan has other excursions")
        return f"{len(plans)} excursions, {sum(len(one['steps']) for one in data['excursions'])} steps"

    def excursion(self, one: Any, steps: list[Any], start: dict[str, Any], name: str) -> None:
        self.where, self.steps, head, state = name, steps, self.lines[one["place"]], dict(start)
        links = [re.match(r"starts (as|from promise of) ([\w-]+)( ends)?$", x.text) for x in self.lines.values() if head in x.under]
        before = next((m[2] for m in links if m and (m[1] != "as" or m[3])), None)
        must(head.text.split()[:2] == ["excursion", name] and name not in self.ends, "it is not written there")
        must(before == one["starts_after"] and before in {None, *self.ends}, "it does not start after that")
        must(self.ends.setdefault(before, start) == start and start.keys() == self.vars.keys(), "its start is not what was left")
        self.trails = [[self.lines[place] for place in (s["place"], *s["in_routine"])] for s in steps]
        self.keys = [tuple(line.at for line in trail) for trail in self.trails]
        self.all_written(head)
        lists, chains = defaultdict[str, list[int]](list), {var: [(None, x)] for var, x in start.items()}
        inner, mask, touched, wrote = (defaultdict[Any, int](int) for _ in range(4))
        ended: list[int] = []
        must(all(self.held(var, state) for var in state), "something is held by nothing")
        for i, s in enumerate(steps):
            self.where, bits, places = f"{name}, step {i} ({s['place']})", 0, [(a, len(lists[a])) for a in s["cast"]]
            must(s["step"] == i and [*s["positions"].items()] == places != [], "it is out of its place")
            own = [(lists[actor][-1], actor) for actor, place in places if place]
            must(own == [(e["step"], e["actor"]) for e in s["after"] if e["why"] == "own"], "a list's order is left out")
            must(all(self.keys[p] <= self.keys[i] for p, _ in own), "what its cast did before is written further down")
            for e in s["after"] + s["within"]:
                must(self.written(e, i), f"this is not written: {json.dumps(e)}")
                for edge in steps[e["step"]]["after"] if e["why"] == "while" else [e]:
                    bits |= ended[edge["step"]] if edge["step"] < i else 0
            must(s["clock"] == {a: (bits & mask[a]).bit_count() for a in one["columns"]}, "its clock is another")
            for var, c in [(c["variable"], c) for c in s["changes"]] + [(var, None) for var in s["reads"]]:
                must(not (touched if c else wrote)[var] & ~bits, f"{var} may be in use meanwhile")
                must(state[var] == (c["before"] if c else state[var]), f"{var} is {state[var]} then")
                touched[var] |= 1 << i
                if c:
                    state[var], wrote[var] = c["after"], wrote[var] | 1 << i
                    chains[var].append((i, c["after"]))
            must(all(self.held(c["variable"], state) for c in s["changes"]), "it leaves something held by nothing")
            ended.append(bits | 1 << i | inner[i])
            for e in s["within"]:
                inner[e["step"]] |= ended[i]
            for actor in s["cast"]:
                lists[actor].append(i)
                mask[actor] |= 1 << i
        self.where, self.ends[name] = name, state
        must(one["columns"] == [*lists] and state == one["end"], "its actors or its end are others")
        until = {var: zip(chain, [i for i, _ in chain[1:]] + [None], strict=True) for var, chain in chains.items()}
        custody = {v: [{"from": a, "to": b, "on": x} for (a, x), b in c] for v, c in until.items() if self.vars[v][0] in ENDS}
        must(custody == {f"{c['what']} {c['thing']}": c["chain"] for c in one["custody"]}, "its custody chains are others")

    def held(self, var: str, state: dict[str, Any]) -> bool:
        on = [state.get(f"{what} {self.vars[var][1]}") for what in ENDS]
        return any(on) or on[0] is None

    def written(self, e: Any, i: int) -> bool:
        """Whether the text says that the edge's step comes before (or, for while, stretches over) step i."""
        p, s, t, key = e["step"], self.steps[e["step"]], self.steps[i], self.keys[i]
        task, after = self.trails[i][0].up("task"), self.keys[p] <= key
        if e["why"] == "own" or not 0 <= p != i or (p > i) != (e["why"] == "while"):
            return e["why"] == "own" and 0 <= p < i
        if e["why"] == "task":  # or the last step before a heading of that task, which had nothing to do
            top = [self.lines[place] for place in e["heading"] or [s["place"]]]
            who = len(top) > 1 or not e["heading"] or set(s["cast"]) & set(re.findall(r"[\w-]+", top[0].text))
            named = e["task"] in task.bounds("after") and self.lines[e["place"]].at == task.at
            return named and who and self.keys[p] <= tuple(x.at for x in top) and self.task(top[0]) == e["task"]
        call, on = self.lines[e["says"]], self.lines[e["on"]]
        k = key.index(on.at) if on.at in key else 0
        bare = s["task"] == t["task"] or len(self.keys[p]) == 1 and (t["task"], e["mark"]) not in self.told
        names = on.bounds("while" if e["why"] == "while" else "on") if on.at in (*key, task.at) else []
        fresh = call.up("routine") != on.up("routine") or self.keys[p][:k] == key[:k]
        named = f"{s['task']}.{e['mark']}" in names or e["mark"] in names and bare
        return bool(fresh and named and s["says"] == [e["mark"], e["says"]])
