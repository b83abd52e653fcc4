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

    def up(self, word: str) -> "Line":
        return next((line for line in (*self.under, self) if line.text.startswith(word + " ")), NOTHING)

    def bounds(self, word: str) -> list[str]:
        found = re.findall(rf", *{word} ([\w.-]+(?:,? and [\w.-]+)*)", re.sub(r'"[^"]*"', "", self.text))
        return [name for names in found for name in re.split(r",? and ", names)]


NOTHING = Line(("", 0), "- -", ())
ENDS = ("held", "from", "to")
ASIDE = re.compile(r'(warning|caution|note|because) *"|(if|allow|done when) |\.\.\.')  # what stands among steps


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
            indent, above = stack.pop()
            stack.append((indent, above._replace(text=f"{above.text} {words}")))
        elif words:
            stack = [one for one in stack if one[0] < indent]
            stack.append((indent, Line((path, number), words, tuple(above for _, above in stack))))
        out.update(dict.fromkeys(range(stack[-1][1].at[1], number + 1), stack[-1][1]) if words else {})
    return out


class Checker:
    where = "certificate"

    def run(self, data: Any, folder: Path, stock: Path) -> str:
        self.lines: dict[str, Line] = {}
        self.ends: dict[Any, Any] = {}
        todo, sources, variables = [data["plan"]], data["sources"], data["variables"]
        for path in todo:
            must(not re.search(r"^/|\\|(^|/)\.\.(/|$)", path), f"{path} leads out of the plan's folder")
            place = stock / f"{path[7:]}.stay" if path.startswith("stdlib:") else folder / path
            text = re.sub("\r\n?", "\n", place.read_bytes().decode("utf-8-sig"))
            must(hashlib.sha256(text.encode()).hexdigest() == sources.get(path), f"{path} is not what was checked")
            self.lines.update((f"{path}:{number}", line) for number, line in lines_of(path, text).items())
            for used in re.findall(r"^(?:use ([\w./-]+)| +excursions (.+))", text, re.M):
                files = [f"{name}.stay" for name in re.findall(r"[\w./-]+", "".join(used))]
                todo += {f if f in sources else f"stdlib:{f[:-5]}": 0 for f in files}.keys() - {*todo}
        must({*todo} == {*sources} and data["schema"] == "jackstay.certificate/1", "it vouches for other files")
        heads = [f"{v['property']} of" if v["property"] else v["sort"] for v in variables]
        self.vars = {f"{head} {v['thing']}": v for head, v in zip(heads, variables, strict=True)}
        self.actors = {v["thing"] for v in variables if v["sort"] == "place"}
        for one in data["excursions"]:
            self.where = one["name"]
            self.excursion(one, one["steps"], one["start"])
        plans = {line.text.split()[1] for line in self.lines.values() if line.up("excursion") is line}
        must({*self.ends} - {None} == plans, "the plan has other excursions")
        return f"{len(plans)} excursions, {sum(len(one['steps']) for one in data['excursions'])} steps"

    def excursion(self, one: Any, steps: list[Any], start: dict[str, Any]) -> None:
        self.steps, self.head, name, state = steps, self.lines[one["place"]], one["name"], dict(start)
        own_lines = [line for line in self.lines.values() if self.head in line.under]
        links = [re.match(r"starts (?:as (\S+) ends|from promise of (\S+))", line.text) for line in own_lines]
        before = next((m[1] or m[2] for m in links if m), None)
        must(self.head.text.split()[:2] == ["excursion", name] and name not in self.ends, "it is not written there")
        must(before == one["starts_after"] and before in {None, *self.ends}, "it does not start after that")
        must(self.ends.setdefault(before, start) == start and {*start} == {*self.vars}, "its start is not what was left")
        trails = [[self.lines[place] for place in (s["place"], *s["in_routine"])] for s in steps]
        self.keys = [tuple(line.at for line in trail) for trail in trails]
        self.told = {(s["task"], s["says"][0]) for s in steps if s["says"]}
        self.last = {key[: k + 1]: key for key in sorted(self.keys) for k in range(len(key))}
        self.final = {(key, s["cast"][0]): s["step"] for key, s in zip(self.keys, steps, strict=True)}
        done = {x.at for s, trail in zip(steps, trails, strict=True) for x in trail[: -1 if s["inserted"] else None]}
        done |= {line.under[-1].at for line in own_lines if not ASIDE.match(line.text)}
        for line in own_lines:
            task = line.up("task")
            silent = ASIDE.match(line.text) or self.doers(line) or "only if" in task.text or task in (line, NOTHING)
            must(silent or line.at in done, f"no step does line {line.at[1]}: {line.text}")
        chains = {var: [{"from": None, "on": x}] for var, x in start.items()}
        inner, lists, touched, wrote = (defaultdict[Any, int](int) for _ in range(4))
        ended: list[int] = []
        for i, (s, key, trail) in enumerate(zip(steps, self.keys, trails, strict=True)):
            self.where, bits, words = f"{name}, step {i} ({s['place']})", 0, "".join(s["text"].split())
            places = [(actor, lists[actor].bit_count()) for actor in s["cast"]]
            must(s["step"] == i and [*s["positions"].items()] == places != [], "it is out of its place")
            must(self.task(trail[0]) == s["task"] and self.head in trail[0].under, "it is not of that task")
            must(s["changes"] if s["inserted"] else key[1:] or words in trail[0].text.replace(" ", ""), "it is not written so")
            must(s["says"] is None or self.says(i, s, key), "it is not what says that")
            own = [(lists[actor].bit_length() - 1, actor) for actor in s["cast"] if lists[actor]]
            must(own == [(e["step"], e["actor"]) for e in s["after"] if e["why"] == "own"], "a list's order is left out")
            must(all(self.keys[p] <= key for p, _ in own), "what its cast did before is written further down")
            for e in s["after"] + s["within"]:
                must(self.written(e, i, trail[0].up("task")), f"this is not written: {json.dumps(e)}")
                for edge in steps[e["step"]]["after"] if e["why"] == "while" else [e]:
                    bits |= ended[edge["step"]] if edge["step"] < i else 0
            must(s["clock"] == {a: (bits & lists[a]).bit_count() for a in one["columns"]}, "its clock is another")
            for var, c in [(c["variable"], c) for c in s["changes"]] + [(var, None) for var in s["reads"]]:
                must(not (touched if c else wrote)[var] & ~bits, f"{var} may be in use meanwhile")
                must(state[var] == (c["before"] if c else state[var]), f"{var} is {state[var]} then")
                touched[var] |= 1 << i
                if c:
                    state[var], wrote[var] = c["after"], wrote[var] | 1 << i
                    chains[var].append({"from": i, "on": c["after"]})
            must(all(self.held(c["variable"], state) for c in s["changes"]), "something is held by nothing then")
            ended.append(bits | 1 << i | inner[i])
            inner.update((e["step"], inner[e["step"]] | ended[i]) for e in s["within"])
            lists.update((actor, lists[actor] | 1 << i) for actor in s["cast"])
        self.where, self.ends[name] = name, state
        must(one["columns"] == {a: n.bit_count() for a, n in lists.items()} and state == one["end"], "it ends otherwise")
        must(all(self.held(var, start) for var in start), "something is held by nothing at the start")
        custody = {f"{c['what']} {c['thing']}": c["chain"] for c in one["custody"]}
        must(custody == {v: c for v, c in chains.items() if self.vars[v]["sort"] in ENDS}, "its custody chains are others")

    def held(self, var: str, state: dict[str, Any]) -> bool:
        on = [state.get(f"{what} {self.vars[var]['thing']}") for what in ENDS]
        return any(on) or on[0] is None

    def doers(self, line: Line) -> list[str]:
        """Who is named by a heading; nobody by any other line."""
        names = re.findall(r"[\w-]+", re.split(r" (?:at|in|with) |, *(?:says|on|while|by) ", line.text)[0])
        return [name for name in names if name in self.actors] if names and names[0] in self.actors else []

    def task(self, line: Line) -> str:
        return re.findall(r"[\w-]+", line.up("task").text)[1]

    def says(self, i: int, s: Any, key: Any) -> bool:
        """Whether a step is the last of what its mark names the end of: a step, an arrival, a routine's call."""
        call = self.lines[s["says"][1]]
        whole = call.at in key and self.last[key[: key.index(call.at) + 1]] == key
        final = not s["inserted"] or self.final[key, s["cast"][0]] == i
        return whole and final and s["says"][0] in call.bounds("says") and {*self.doers(call)[-1:]} <= {*s["cast"]}

    def written(self, e: Any, i: int, task: Line) -> bool:
        """Whether the text says that the edge's step comes before step i, or, for while, stretches over it."""
        p, key = e["step"], self.keys[i]
        if e["why"] == "own" or not 0 <= p < len(self.steps) or (p < i) != (e["why"] != "while"):
            return e["why"] == "own"  # these are compared as a whole
        s, before = self.steps[p], self.keys[p]
        if e["why"] == "task":  # the step may be the last before a heading of that task which had nothing to do
            top = [self.lines[place] for place in e["heading"] or [s["place"], *s["in_routine"]]]
            same = e["heading"] is None or len(top) > 1 or {*s["cast"]} & {*self.doers(top[0])}
            named = e["task"] in task.bounds("after") and self.lines[e["place"]] is task
            return bool(same and named and before <= tuple(x.at for x in top) and self.task(top[0]) == e["task"])
        call, on = self.lines[e["says"]], self.lines[e["on"]]
        k = key.index(on.at) if on.at in key else 0
        names = on.bounds({"wait": "on", "while": "while"}[e["why"]]) if on.at in (*key, task.at) else []
        near = s["task"] == self.steps[i]["task"] or len(before) == 1 and (self.steps[i]["task"], e["mark"]) not in self.told
        named = f"{s['task']}.{e['mark']}" in names or e["mark"] in names and near
        return named and s["says"] == [e["mark"], e["says"]] and (call.up("routine") != on.up("routine") or before[:k] == key[:k])


def verify(certificate: bytes, folder: Path, stock: Path | None = None) -> tuple[bool, str]:
    """Whether the certificate holds of the plan in the folder, and OK or the first reason. stock: the vocabularies."""
    beside = (place / "stdlib" for place in Path(__file__).resolve().parents if (place / "stdlib").is_dir())
    checker = Checker()
    try:
        return True, f"OK: {checker.run(json.loads(certificate), folder, stock or next(beside, folder))}"
    except (KeyError, TypeError, AttributeError, IndexError, OSError, RecursionError, ValueError) as error:
        return False, f"{checker.where}: {error if type(error) is ValueError else f'not in order ({error!r})'}"


if __name__ == "__main__":
    plan = Path(sys.argv[2])
    good, words = verify(Path(sys.argv[1]).read_bytes(), plan if plan.is_dir() else plan.parent)
    print(words)
    sys.exit(0 if good else 1)
