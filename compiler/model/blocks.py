"""The body of a task: blocks with their headings, steps, and routine calls that unfold into blocks."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple

from jackstay.model.choosing import Argument, Chooser, Frame
from jackstay.model.formulas import constant
from jackstay.model.kinds import text_of
from jackstay.model.patterns import RESERVED, RoutineDecl, tokens
from jackstay.model.records import Action, Block, Duration, Entry, Expect, Mark, Measure, Remark, Task, Thing
from jackstay.model.terms import Terms
from jackstay.model.units import SpanOf, dimension_text
from jackstay.source.spans import NOWHERE, Span
from jackstay.syntax import tree

if TYPE_CHECKING:
    from jackstay.model.choreography import ExcursionBuilder

# what may be said of an arrival, a step and a routine's call; the rest of the bounds is for tasks
_OF_STEPS = ("says", "on", "while", "by", "not-before", "within", "light", "expect")
_OF_HEADINGS = tuple(sort for sort in _OF_STEPS if sort != "expect")
_OF_CALLS = ("says", "on")
_STEPS = (tree.Phrase, tree.Hole, tree.Unreadable)  # what a remark may stand before


class Pending:
    """A mark to be looked up when every ``says`` has been seen."""

    __slots__ = ("entry", "local", "name", "sort", "span", "task")

    def __init__(
        self, entry: Entry | None, sort: str, name: tree.Name, span: Span, local: dict[str, Mark], task: Task
    ) -> None:
        self.entry = entry
        self.sort = sort
        self.name = name
        self.span = span
        self.local = local
        self.task = task


class Heading(NamedTuple):
    """What the words of a heading mean, wherever they stand: pairs are the doers of each arrival, with its cast."""

    doers: tuple[Thing, ...]
    riders: tuple[Thing, ...]
    place: Thing | None
    seat: Thing | None
    place_at: tree.At | None
    seat_at: tree.At | None
    pairs: tuple[tuple[tuple[Thing, ...], tuple[Thing, ...]], ...]
    text: str


MOST_STEPS = 20_000  # what calls of routines may unfold into, in one excursion: routines that call routines double fast


class BlockBuilder:
    """Reads bodies into entries. ``owner`` collects marks, waits and fallbacks of the excursion."""

    def __init__(self, owner: "ExcursionBuilder") -> None:
        self.too_large = False
        self.owner = owner
        self.world = owner.world
        self.notebook = owner.notebook
        self.units = owner.units
        self.book = owner.book
        self.crew = {m.actor for m in owner.excursion.crew}
        self.chooser = Chooser(owner.book, owner.units.by_name, owner.notebook)
        # What equal words, which are one tuple in the tree, mean; never what raised a finding: that is told each time.
        self.steps: dict[tuple[Any, ...], tuple[Action, tuple[Argument, ...], str]] = {}
        self.headings: dict[tuple[Any, ...], Heading] = {}
        self.durations: dict[int, Duration] = {}
        self.casts: dict[tuple[tuple[Thing, ...], tuple[Thing, ...]], tuple[Thing, ...]] = {}

    def body(self, statements: list[tree.Statement], task: Task, entries: list[Entry]) -> None:
        owner = self.owner
        frame = Frame(owner.scope, owner.file, owner.lines, owner.module.name, {}, None, None, ())
        self._body(statements, task, entries, frame)

    def rehearse(self, routine: RoutineDecl, task: Task) -> None:
        """The body with stand-ins as arguments; anybody may be in the crew."""
        arguments: dict[str, Argument] = {}
        for param in routine.params:
            if param.sort == "thing":
                kind = param.kinds[0]
                arguments[param.name] = Thing(-1, param.name.lower(), param.name, kind.sort, kind, param.decl)
            else:
                arguments[param.name] = Fraction(1) if param.sort == "count" else ""
        stand_ins = {t for t in arguments.values() if isinstance(t, Thing) and t.sort == "actor"}
        self.crew = {*self.crew, *stand_ins, *(t for t in self.world.things if t.sort == "actor")}
        owner = self.owner
        frame = Frame(owner.scope, owner.file, owner.lines, owner.module.name, arguments, {}, None, (routine.text,))
        self._body(routine.statement.children, task, [], frame)

    def _terms(self, statement: tree.Statement, frame: Frame) -> Terms:
        """The frame's terms, set to this statement: of one frame, no two statements are read at a time."""
        if frame.terms is None:
            span = SpanOf(frame.file, statement)
            frame.terms = Terms(frame.scope, self.units, self.notebook, self.owner.builtin, span)
        else:
            frame.terms.span.statement = statement  # type: ignore[attr-defined]
        return frame.terms

    def _body(self, statements: list[tree.Statement], task: Task, entries: list[Entry], frame: Frame) -> None:
        remarks: list[Remark] = []
        self._remarks_of_nothing(statements, frame)
        for statement in statements:
            node = statement.node
            if isinstance(node, tree.Remark):
                remarks.append(self._remark(node, statement, frame))
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

    def _remark(self, node: tree.Remark, statement: tree.Statement, frame: Frame) -> Remark:
        """With the hazards that it warns of."""
        found = []
        for name in node.of:
            hazard = self.world.hazards.get(name.text)
            if hazard is None:
                self.notebook.add(
                    "unknown-name",
                    frame.file.span(statement, name.at),
                    name=name.text,
                    wanted="a hazard",
                    candidates=[(one.name, "a hazard", one.decl) for one in self.world.hazards.values()],
                    places=[],
                    elsewhere=[],
                )
            else:
                found.append(hazard)
        return Remark(node.sort, node.text.value, frame.file.span(statement), tuple(found))

    def _remarks_of_nothing(self, statements: list[tree.Statement], frame: Frame) -> None:
        """What is to be said before a step, with no step after it."""
        if not statements or isinstance(statements[-1].node, _STEPS):
            return
        last = next((n for n in range(len(statements), 0, -1) if isinstance(statements[n - 1].node, _STEPS)), 0)
        for statement in statements[last:]:
            node = statement.node
            if isinstance(node, tree.Remark) and node.sort != "because":
                self.notebook.add(
                    "says-nothing", frame.file.span(statement), line=node.sort, lacks="a step after it", name=node.sort
                )

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
        if (id(node.words), frame.key) in self.headings:
            return True
        if self._actor_of(node.words[0], frame) is not None:
            return True
        first = node.words[0]
        if not isinstance(first, tree.Name) or first.text in self.book.by_first:
            return False
        if first.text in frame.arguments or first.text in frame.scope.broken:
            return True
        second = node.words[1].text if len(node.words) > 1 and isinstance(node.words[1], tree.Name) else ""
        return len(node.words) == 1 or second in ("at", "and", "with", "in", ",")

    def _block(
        self, statement: tree.Statement, node: tree.Phrase, task: Task, entries: list[Entry], frame: Frame
    ) -> None:
        terms = self._terms(statement, frame)
        heading = self.headings.get((id(node.words), frame.key)) or self._heading(node, terms, frame)
        if heading is None:
            self._orphans(statement.children, task, frame)
            return
        doers, riders, place, seat, place_at, seat_at, pairs, text = heading
        block = Block(
            doers,
            riders,
            place,
            seat,
            terms.span(tree.At(0, statement.start, node.words[-1].at.end)),
            NOWHERE if place_at is None else terms.span(place_at),
            NOWHERE if seat_at is None else terms.span(seat_at),
        )
        at, routine_at = self._place_of(terms.span(), frame)
        arrivals = []
        for who, cast in pairs:
            arrival = Entry(0, task, block, cast, at, None, who, text, self._duration(node.bracket, terms))
            arrival.routine_at = routine_at
            arrival.calls = frame.trail
            arrivals.append(arrival)
        self._bounds(node, arrivals, terms, task, frame, _OF_HEADINGS)
        for arrival in arrivals:
            entries.append(arrival)
            task.entries.append(arrival)
        remarks: list[Remark] = []
        self._remarks_of_nothing(statement.children, frame)
        for child in statement.children:
            if isinstance(child.node, tree.Phrase):
                entry = self._step(child, child.node, block, task, frame)
                if entry is not None:
                    entry.remarks = tuple(remarks)
                    remarks = []
                    entries.append(entry)
                    task.entries.append(entry)
            elif isinstance(child.node, tree.Remark) and child.node.sort != "because":
                remarks.append(self._remark(child.node, child, frame))
            elif isinstance(child.node, tree.Hole):
                self.notebook.add("hole", frame.file.span(child), task=task.name)
                hole = Entry(0, task, block, self._cast(block.doers, ()), frame.file.span(child), text="...", hole=True)
                hole.calls = frame.trail
                entries.append(hole)
                task.entries.append(hole)

    def _orphans(self, children: list[tree.Statement], task: Task, frame: Frame) -> None:
        """Steps under a heading that means nothing: their marks are known all the same, so that nobody misses them."""
        ghost = Thing(-1, "", "", "actor", self.owner.builtin["actor"], NOWHERE)
        for child in children:
            if isinstance(child.node, tree.Phrase):
                for bound in child.node.bounds:
                    if bound.sort == "says":
                        entry = Entry(-1, task, Block((ghost,), (), None, None, NOWHERE), (), NOWHERE)
                        self.owner.say(
                            entry, bound.names[0], frame.file.span(child, bound.names[0].at), frame.local, task
                        )

    def _place_of(self, here: Span, frame: Frame) -> tuple[Span, Span | None]:
        return (here, None) if frame.origin is None else (frame.origin, here)

    def _heading(self, node: tree.Phrase, terms: Terms, frame: Frame) -> Heading | None:
        """What a heading means; kept for equal words when nothing is wrong with it."""
        words = list(node.words)
        groups: dict[str, list[tree.Name]] = {"who": [], "with": [], "at": [], "in": []}
        mode, good = "who", True
        for word in words:
            ours = ("with", "at", "in", "and", ",") if mode == "who" else ("with", "at", "in", "on", "and", ",")
            if not isinstance(word, tree.Name) or (word.text in RESERVED and word.text not in ours):
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
        doers: list[Thing] = []
        riders: list[Thing] = []
        for mode, target in (("who", doers), ("with", riders)):
            for name in groups[mode]:
                actor = self._named(name, terms, frame, ("actor",))
                if actor is None:
                    good = False
                    continue
                self._in_crew(actor, *self._place_of(terms.span(name.at), frame))
                if actor in doers or actor in riders:
                    first = next(n for m in ("who", "with") for n in groups[m] if n.text == name.text)
                    self.notebook.add("named-twice", terms.span(name.at), name=name.text, first=terms.span(first.at))
                    continue
                target.append(actor)
        place = self._named(groups["at"][0], terms, frame, ("location",)) if groups["at"] else None
        if place is not None and place.near:
            self.notebook.add(
                "wrong-kind",
                terms.span(groups["at"][0].at),
                name=place.name,
                found="a fitting, within reach of a place",
                wanted="the place that somebody stands at",
                decl=place.decl,
                candidates=[(p.name, p.kind.name, p.decl) for p in place.near],
            )
            place = None
        seat = self._named(groups["in"][0], terms, frame, ("item", "actor", "location")) if groups["in"] else None
        if not good or (groups["at"] and place is None) or (groups["in"] and seat is None):
            return None
        pairs: list[tuple[Thing, ...]] = [(*doers, *riders)] if riders else [(d,) for d in doers]
        heading = Heading(
            tuple(doers),
            tuple(riders),
            place,
            seat,
            groups["at"][0].at if groups["at"] else None,
            groups["in"][0].at if groups["in"] else None,
            tuple((who, self._cast(who, ())) for who in pairs),
            self.chooser.text(node),
        )
        if len(doers) + len(riders) == len(groups["who"]) + len(groups["with"]):
            self.headings[id(node.words), frame.key] = heading
        return heading

    def _in_crew(self, actor: Thing, at: Span, routine_at: Span | None, runs: str = "") -> None:
        """Whoever acts, or runs one that acts, is crew; told once for each, and once in all where nobody is named."""
        owner = self.owner
        if actor.runner is not None and not runs:
            self._in_crew(actor.runner, at, routine_at, actor.title)
        if actor in self.crew:
            return
        if not owner.crew_unsure:
            self.notebook.add(
                "not-in-crew",
                at,
                name=actor.name,
                excursion=owner.excursion.name,
                decl=owner.excursion.decl,
                title=actor.title,
                runs=runs,
                crew=[m.actor.title for m in owner.excursion.crew],
                crew_at=owner.crew_at,
                routine_at=routine_at,
            )
        self.crew.add(actor)
        owner.crew_unsure = owner.crew_unsure or owner.crew_at is None

    def _named(self, name: tree.Name, terms: Terms, frame: Frame, sorts: tuple[str, ...]) -> Thing | None:
        bound = frame.arguments.get(name.text)
        if isinstance(bound, Thing) and bound.sort in sorts:
            return bound
        return self.owner.thing(name, terms, sorts)

    def _cast(self, doers: tuple[Thing, ...], more: tuple[Thing, ...]) -> tuple[Thing, ...]:
        """Doers, joined actors, then whoever runs one of them; each once."""
        known = self.casts.get((doers, more))
        if known is not None:
            return known
        cast: list[Thing] = []
        for actor in (*doers, *more):
            if actor not in cast:
                cast.append(actor)
        for actor in list(cast):
            if actor.runner is not None and actor.runner not in cast:
                cast.append(actor.runner)
        known = self.casts[doers, more] = tuple(cast)
        return known

    # --- steps -------------------------------------------------------------------------------------------------------

    def _step(
        self, statement: tree.Statement, node: tree.Phrase, block: Block, task: Task, frame: Frame
    ) -> Entry | None:
        terms = self._terms(statement, frame)
        key = (id(node.words), block.doers, frame.key)
        found = self.steps.get(key)
        if found is None:
            found = self.chooser.resolve(node, block, terms, frame)
            if found is not None:
                self.steps[key] = found
        at, routine_at = self._place_of(terms.span(), frame)
        if found is None:
            for bound in node.bounds:
                if bound.sort == "says":
                    ghost = Entry(-1, task, block, (), at)
                    self.owner.say(ghost, bound.names[0], terms.span(bound.names[0].at), frame.local, task)
            return None
        action, binding, text = found
        doers = block.doers[:2] if action.helped_by else block.doers[:1]
        joined: tuple[Thing, ...] = ()
        if action.joined:
            joined = tuple(t for t in (binding[i] for i in action.joined) if isinstance(t, Thing) and t.sort == "actor")
            for actor in joined:
                self._in_crew(actor, at, routine_at)
        cast = self._cast(doers, joined)
        entry = Entry(0, task, block, cast, at, action, binding, text, self._duration(node.bracket, terms))
        entry.routine_at = routine_at
        entry.calls = frame.trail
        self._bounds(node, [entry], terms, task, frame, _OF_STEPS)
        if entry.expect is None and not any(bound.sort == "expect" for bound in node.bounds):
            entry.expect = action.expects
        answered: dict[str, Span] = {}
        for child in statement.children:
            line = child.node
            if isinstance(line, tree.Remark):
                if line.sort == "because":
                    entry.because = line.text.value
                else:
                    entry.remarks += (self._remark(line, child, frame),)
            elif isinstance(line, tree.If):
                name = line.fallback.text if line.fallback else ""
                where = frame.file.span(child, line.fallback.at if line.fallback else line.outcome.at)
                reading = entry.expect is not None or any(bound.sort == "expect" for bound in node.bounds)
                known = (*action.may, *(("outside",) if reading else ()))
                if line.outcome.value not in known:
                    self.notebook.add(
                        "unknown-outcome",
                        frame.file.span(child, line.outcome.at),
                        outcome=line.outcome.value,
                        known=list(known),
                        action=action.text,
                        decl=action.decl,
                    )
                    continue
                if line.outcome.value in answered:
                    self.notebook.add(
                        "said-twice",
                        frame.file.span(child, line.outcome.at),
                        what=f"the answer to “{line.outcome.value}”",
                        first=answered[line.outcome.value],
                    )
                    continue
                answered[line.outcome.value] = frame.file.span(child, line.outcome.at)
                self.owner.fallback_uses.append((entry, line.outcome.value, name, where))
        return entry

    # --- routines ----------------------------------------------------------------------------------------------------

    def _call(
        self, statement: tree.Statement, node: tree.Phrase, task: Task, entries: list[Entry], frame: Frame
    ) -> None:
        terms = self._terms(statement, frame)
        words = tokens(node.words, self.units.by_name)
        verbs = tuple([v for v in self.book.match(words, frame.module) if isinstance(v, RoutineDecl)])
        if not verbs:
            self.chooser.no_verb(words, terms, frame, routine=True)
            self._orphans(statement.children, task, frame)
            return
        arguments = self.chooser.arguments(words, verbs, terms, frame)
        if arguments is None:
            return
        fitting = [v for v in verbs if self.chooser.misfit(v, arguments) is None]
        if not fitting:
            self.chooser.wrong_argument(words, verbs, arguments, terms)
            return
        routine = fitting[0]
        self.book.called.add(routine.text)
        if routine.text in frame.calls:
            self.notebook.add("routine-in-circle", terms.span(), circle=[*frame.calls, routine.text], decl=routine.decl)
            return
        module = self.owner.routine_module(routine)
        inner = Frame(
            self.owner.scopes[routine.module],
            module.file,
            module.source.lines,
            routine.module,
            {p.name: a for p, a in zip(routine.params, arguments, strict=True)},
            {},
            frame.origin or terms.span(),
            (*frame.calls, routine.text),
        )
        for child in statement.children:
            if isinstance(child.node, (tree.Phrase, tree.If)):
                self.notebook.add(
                    "bound-not-here", frame.file.span(child), sort="line", where="call", decl=routine.decl
                )
                break
        inner.trail = (*frame.trail, terms.span())
        if len(entries) > MOST_STEPS:
            if not self.too_large:
                self.notebook.add("routine-too-large", frame.origin or terms.span(), most=MOST_STEPS, decl=routine.decl)
                self.too_large = True
            return
        before = len(entries)
        self._body(routine.statement.children, task, entries, inner)
        made = entries[before:]
        if node.bracket is not None:
            self.notebook.add("bound-not-here", terms.span(node.bracket.at), sort="time", where="call")
        for bound in node.bounds:
            if bound.sort not in _OF_CALLS:
                self.notebook.add("bound-not-here", terms.span(bound.at), sort=bound.sort, where="call")
            elif bound.sort == "on" and made:
                seen: set[int] = set()
                for entry in made:
                    if not all(a.index in seen for a in entry.cast):
                        self._bound(bound, entry, terms, task, frame)
                    seen.update(a.index for a in entry.cast)
            elif bound.sort == "says" and made:
                self._bound(bound, made[-1], terms, task, frame)

    # --- bounds ------------------------------------------------------------------------------------------------------

    def _bounds(
        self, node: tree.Phrase, entries: list[Entry], terms: Terms, task: Task, frame: Frame, allowed: tuple[str, ...]
    ) -> None:
        for bound in node.bounds:
            if bound.sort not in allowed:
                where = "step" if "expect" in allowed else "heading"
                self.notebook.add("bound-not-here", terms.span(bound.at), sort=bound.sort, where=where)
            elif bound.sort == "says":
                self._bound(bound, entries[-1], terms, task, frame)
            else:
                for entry in entries:
                    self._bound(bound, entry, terms, task, frame)

    def _bound(self, bound: tree.Bound, entry: Entry, terms: Terms, task: Task, frame: Frame) -> None:
        owner = self.owner
        if bound.sort == "says":
            owner.say(entry, bound.names[0], terms.span(bound.names[0].at), frame.local, task)
        elif bound.sort in ("on", "while"):
            for name in bound.names:
                owner.pending.append(
                    Pending(
                        entry, bound.sort, name, terms.span(name.at), {} if frame.local is None else frame.local, task
                    )
                )
        elif bound.sort == "expect":
            low, high = (self._measure(f, terms) for f in (bound.formulas[0], bound.formulas[-1]))
            widest = entry.action.expects if entry.action is not None else None
            if low is None or high is None:
                return
            if low.dimension != high.dimension:
                self.notebook.add(
                    "wrong-dimension",
                    terms.span(bound.at),
                    found=dimension_text(high.dimension),
                    wanted=dimension_text(low.dimension),
                    what="the two ends of this range",
                )
            elif low.value > high.value:
                self.notebook.add("bad-range", terms.span(bound.at), low=low.text, high=high.text)
            elif widest is not None and widest.low.dimension != low.dimension:
                found, wanted = dimension_text(low.dimension), dimension_text(widest.low.dimension)
                at = terms.span(bound.at)
                self.notebook.add("wrong-dimension", at, found=found, wanted=wanted, what="what is read here")
            else:
                entry.expect = Expect(low, high, f"{low.text} to {high.text}", terms.span(bound.at))
        else:
            made = owner.time_bound(bound, terms, entry, {} if frame.local is None else frame.local, task)
            if made is None:
                return
            lit = [other for other in (*task.bounds, *entry.bounds) if other.sort == "light"]
            if made.sort == "light" and lit and lit[0].word != made.word:
                self.notebook.add("said-twice", terms.span(bound.at), what="the light of this step", first=lit[0].at)
                return
            entry.bounds += (made,)

    def _measure(self, node: tree.Formula, terms: Terms) -> Measure | None:
        return constant(node, terms)

    def _duration(self, bracket: tree.Bracket | None, terms: Terms) -> Duration | None:
        if bracket is None:
            return None
        known = self.durations.get(id(bracket))
        if known is not None:
            return known
        values: list[Fraction | None] = []
        for quantity in (bracket.likely, bracket.least, bracket.most):
            measure = self.owner.time(quantity, terms) if quantity is not None else None
            if quantity is not None and measure is None:
                return None
            values.append(measure.value if measure else None)
        likely, least, most = values
        if (likely is not None and likely <= 0) or (least is not None and least < 0):
            wrong = bracket.likely if likely is not None and likely <= 0 else bracket.least
            low = text_of(wrong) if wrong else ""
            self.notebook.add("bad-range", terms.span(bracket.at), low=low, high="", likely="")
            return None
        if least is not None and most is not None and not (least <= (likely if likely is not None else least) <= most):
            low, high = (text_of(q) if q else "" for q in (bracket.least, bracket.most))
            self.notebook.add(
                "bad-range",
                terms.span(bracket.at),
                low=low,
                high=high,
                likely=text_of(bracket.likely) if bracket.likely else "",
                falling=least > most,
            )
            return None
        known = self.durations[id(bracket)] = Duration(likely, least, most)
        return known
