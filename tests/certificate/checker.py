"""Checks a certificate against the plan's files, alone: `checker.py CERTIFICATE PLAN` prints OK or the first reason.

It takes the certificate's word for what steps read and change; the order and who has what it works out by itself."""

import hashlib
import json
import re
import sys
from collections import defaultdict
from pathlib import Path
from typing import Any

STOCK = next((place for place in Path(__file__).resolve().parents if (place / "stdlib").is_dir()), Path()) / "stdlib"
ASIDE = re.compile(r'(warning|caution|note|because)( of [^"]*)? *"|(if|allow|done when) |\.\.\.')  # among steps


class Line:  # a statement: (file, line) of its beginning, its words, the statements that it stands under
    def __init__(self, at: tuple[str, int], indent: int, text: str, under: list["Line"]) -> None:
        self.at, self.indent, self.text, self.under = at, indent, text, under

    def up(self, word: str) -> "Line":  # its excursion, task or routine
        return next((x for x in (*self.under, self) if x.text.startswith(f"{word} ")), Line(("", 0), 0, "", []))

    def bounds(self, word: str) -> list[str]:
        found = re.findall(rf", *{word} ([\w.-]+(?:,? and [\w.-]+)*)", re.sub(r'"[^"]*"', "", self.text))
        return [name for names in found for name in re.split(r",? and ", names)]


def must(fact: object, reason: str) -> None:
    if not fact:
        raise ValueError(reason)


