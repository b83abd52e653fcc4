"""Forms and words: what printed sheets ask for, and what printed outputs call things.

A form is data: its headings say what of a plan stands under them. Nothing here, and nothing that prints it, knows what
any form is for."""

from __future__ import annotations

from collections.abc import Callable

from jackstay.model.literals import resolve_literal
from jackstay.model.records import Excursion, Filled, Form, Heading, Kind, Query, World
from jackstay.model.scope import Notebook
from jackstay.model.terms import Terms
from jackstay.model.words import title_of
from jackstay.source.spans import Span
from jackstay.syntax import tree

TermsOf = Callable[[tree.Statement], Terms]  # the terms of any statement of a module
# What a heading may list of any plan, besides the things of a kind and their properties.
SORTS = (
    "excursion", "tasks", "reasons", "date", "limit", "crew", "things", "hazards", "warnings", "rules", "readings",
    "calls", "fallbacks",
)  # fmt: skip
OF_KIND = ("crew", "things", "readings")
# What printed outputs may call by another word, and what each file may add to the safety words on all of them.
WORDS = ("excursion", "inside", "outside", "safety")


def read_word(node: tree.WordDecl, at: Span, name_at: Span, world: World, notebook: Notebook) -> None:
    """``word outside "in the water"``: of several files the last is heard, so that a plan writes over a vocabulary."""
    if node.name.text not in WORDS:
        notebook.add(
            "unknown-value",
            name_at,
            value=node.name.text,
            of="what outputs call something",
            allowed=list(WORDS),
            several=[],
            decl=at,
        )
    elif node.name.text == "safety":
        world.words["safety"] = "\n".join(filter(None, (world.words.get("safety"), node.text.value)))
    else:
        world.words[node.name.text] = node.text.value


class FormReader:
    """Reads the forms of one module."""

    def __init__(self, world: World, notebook: Notebook, lines: list[str]) -> None:
        self.world = world
        self.notebook = notebook
        self.lines = lines

    def read(self, statement: tree.Statement, terms: Terms, terms_of: TermsOf) -> None:
        node = statement.node
        assert isinstance(node, tree.Form)
        at = terms.span(node.name.at)
        known = self.world.forms.get(node.name.text)
        if known is not None:
            self.notebook.add("name-taken", at, name=node.name.text, first=known.decl)
            return
        kind = terms.kind(node.kind) if node.kind is not None else None
        title = node.title.value if node.title else title_of(node.name.text)
        form = Form(node.name.text, title, kind, None, {}, at)
        for child in statement.children:
            inner = terms_of(child)
            if isinstance(child.node, tree.Origin):
                form.origin = inner.origin(child.node, title)
            elif isinstance(child.node, tree.Heading):
                self._heading(form, child, child.node, inner, terms_of)
        if not form.headings and not any(isinstance(c.node, tree.Unreadable) for c in statement.children):
            self.notebook.add("says-nothing", at, line="form", lacks="a line `heading` under it")
        self.world.forms[form.name] = form

    def _heading(
        self, form: Form, statement: tree.Statement, node: tree.Heading, terms: Terms, terms_of: TermsOf
    ) -> None:
        at = terms.span(node.name.at)
        first = form.headings.get(node.name.text)
        if first is not None:
            self.notebook.add("name-taken", at, name=node.name.text, first=first.decl)
            return
        title = node.title.value if node.title else title_of(node.name.text)
        found = Heading(node.name.text, title, terms.origin(node.origin, title), (), (), False, at)
        for child in statement.children:
            inner = terms_of(child)
            if isinstance(child.node, tree.Lists):
                query = self._query(child.node, inner)
                found.queries += (query,) if query is not None else ()
            elif isinstance(child.node, tree.Blank):
                found.blanks += tuple(text.value for text in child.node.texts)
            elif isinstance(child.node, tree.Asks):
                found.asks = True
        if not statement.children:
            self.notebook.add("says-nothing", at, line="heading", lacks="a line `lists`, `blank` or `asks` under it")
        form.headings[found.name] = found

    def _query(self, node: tree.Lists, terms: Terms) -> Query | None:
        at = terms.span()
        if node.literal is not None:
            terms.new_slots = []
            test = resolve_literal(node.literal, terms, self.lines)
            return None if test is None else Query("", None, test, at)
        assert node.word is not None
        word = node.word.text
        kind = terms.kind(node.kind) if node.kind is not None else None
        if node.kind is not None and kind is None:
            return None
        if word in SORTS and (kind is None or word in OF_KIND):
            return Query(word, kind, None, at)
        if kind is not None and word in _properties(kind):
            return Query(word, kind, None, at)
        allowed = sorted(_properties(kind)) + list(OF_KIND) if kind is not None else list(SORTS)
        self.notebook.add(
            "unknown-value",
            terms.span(node.word.at),
            value=word,
            of="what a heading lists" + (f" of {kind.name}" if kind is not None else ""),
            allowed=allowed,
            several=[],
            decl=terms.span(),
        )
        return None


def _properties(kind: Kind) -> set[str]:
    return {prop.name for prop in kind.properties.values()}


def read_fills(world: World, excursion: Excursion, statement: tree.Statement, terms_of: TermsOf) -> None:
    """``fills FORM`` of an excursion, with what is under it."""
    node = statement.node
    assert isinstance(node, tree.Fills)
    terms = terms_of(statement)
    notebook = terms.notebook
    at = terms.span(node.form.at)
    form = world.forms.get(node.form.text)
    if form is None:
        known = [(one.name, "a form", one.decl) for one in world.forms.values()]
        notebook.add(
            "unknown-name", at, name=node.form.text, wanted="a form", candidates=known, places=[], elsewhere=[]
        )
        return
    first = next((filled for filled in excursion.fills if filled.form is form), None)
    if first is not None:
        notebook.add("said-twice", at, what=f"`fills {form.name}`", first=first.at)
        return
    filled = Filled(form, at, {})
    for child in statement.children:
        if not isinstance(child.node, tree.Fill):
            continue
        place = terms_of(child)
        name = child.node.heading
        if name.text not in form.headings:
            known = [(one.name, "a heading", one.decl) for one in form.headings.values()]
            notebook.add(
                "unknown-name",
                place.span(name.at),
                name=name.text,
                wanted=f"a heading of {form.name}",
                candidates=known,
                places=[],
                elsewhere=[],
            )
        elif name.text in filled.texts:
            before = filled.texts[name.text][1]
            notebook.add("said-twice", place.span(name.at), what=f"the heading `{name.text}`", first=before)
        else:
            filled.texts[name.text] = (tuple(text.value for text in child.node.texts), place.span(name.at))
    excursion.fills.append(filled)
