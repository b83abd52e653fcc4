"""The body of a task: blocks with their headings, steps, and routine calls that unfold into blocks."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from jackstay.model.actions import ActionBuilder
from jackstay.model.literals import is_under
from jackstay.model.patterns import RoutineDecl, Verb, Word, tokens
from jackstay.model.records import Action, AnyOf, Block, Duration, Entry, Expect, Mark, Param, Remark, Task, Thing
from jackstay.model.scope import Group, LetValue, Scope
from jackstay.model.terms import Terms
from jackstay.model.units import SpanOf, dimension_text
from jackstay.source.spans import NOWHERE, Span
from jackstay.syntax import tree

if TYPE_CHECKING:
    from jackstay.model.choreography import ExcursionBuilder

Argument = Thing | Fraction | str | AnyOf | None


class Frame:
    """Where a body is read: its file and names, the routine's arguments, and the marks fresh to the call."""

    __slots__ = ("scope", "file", "lines", "module", "arguments", "local", "origin", "calls")

    def __init__(self, scope: Scope, file: tree.File, lines: list[str], module: str, arguments: dict[str, Argument],
                 local: dict[str, Mark] | None, origin: Span | None, calls: tuple[str, ...]) -> None:
        self.scope = scope
        self.file = file
        self.lines = lines
        self.module = module
        self.arguments = arguments
        self.local = local
        self.origin = origin
        self.calls = calls


