"""Hazards, what spreads by touch, and lists of words, resolved."""

from __future__ import annotations

from collections.abc import Callable

from jackstay.model.literals import resolve_all, resolve_effects
from jackstay.model.records import Const, Hazard, Slot, Spread, Test, WordList, World
from jackstay.model.scope import Notebook
from jackstay.model.terms import Terms
from jackstay.model.words import title_of
from jackstay.syntax import tree

TermsOf = Callable[[tree.Statement], Terms]  # the terms of any statement of a module
# What lists of words there may be. What each is for stands with the analysis that reads it.
WORD_LISTS = (
    "again", "ailments", "answers", "articles", "asides", "asking", "assuring", "avoiding", "away", "be", "bodies",
    "calling", "certain", "choices", "commands", "compared", "comparing", "conditions", "consequences", "continuing",
    "counting", "damage", "deadlines", "determiners", "duties", "echoing", "explaining", "forbidding", "grave",
    "guarding", "harms", "hazards", "holding", "hourly", "hurling", "inclusive", "injuries", "instruments",
    "inverted", "joining", "joint", "keeping", "labels", "lacking", "lasting", "leading", "lessening", "limits",
    "linking", "looking", "loose", "losing", "means", "measures", "measuring", "missed", "modals", "moments", "names",
    "negatives", "nouns", "numbers", "obliging", "occurring", "operating", "outcomes", "owners", "participles",
    "particles", "parts", "people", "places", "possessives", "possible", "pouring", "prepositions", "pronouns",
    "quantities", "rates", "reaching", "reasons", "referring", "relatives", "repeating", "responses", "restricting",
    "roughly", "sequencing", "signals", "slight", "spoiling", "starts", "states", "stopping", "stops", "subordinate",
    "sufficing", "tellers", "therefore", "times", "titles", "unable", "units", "untils", "vague", "verifying",
    "violent", "waiting",
)  # fmt: skip


def read_words(statement: tree.Statement, terms: Terms, world: World) -> None:
    """``words NAME`` adds to the list of that name, wherever it is declared."""
    node = statement.node
    assert isinstance(node, tree.Words)
    notebook = terms.notebook
    if node.name.text not in WORD_LISTS:
        notebook.add(
            "unknown-value",
            terms.span(node.name.at),
            value=node.name.text,
            of="a list of words",
            allowed=list(WORD_LISTS),
            several=[],
            decl=terms.span(),
        )
        return
    found = world.word_lists.setdefault(node.name.text, WordList(node.name.text))
    at = terms.span(node.name.at)
    for child in statement.children:
        line = child.node
        if not isinstance(line, tree.WordLine):
            continue
        here = at._replace(line=child.line, start=child.start, end=child.end)
        for text in line.others or line.texts:
            word = " ".join(text.value.casefold().split())
            if not word:
                continue
            found.entries.pop(word, None)
            found.instead.pop(word, None)
            if line.dropped:
                continue
            found.entries[word] = here
            if line.others:
                found.instead[word] = line.texts[0].value