class Checker:
    def verify(self, certificate: bytes, plan: Path) -> str:
        self.where, self.lines, self.ends = "certificate", dict[str, Line](), dict[Any, Any]()
        try:
            return self.run(json.loads(certificate), plan if plan.is_dir() else plan.parent)
        except (KeyError, TypeError, AttributeError, IndexError, OSError, RecursionError, ValueError) as error:
            return f"{self.where}: {error if type(error) is ValueError else f'not in order ({error!r})'}"

    def read(self, path: str, text: str) -> None:
        above = Line((path, 0), -1, "", [])
        for number, raw in enumerate(text.split("\n"), 1):
            bare = re.sub(r'((?:[^"#]|"[^"]*"?)*).*', r"\1", raw).expandtabs(8)  # without the comment
            words, indent = " ".join(bare.split()), len(bare) - len(bare.lstrip())
            if words and above.text and indent > above.indent and re.match(r"(and|or|then)(?![\w-])", words):
                above.text += f" {words}"
            elif words:
                above = Line((path, number), indent, words, [x for x in (*above.under, above) if x.indent < indent])
            self.lines[f"{path}:{number}"] = above

    def run(self, data: Any, folder: Path) -> str:
        todo, sources, self.vars = [data["plan"]], data["sources"], data["variables"]
        for path in todo:
            place = STOCK / f"{path[7:]}.stay" if path[:7] == "stdlib:" else folder / path.replace("..", "").lstrip("/")
            text = re.sub("\r\n?", "\n", place.read_bytes().decode("utf-8-sig"))
            must(hashlib.sha256(text.encode()).hexdigest() == sources.get(path), f"{path} is not what was checked")
            self.read(path, text)
            for used in re.findall(r"^(?:use ([\w./-]+)|[ \t]+excursions ([^#\n]+))", text, re.M):
                files = [f"{name}.stay" for name in re.findall(r"[\w./-]+", "".join(used))]
                todo += sorted({f if f in sources else f"stdlib:{f[:-5]}" for f in files} - {*todo})
        must({*todo} == {*sources} and data["schema"] == "jackstay.certificate/1", "it vouches for other files")
        heads = {var: f"{v['property']} of" if v["sort"] == "property" else v["sort"] for var, v in self.vars.items()}
        must(all(var == f"{heads[var]} {v['thing']}" for var, v in self.vars.items()), "variables have other names")
        self.actors = {v["thing"] for v in self.vars.values() if v["sort"] == "place"}
        ends = {x: [f"{end} {v['thing']}" for end in ("held", "from", "to")] for x, v in self.vars.items()}
        self.on = {x: [hook for hook in hooks if hook in self.vars] for x, hooks in ends.items()}
        for one in data["excursions"]:
            self.excursion(one, one["steps"], one["start"], one["name"])
        plans = {x.text.split()[1] for x in self.lines.values() if x is x.up("excursion")}
        must({*self.ends} - {None} == plans, "the plan has other excursions")
        return f"OK: {len(plans)} excursions, {sum(len(one['steps']) for one in data['excursions'])} steps"

    def excursion(self, one: Any, steps: list[Any], start: dict[str, Any], name: str) -> None:
        self.steps, self.where, head, state = steps, name, self.lines[one["place"]], dict(start)
        own_lines = [line for line in self.lines.values() if head in line.under]
        link = re.compile(r"starts (?:as(?=.* ends)|from promise of) (\S+)")
        before = next((m[1] for line in own_lines if (m := link.match(line.text))), None)
        must(head.text.split()[1] == name not in self.ends and before == one["starts_after"], "it is not written so")
        must((self.ends[before] if before else self.ends.setdefault(None, start)) == start, "its start is not as left")
        must(all(any(start[x] for x in hooks or start) for hooks in self.on.values()), "something hangs on nothing")
        trails = [[self.lines[place] for place in (s["place"], *s["in_routine"])] for s in steps]
        self.keys = keys = [tuple(line.at for line in trail) for trail in trails]
        self.told = {(s["task"], s["says"][0]) for s in steps if s["says"]}
        self.last = {key[: k + 1]: key for key in sorted(keys) for k in range(len(key))}
        done = {x for s, trail in zip(steps, trails, strict=True) for x in trail[: -1 if s["inserted"] else None]}
        done |= {line.under[-1] for line in own_lines if not ASIDE.match(line.text)}
        for line in own_lines:
            idle = ASIDE.match(line.text) or self.doer(line) or "only if" in line.up("task").text
            must(idle or line in done or line.up("task").text in ("", line.text), f"nobody does {line.text}")
        chains = {var: [{"from": None, "on": x}] for var, x in start.items()}
        inner, lists, touched, wrote, ended = (defaultdict[Any, int](int) for _ in range(5))  # sets of steps, as bits
        for i, (s, key, trail) in enumerate(zip(steps, keys, trails, strict=True)):
            self.where, bits, words = f"{name}, step {i} ({s['place']})", 0, s["text"].replace(" ", "")
            said = s["changes"] if s["inserted"] else key[1:] or words in trail[0].text.replace(" ", "")
            here = head in trail[0].under and re.split(r"[^\w-]+", trail[0].up("task").text)[1] == s["task"]
            must(said and here and (s["says"] is None or self.says(s, key)), "it is not written so")
            must([*s["positions"].items()] == [(a, lists[a].bit_count()) for a in s["cast"]], "it is out of its place")
            own = [(lists[actor].bit_length() - 1, actor) for actor in s["cast"] if lists[actor]]
            must(own == [(e["step"], e["actor"]) for e in s["after"] if e["why"] == "own"], "a list is not followed")
            late = any(keys[p] > key or (keys[p] == key and steps[p]["inserted"] and steps[p]["says"]) for p, _ in own)
            must(s["step"] == i and not late, "what its cast did before is written below")
            for e in s["after"] + s["within"]:
                must(e["why"] == "own" or self.written(e, s, key, trail[0]), f"this is not written: {json.dumps(e)}")
                for edge in steps[e["step"]]["after"] if e["why"] == "while" else [e]:
                    bits |= ended[edge["step"]] if edge["step"] < i else 0
            must(s["clock"] == {a: (bits & lists[a]).bit_count() for a in one["columns"]}, "its clock is another")
            for var, c in [(c["variable"], c) for c in s["changes"]] + [(var, None) for var in s["reads"]]:
                must(not (touched if c else wrote)[var] & ~bits, f"{var} may be in use meanwhile")
                must(not c or state[var] == c["before"], f"{var} is not that then")
                touched[var], wrote[var] = touched[var] | 1 << i, wrote[var] | bool(c) << i
                state[var] = c["after"] if c else state[var]
                chains[var] += [{"from": i, "on": c["after"]}] if c else []
            must(all(any(state[x] for x in self.on[c["variable"]] or state) for c in s["changes"]), "held by nothing")
            ended[i] = bits | 1 << i | inner[i]
            inner.update((e["step"], inner[e["step"]] | ended[i]) for e in s["within"])
            lists.update((actor, lists[actor] | 1 << i) for actor in s["cast"])
        self.where, self.ends[name], counts = name, state, {actor: mine.bit_count() for actor, mine in lists.items()}
        must(one["columns"] == counts and state == one["end"] and {*state} == {*self.vars}, "its end is not as left")
        must(one["custody"] == {v: chains[v] for v in chains if v in self.on[v]}, "custody is otherwise")

    def doer(self, line: Line) -> str:  # the last whom a heading names; of any other line, nobody
        names = re.findall(r"[\w-]+", re.split(r" (?:at|in|with) |, *(?:says|on|while|by) ", line.text)[0])
        return names[-1] if {*names[:1]} & self.actors else ""

    def says(self, s: Any, key: Any) -> bool:  # the last of what the mark ends: step, arrival, call
        call = self.lines[s["says"][1]]
        whole = call.at in key and self.last[key[: key.index(call.at) + 1]] == key
        return whole and s["says"][0] in call.bounds("says") and self.doer(call) in ("", *s["cast"])

    def written(self, e: Any, t: Any, key: Any, line: Line) -> bool:  # the text says: e["step"] before t, or around it
        s, before, task = self.steps[e["step"]], self.keys[e["step"]], line.up("task")
        good = s["step"] == e["step"] and (s["step"] > t["step"]) == (e["why"] == "while")
        if e["why"] == "task":  # the step may be the last before a heading of that task which had nothing to do
            top = [self.lines[place] for place in e["heading"] or [s["place"], *s["in_routine"]]]
            same = e["heading"] is None or len(top) > 1 or {*s["cast"]} & {*re.findall(r"[\w-]+", top[0].text)}
            ends = before <= tuple(x.at for x in top) and re.split(r"[^\w-]+", top[0].up("task").text)[1] == e["task"]
            return bool(good and same and ends and self.lines[e["place"]] is task and e["task"] in task.bounds("after"))
        call, on = self.lines[e["says"]], self.lines[e["on"]]
        names = on.bounds({"wait": "on", "while": "while"}[e["why"]]) if on.at in (*key, task.at) else []
        k = key.index(on.at) if on.at in key else 0
        near = s["task"] == t["task"] or (len(before) == 1 and (t["task"], e["mark"]) not in self.told)
        named = f"{s['task']}.{e['mark']}" in names or (e["mark"] in names and near)
        fresh = call.up("routine") is not on.up("routine") or before[:k] == key[:k]
        return good and fresh and named and s["says"] == [e["mark"], e["says"]]


if __name__ == "__main__":
    sys.exit(print(told := Checker().verify(Path(sys.argv[1]).read_bytes(), Path(sys.argv[2]))) or told[:2] != "OK")