class BlockBuilder:
    """Reads bodies into entries. ``owner`` collects marks, waits and fallbacks of the excursion."""

    def __init__(self, owner: "ExcursionBuilder") -> None:
        self.owner = owner
        self.world = owner.world
        self.notebook = owner.notebook
        self.units = owner.units
        self.book = owner.book
        self.crew = {m.actor for m in owner.excursion.crew}
        self.cache: dict[tuple[int, tuple[Thing, ...], str], tuple[Action, tuple[Argument, ...], str] | None] = {}

    def body(self, statements: list[tree.Statement], task: Task, entries: list[Entry]) -> None:
        owner = self.owner
        frame = Frame(owner.scope, owner.file, owner.lines, owner.module.name, {}, None, None, ())
        self._body(statements, task, entries, frame)

    def _terms(self, statement: tree.Statement, frame: Frame) -> Terms:
        return Terms(frame.scope, self.units, self.notebook, self.owner.builtin, SpanOf(frame.file, statement))

    def _body(self, statements: list[tree.Statement], task: Task, entries: list[Entry], frame: Frame) -> None:
        remarks: list[Remark] = []
        for statement in statements:
            node = statement.node
            if isinstance(node, tree.Remark):
                remarks.append(Remark(node.sort, node.text.value, frame.file.span(statement)))
            elif isinstance(node, tree.Hole):
                self.notebook.add("hole", frame.file.span(statement), task=task.name)
            elif isinstance(node, tree.Phrase):
                before = len(entries)
                if self._is_heading(node, frame):
                    self._block(statement, node, task, entries, frame)
                else:
                    self._call(statement, node, task, entries, frame)
                if remarks and len(entries) > before:
                    entries[before].remarks = (*remarks, *entries[before].remarks)
                    remarks = []

    # --- headings ----------------------------------------------------------------------------------------------------

    def _actor_of(self, word: tree.PhraseWord, frame: Frame) -> Thing | None:
        if not isinstance(word, tree.Name):
            return None
        bound = frame.arguments.get(word.text)
        if isinstance(bound, Thing):
            return bound if bound.sort == "actor" else None
        found = frame.scope.thing(word.text)
        return found if isinstance(found, Thing) and found.sort == "actor" else None

    def _is_heading(self, node: tree.Phrase, frame: Frame) -> bool:
        """A line that begins with an actor's name, or whose second word shows a heading's shape."""
        if self._actor_of(node.words[0], frame) is not None:
            return True
        first = node.words[0]
        if not isinstance(first, tree.Name) or (first.text, ) in ((w,) for w in self.book.by_first):
            return False
        if first.text in frame.arguments or first.text in frame.scope.broken:
            return True
        second = node.words[1].text if len(node.words) > 1 and isinstance(node.words[1], tree.Name) else ""
        return len(node.words) == 1 or second in ("at", "and", "with", "in", ",")

    def _block(self, statement: tree.Statement, node: tree.Phrase, task: Task, entries: list[Entry], frame: Frame) -> None:
        terms = self._terms(statement, frame)
        block = self._heading(node, terms, frame)
        if block is None:
            self._orphans(statement.children, task, frame)
            return
        block.at = terms.span(tree.At(0, statement.start, node.words[-1].at.end))
        at, routine_at = self._place_of(terms.span(), frame)
        arrivals = []
        pairs: list[tuple[Thing, ...]] = [(*block.doers, *block.riders)] if block.riders else [(d,) for d in block.doers]
        for doers in pairs:
            arrival = Entry(0, task, block, self._cast(doers, ()), at, binding=tuple(doers), text=self._text(node),
                            duration=self._duration(node.bracket, terms), routine_at=routine_at)
            arrivals.append(arrival)
        self._bounds(node, arrivals, terms, task, frame)
        for arrival in arrivals:
            entries.append(arrival)
            task.entries.append(arrival)
        remarks: list[Remark] = []
        for child in statement.children:
            if isinstance(child.node, tree.Remark) and child.node.sort != "because":
                remarks.append(Remark(child.node.sort, child.node.text.value, frame.file.span(child)))
            elif isinstance(child.node, tree.Hole):
                self.notebook.add("hole", frame.file.span(child), task=task.name)
                hole = Entry(0, task, block, self._cast(block.doers, ()), frame.file.span(child), text="...", hole=True)
                entries.append(hole)
                task.entries.append(hole)
            elif isinstance(child.node, tree.Phrase):
                entry = self._step(child, child.node, block, task, frame)
                if entry is not None:
                    entry.remarks = tuple(remarks)
                    remarks = []
                    entries.append(entry)
                    task.entries.append(entry)

    def _orphans(self, children: list[tree.Statement], task: Task, frame: Frame) -> None:
        """Steps under a heading that means nothing: their marks are known all the same, so that nobody misses them."""
        ghost = Thing(-1, "", "", "actor", self.owner.builtin["actor"], NOWHERE)
        for child in children:
            if isinstance(child.node, tree.Phrase):
                for bound in child.node.bounds:
                    if bound.sort == "says":
                        entry = Entry(-1, task, Block((ghost,), (), None, None, NOWHERE), (), NOWHERE)
                        self.owner.say(entry, bound.names[0], frame.file.span(child, bound.names[0].at), frame.local, task)

    def _place_of(self, here: Span, frame: Frame) -> tuple[Span, Span | None]:
        return (here, None) if frame.origin is None else (frame.origin, here)

    def _heading(self, node: tree.Phrase, terms: Terms, frame: Frame) -> Block | None:
        words = list(node.words)
        groups: dict[str, list[tree.Name]] = {"who": [], "with": [], "at": [], "in": []}
        mode, good = "who", True
        for word in words:
            if not isinstance(word, tree.Name):
                self.notebook.add("heading-shape", terms.span(word.at), found=getattr(word, "text", "a value"))
                return None
            if word.text in ("with", "at", "in") or (word.text == "on" and mode != "who"):
                mode = "in" if word.text == "on" else word.text
            elif word.text == "and" or word.text == ",":
                continue
            else:
                groups[mode].append(word)
        if len(groups["at"]) > 1 or len(groups["in"]) > 1 or not groups["who"]:
            extra = (groups["at"][1:] + groups["in"][1:] + list(words))[0]
            self.notebook.add("heading-shape", terms.span(extra.at), found=getattr(extra, "text", ""))
            return None
        doers, riders = [], []
        for mode, target in (("who", doers), ("with", riders)):
            for name in groups[mode]:
                actor = self._named(name, terms, frame, ("actor",))
                if actor is None:
                    good = False
                    continue
                if actor not in self.crew:
                    self.notebook.add("not-in-crew", terms.span(name.at), name=actor.name, excursion=self.owner.excursion.name,
                                      decl=self.owner.excursion.decl, title=actor.title)
                    self.crew.add(actor)
                if actor in doers or actor in riders:
                    self.notebook.add("named-twice", terms.span(name.at), name=name.text)
                    continue
                target.append(actor)
        place = self._named(groups["at"][0], terms, frame, ("location",)) if groups["at"] else None
        seat = self._named(groups["in"][0], terms, frame, ("item", "actor", "location")) if groups["in"] else None
        if not good or (groups["at"] and place is None) or (groups["in"] and seat is None):
            return None
        return Block(tuple(doers), tuple(riders), place, seat, terms.span(),
                     terms.span(groups["at"][0].at) if groups["at"] else NOWHERE,
                     terms.span(groups["in"][0].at) if groups["in"] else NOWHERE)

    def _named(self, name: tree.Name, terms: Terms, frame: Frame, sorts: tuple[str, ...]) -> Thing | None:
        bound = frame.arguments.get(name.text)
        if isinstance(bound, Thing) and bound.sort in sorts:
            return bound
        return self.owner.thing(name, terms, sorts)

    def _cast(self, doers: tuple[Thing, ...], more: tuple[Thing, ...]) -> tuple[Thing, ...]:
        """Doers, joined actors, then whoever runs one of them; each once."""
        cast: list[Thing] = []
        for actor in (*doers, *more):
            if actor not in cast:
                cast.append(actor)
        for actor in list(cast):
            if actor.runner is not None and actor.runner not in cast:
                cast.append(actor.runner)
        return tuple(cast)

    # --- steps -------------------------------------------------------------------------------------------------------

    def _step(self, statement: tree.Statement, node: tree.Phrase, block: Block, task: Task, frame: Frame) -> Entry | None:
        terms = self._terms(statement, frame)
        key = (id(node), block.doers, frame.module if not frame.arguments else f"{frame.module}/{id(frame)}")
        found = self.cache.get(key, False)
        if found is False or found is None:  # a line that means nothing is reported at each place
            found = self._resolve(node, block, terms, frame)
            self.cache[key] = found
        at, routine_at = self._place_of(terms.span(), frame)
        if found is None:
            for bound in node.bounds:
                if bound.sort == "says":
                    ghost = Entry(-1, task, block, (), at)
                    self.owner.say(ghost, bound.names[0], terms.span(bound.names[0].at), frame.local, task)
            return None
        action, binding, text = found
        if action.helped_by:
            doers = block.doers[:2]
        else:
            doers = block.doers[:1]
        joined = tuple(t for t in (binding[i] for i in action.joined) if isinstance(t, Thing))
        for actor in joined:
            if actor.sort == "actor" and actor not in self.crew:
                self.notebook.add("not-in-crew", at, name=actor.name, excursion=self.owner.excursion.name,
                                  decl=self.owner.excursion.decl, title=actor.title)
                self.crew.add(actor)
        entry = Entry(0, task, block, self._cast(doers, tuple(a for a in joined if a.sort == "actor")), at, action, binding, text,
                      self._duration(node.bracket, terms), routine_at=routine_at)
        self._bounds(node, [entry], terms, task, frame)
        for child in statement.children:
            line = child.node
            if isinstance(line, tree.Remark):
                if line.sort == "because":
                    entry.because = line.text.value
                else:
                    entry.remarks += (Remark(line.sort, line.text.value, frame.file.span(child)),)
            elif isinstance(line, tree.If):
                name = line.fallback.text if line.fallback else ""
                where = frame.file.span(child, line.fallback.at if line.fallback else line.outcome.at)
                known = (*action.may, *(("outside",) if entry.expect else ()))
                if line.outcome.value not in known:
                    self.notebook.add("unknown-outcome", frame.file.span(child, line.outcome.at), outcome=line.outcome.value,
                                      known=list(known), action=action.text, decl=action.decl)
                    continue
                self.owner.fallback_uses.append((entry, line.outcome.value, name, where))
        return entry

    def _resolve(self, node: tree.Phrase, block: Block, terms: Terms, frame: Frame
                 ) -> tuple[Action, tuple[Argument, ...], str] | None:
        words = tokens(node.words, self.units.by_name)
        verbs = [v for v in self.book.match(words, frame.module) if isinstance(v, Action)]
        if not verbs:
            self._no_verb(words, terms, frame, routine=False)
            return None
        arguments = self._arguments(words, verbs, terms, frame)
        if arguments is None:
            return None
        fitting = [v for v in verbs if self._misfit(v, arguments) is None]
        if not fitting:
            self._wrong_argument(words, verbs, arguments, terms)
            return None
        action = self._for_cast(fitting, block, terms)
        if action is None:
            return None
        helper = block.doers[1] if action.helped_by else None
        return action, (block.doers[0], helper, *arguments), self._text(node, frame)

    def _arguments(self, words: list[Word], verbs: list[Verb] | list[Action], terms: Terms, frame: Frame
                   ) -> list[Argument] | None:
        """The slots' arguments, as the first verb's pattern has them (all share the skeleton)."""
        verb = verbs[0]
        out: list[Argument] = []
        good = True
        for part, word in zip(verb.pattern, words, strict=True):
            if part.words:
                continue
            sorts = {v.params[part.slot - 2].sort for v in verbs}
            params = [v.params[part.slot - 2] for v in verbs]
            argument = self._argument(word, sorts, params, terms, frame)
            good &= argument is not None
            out.append(argument)
        return out if good else None

    def _argument(self, word: Word, sorts: set[str], params: list[Param], terms: Terms, frame: Frame) -> Argument:
        node = word.node
        at = terms.span(node.at)
        if isinstance(node, tree.Text):
            if "text" in sorts:
                return node.value
            self.notebook.add("wrong-argument", at, found="a quoted text", wanted=_wanted(params))
            return None
        if isinstance(node, tree.Number):
            if "count" in sorts:
                return Fraction(node.text)
            self.notebook.add("wrong-argument", at, found="a number", wanted=_wanted(params))
            return None
        if isinstance(node, tree.Quantity):
            self.notebook.add("wrong-argument", at, found="a quantity", wanted=_wanted(params))
            return None
        bound = frame.arguments.get(node.text)
        if bound is not None:
            return bound
        found = frame.scope.thing(node.text)
        if isinstance(found, Group) and word.any:
            return AnyOf(found.name, found.members)
        if isinstance(found, Thing):
            return found
        if isinstance(found, LetValue) and "count" in sorts:
            return found.value.value
        if found is None:
            kinds = tuple(k for p in params for k in p.kinds)
            terms.unknown(node, _wanted(params), lambda t: is_under(t.kind, kinds))
            return None
        what = f'a group: write "any {node.text}" or one of its members' if isinstance(found, Group) else "not one thing"
        self.notebook.add("wrong-kind", at, name=node.text, found=what, wanted=_wanted(params), decl=found.decl, candidates=[])
        return None

    def _misfit(self, verb: Verb, arguments: list[Argument]) -> int | None:
        """The first argument that does not fit its slot's kinds."""
        for i, (param, argument) in enumerate(zip(verb.params, arguments, strict=True)):
            if param.sort == "thing":
                things = argument.members if isinstance(argument, AnyOf) else (argument,)
                if not all(isinstance(t, Thing) and is_under(t.kind, param.kinds) for t in things):
                    return i
            elif param.sort == "count" and not isinstance(argument, Fraction):
                return i
            elif param.sort == "text" and not isinstance(argument, str):
                return i
        return None

    def _wrong_argument(self, words: list[Word], verbs: list[Action], arguments: list[Argument], terms: Terms) -> None:
        verb = max(verbs, key=lambda v: self._misfit(v, arguments) or 0)
        index = self._misfit(verb, arguments) or 0
        word = [w for p, w in zip(verb.pattern, words, strict=True) if not p.words][index]
        argument = arguments[index]
        params = [v.params[index] for v in verbs]
        kinds = tuple(k for p in params for k in p.kinds)
        thing = argument.members[0] if isinstance(argument, AnyOf) and argument.members else argument
        self.notebook.add("wrong-kind", terms.span(word.node.at), name=word.text,
                          found=thing.kind.name if isinstance(thing, Thing) else "a value", wanted=_wanted(params),
                          decl=thing.decl if isinstance(thing, Thing) else NOWHERE, action=verb.text, action_at=verb.decl,
                          candidates=terms.scope.things_where(lambda t: is_under(t.kind, kinds)))

    def _for_cast(self, verbs: list[Action], block: Block, terms: Terms) -> Action | None:
        """The overload for these doers; a finding if none takes them."""
        joint = len(block.doers) > 1
        for verb in verbs:
            if bool(verb.helped_by) != joint or len(block.doers) > 2:
                continue
            if is_under(block.doers[0].kind, verb.by) and (not joint or is_under(block.doers[1].kind, verb.helped_by)):
                return verb
        verb = verbs[0]
        self.notebook.add("wrong-cast", terms.span(), action=verb.text, decl=verb.decl, who=[d.title for d in block.doers],
                          kinds=[d.kind.name for d in block.doers], heading=block.at,
                          wanted=" or ".join(_cast_text(v) for v in verbs))
        return None

    def _no_verb(self, words: list[Word], terms: Terms, frame: Frame, routine: bool) -> None:
        near = [n for n in self.book.near(words, frame.module)
                if isinstance(n.verb, RoutineDecl) == routine] or self.book.near(words, frame.module)
        if not near:
            self.notebook.add("unknown-verb", terms.span(words[0].node.at), word=words[0].text,
                              candidates=self.book.first_words(frame.module))
            return
        best = near[0]
        if best.wrong == -1:
            what = "routine-inside-block" if isinstance(best.verb, RoutineDecl) else "step-without-actor"
            self.notebook.add(what, terms.span(), text=best.verb.text, decl=best.verb.decl)
            return
        wrong = min(best.wrong, len(words) - 1)
        self.notebook.add("wrong-words", terms.span(words[wrong].node.at), found=words[wrong].text,
                          too_short=best.wrong >= len(words), too_long=best.wrong >= len(best.verb.pattern),
                          patterns=[(n.verb.text, n.verb.decl) for n in near[:6]])

    # --- routines ------------------------------------------------------------------------------------------------------

    def _call(self, statement: tree.Statement, node: tree.Phrase, task: Task, entries: list[Entry], frame: Frame) -> None:
        terms = self._terms(statement, frame)
        words = tokens(node.words, self.units.by_name)
        verbs = [v for v in self.book.match(words, frame.module) if isinstance(v, RoutineDecl)]
        if not verbs:
            self._no_verb(words, terms, frame, routine=True)
            self._orphans(statement.children, task, frame)
            return
        arguments = self._arguments(words, verbs, terms, frame)
        if arguments is None:
            return
        fitting = [v for v in verbs if self._misfit(v, arguments) is None]
        if not fitting:
            self._wrong_argument(words, verbs, arguments, terms)  # type: ignore[arg-type]
            return
        routine = fitting[0]
        if routine.text in frame.calls:
            self.notebook.add("routine-in-circle", terms.span(), circle=[*frame.calls, routine.text], decl=routine.decl)
            return
        module = self.owner.routine_module(routine)
        inner = Frame(self.owner.scopes[routine.module], module.file, module.source.lines, routine.module,
                      {p.name: a for p, a in zip(routine.params, arguments, strict=True)}, {},
                      frame.origin or terms.span(), (*frame.calls, routine.text))
        before = len(entries)
        self._body(routine.statement.children, task, entries, inner)
        made = entries[before:]
        for bound in node.bounds:
            if bound.sort == "on" and made:
                seen: set[int] = set()
                for entry in made:
                    if not all(a.index in seen for a in entry.cast):
                        self._bound(bound, entry, terms, task, frame)
                    seen.update(a.index for a in entry.cast)
            elif bound.sort == "says" and made:
                self._bound(bound, made[-1], terms, task, frame)

    # --- bounds ------------------------------------------------------------------------------------------------------

    def _bounds(self, node: tree.Phrase, entries: list[Entry], terms: Terms, task: Task, frame: Frame) -> None:
        for bound in node.bounds:
            if bound.sort == "says":
                self._bound(bound, entries[-1], terms, task, frame)
            else:
                for entry in entries:
                    self._bound(bound, entry, terms, task, frame)

    def _bound(self, bound: tree.Bound, entry: Entry, terms: Terms, task: Task, frame: Frame) -> None:
        from jackstay.model.choreography import Pending

        owner = self.owner
        if bound.sort == "says":
            owner.say(entry, bound.names[0], terms.span(bound.names[0].at), frame.local, task)
        elif bound.sort in ("on", "while"):
            for name in bound.names:
                owner.pending.append(Pending(entry, bound.sort, name, terms.span(name.at), frame.local or {}, task))
        elif bound.sort == "expect":
            low, high = (self._measure(f, terms) for f in (bound.formulas[0], bound.formulas[-1]))
            if low is None or high is None:
                return
            if low.dimension != high.dimension:
                self.notebook.add("wrong-dimension", terms.span(bound.at), found=dimension_text(high.dimension),
                                  wanted=dimension_text(low.dimension), what="the two ends of this range")
            elif low.value > high.value:
                self.notebook.add("bad-range", terms.span(bound.at), low=low.text, high=high.text)
            else:
                entry.expect = Expect(low, high, f"{low.text} to {high.text}", terms.span(bound.at))
        else:
            made = owner.time_bound(bound, terms, entry, frame.local or {}, task)
            if made is not None:
                entry.bounds += (made,)

    def _measure(self, node: tree.Formula, terms: Terms):  # type: ignore[no-untyped-def]
        from jackstay.model.formulas import constant

        return constant(node, terms)

    def _duration(self, bracket: tree.Bracket | None, terms: Terms) -> Duration | None:
        if bracket is None:
            return None
        values: list[Fraction | None] = []
        for quantity in (bracket.likely, bracket.least, bracket.most):
            measure = self.owner.time(quantity, terms) if quantity is not None else None
            if quantity is not None and measure is None:
                return None
            values.append(measure.value if measure else None)
        likely, least, most = values
        if least is not None and most is not None and not (least <= (likely if likely is not None else least) <= most):
            self.notebook.add("bad-range", terms.span(bracket.at), low=str(float(least) / 60), high=str(float(most) / 60))
            return None
        return Duration(likely, least, most)

    def _text(self, node: tree.Phrase, frame: Frame | None = None) -> str:
        """The phrase as written, with a routine's slots filled in."""
        out = ""
        for word in node.words:
            if isinstance(word, tree.Text):
                text = f'"{word.value}"'
            elif isinstance(word, tree.Quantity):
                from jackstay.model.kinds import text_of

                text = text_of(word)
            else:
                text = word.text
                bound = frame.arguments.get(text) if frame else None
                if isinstance(bound, Thing):
                    text = bound.name
            out += text if text == "," else (" " if out else "") + text
        return out


def _wanted(params: list[Param]) -> str:
    """``a bag or a crate``; ``a number``; ``a quoted text``."""
    words: list[str] = []
    for param in params:
        if param.sort == "count":
            words.append("a number")
        elif param.sort == "text":
            words.append("a quoted text")
        else:
            words += [("an " if k.name[:1] in "aeiou" else "a ") + k.name for k in param.kinds]
    return " or ".join(dict.fromkeys(words))


def _cast_text(action: Action) -> str:
    text = " or ".join(k.name for k in action.by)
    if action.helped_by:
        text += ", helped by " + " or ".join(k.name for k in action.helped_by)
    return text


__all__ = ["ActionBuilder", "BlockBuilder"]