class HazardReader:
    """Reads the hazards and spreads of one module."""

    def __init__(self, world: World, notebook: Notebook, lines: list[str]) -> None:
        self.world = world
        self.notebook = notebook
        self.lines = lines

    def hazard(self, statement: tree.Statement, terms: Terms, terms_of: TermsOf) -> None:
        node = statement.node
        assert isinstance(node, tree.Hazard)
        at = terms.span(node.name.at)
        title = node.title.value if node.title else title_of(node.name.text)
        known = self.world.hazards.get(node.name.text)
        if known is not None:
            self.notebook.add("name-taken", at, name=node.name.text, first=known.decl)
            return
        hazard = Hazard(node.name.text, title, at)
        self.world.hazards[hazard.name] = hazard
        lines = [child for child in statement.children if isinstance(child.node, tree.Exposes)]
        if not lines and not any(isinstance(c.node, (tree.Hole, tree.Unreadable)) for c in statement.children):
            self.notebook.add("says-nothing", terms.span(), line="hazard", lacks="a line `exposes` under it")
        if not lines:
            return
        for again in lines[1:]:
            first = terms_of(lines[0]).span()
            self.notebook.add("said-twice", terms_of(again).span(), what="what the hazard exposes to", first=first)
        exposing = terms_of(lines[0])
        exposing.new_slots = []
        line = lines[0].node
        assert isinstance(line, tree.Exposes)
        tests = resolve_all(line.literals, exposing, self.lines, wanted=False)
        meanwhile = resolve_all(line.meanwhile, exposing, self.lines, wanted=False)
        if len(tests) < len(line.literals) or len(meanwhile) < len(line.meanwhile):
            return
        unless: list[tuple[Test, ...]] = []
        warned: list[Slot] = []
        for child in statement.children:
            inner = terms_of(child)
            if isinstance(child.node, tree.Origin):
                hazard.origin = inner.origin(child.node, title)
            elif isinstance(child.node, tree.Unless):
                inner.slots, inner.new_slots = exposing.slots, exposing.new_slots
                inner.silent = exposing.silent
                if child.node.warned is not None:
                    warned += self._warned(child.node.warned, inner)
                    continue
                found = resolve_all(child.node.literals, inner, self.lines)
                if len(found) == len(child.node.literals):
                    unless.append(found)
        hazard.tests, hazard.meanwhile = tests, meanwhile
        hazard.unless, hazard.warned = tuple(unless), tuple(warned)
        hazard.slots = tuple(exposing.new_slots)

    def _warned(self, ref: tree.Ref, terms: Terms) -> list[Slot]:
        term = terms.term(ref)
        if term is None:
            return []
        if isinstance(term, Slot) and all(kind.sort == "actor" for kind in term.kinds):
            return [term]
        self.notebook.add(
            "wrong-kind",
            terms.span(ref.at),
            name=ref.name.text if ref.name else ref.quant,
            found=terms.kinds_of(term)[0].name,
            wanted="a slot for the actor who is exposed",
            decl=terms.kinds_of(term)[0].decl,
            candidates=[],
        )
        return []

    def spread(self, statement: tree.Statement, terms: Terms, terms_of: TermsOf) -> None:
        node = statement.node
        assert isinstance(node, tree.Spread)
        title = node.title.value if node.title else title_of(node.name.text)
        at = terms.span(node.name.at)
        first = next((one for one in self.world.spreads if one.name == node.name.text), None)
        if first is not None:
            self.notebook.add("name-taken", at, name=node.name.text, first=first.decl)
            return
        whens = [child for child in statement.children if isinstance(child.node, tree.When)]
        makes = [child for child in statement.children if isinstance(child.node, tree.Makes)]
        if not any(isinstance(c.node, (tree.Hole, tree.Unreadable)) for c in statement.children):
            for found, line in ((whens, "when"), (makes, "makes")):
                if not found:
                    lacks = f"a line `{line}` under it"
                    self.notebook.add("says-nothing", terms.span(), line="spread", lacks=lacks, name=line)
        slots: list[Slot] = []
        shared: dict[str, Slot] = {}
        tests: list[Test] = []
        effects: list[Test] = []
        sound = bool(whens and makes)
        for child in whens:
            inner = terms_of(child)
            inner.slots, inner.new_slots = shared, slots
            assert isinstance(child.node, tree.When)
            found_tests = resolve_all(child.node.literals, inner, self.lines)
            sound = sound and len(found_tests) == len(child.node.literals)
            for test in found_tests:
                if test.op in ("reach", "sight", "moving", "done") or not (_plain(test.a) and _plain(test.b)):
                    self.notebook.add(
                        "not-seen-by-a-step", test.at, text=test.text, spread=node.name.text, found=test.text
                    )
                    sound = False
            tests += found_tests
        for child in makes:
            inner = terms_of(child)
            inner.slots = shared
            assert isinstance(child.node, tree.Makes)
            made = resolve_effects(child.node.effects, inner, self.lines)
            sound = sound and len(made) == len(child.node.effects)
            for effect in made:
                if effect.test.op != "is" or effect.test.aboard is not None or not isinstance(effect.test.value, Const):
                    self.notebook.add("cannot-make", effect.test.at, text=effect.test.text)
                    sound = False
            effects += [effect.test for effect in made]
        sources = [child for child in statement.children if isinstance(child.node, tree.Origin)]
        origin = terms_of(sources[0]).origin(sources[0].node, title) if sources else None  # type: ignore[arg-type]
        if sound:
            self.world.spreads.append(
                Spread(node.name.text, title, at, tuple(tests), tuple(effects), tuple(slots), origin)
            )


def _plain(term: object) -> bool:
    """A slot or a thing: what a whole kind does is decided by stays, not by one step."""
    from jackstay.model.records import Here, Quantified

    return not isinstance(term, (Here, Quantified))
