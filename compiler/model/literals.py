"""Literals of the closed fragment, resolved and kind-checked."""

from __future__ import annotations

from collections.abc import Iterable

from jackstay.model.formulas import expect, resolve
from jackstay.model.records import Const, Effect, Formula, Kind, Property, Quantified, Term, Test, TotalOf
from jackstay.model.terms import Terms
from jackstay.syntax import tree

_SORT_WORDS = {"actor": "an actor", "item": "an item", "location": "a location", "thing": "a thing"}


def resolve_all(
    literals: Iterable[tree.Literal], terms: Terms, lines: list[str], wanted: bool = True
) -> tuple[Test, ...]:
    """Every literal that can be resolved; findings for the others. wanted: the plan holds where they hold. Else it
    fails there, or more is asked of it, as under ``never`` and ``while``."""
    out = []
    for literal in literals:
        test = resolve_literal(literal, terms, lines)
        if test is not None:
            out.append(_counted(test, wanted))
    return tuple(out)


def _counted(test: Test, wanted: bool) -> Test:
    """With it noted at each quantifier whether only the crew counts: where one more who is there, and of whom it is
    true, makes the plan hold. Elsewhere, everybody who is there counts: each could make it fail."""
    a, b = test.a, test.b
    if isinstance(a, Quantified):
        a = _of_crew(a, wanted)
        wanted ^= (a.quant == "none") ^ test.negated  # of what stands inside
    if isinstance(b, Quantified):
        b = _of_crew(b, wanted)
    return test if a is test.a and b is test.b else test._replace(a=a, b=b)


def _of_crew(quant: Quantified, wanted: bool) -> Quantified:
    actors = quant.kind.sort in ("actor", "thing")
    return quant._replace(crew=True) if actors and (quant.quant == "some") == wanted else quant


def resolve_literal(literal: tree.Literal, terms: Terms, lines: list[str], made: bool = False) -> Test | None:
    """One literal; None when a finding was made. lines: the file's, for the words as written. made: it is an effect."""
    at = terms.span(literal.at)
    text = lines[at.line - 1][at.start : at.end] if 0 < at.line <= len(lines) else ""
    subject = terms.term(literal.subject)
    if isinstance(literal, tree.Compared):
        if subject is None:
            return None
        aboard = terms.term(literal.aboard) if literal.aboard is not None else None
        if literal.aboard is not None and aboard is None:
            return None
        if aboard is not None and (not made or isinstance(aboard, Quantified)):
            terms.notebook.add("only-made", at, text=text, found=text)
            return None
        test = _compared(literal, subject, terms, text)
        return test if test is None or aboard is None else test._replace(aboard=aboard)
    if isinstance(literal, tree.Reach) and literal.object is None:
        actor = terms.slots.get("actor")
        if actor is None:
            terms.notebook.add(
                "unknown-name", at, name="actor", wanted="an actor", candidates=[], places=[], elsewhere=[]
            )
            return None
        return None if subject is None else Test("reach", literal.negated, subject, actor, None, None, None, at, text)
    other = terms.term(literal.object) if literal.object is not None else None
    if subject is None or other is None:
        return None
    if isinstance(subject, Quantified) and isinstance(other, Quantified) and _real(subject) and _real(other):
        terms.notebook.add("two-quantifiers", at, first=subject.word, second=other.word)
        return None
    manner = literal.manner.text if isinstance(literal, tree.Attached) and literal.manner else None
    op, wants_subject, wants_object = _shape(literal)
    if not _fits(subject, wants_subject, literal.subject, terms) or not _fits(
        other, wants_object, literal.object, terms
    ):
        return None
    if manner is not None and not any(h.manner == manner for k in terms.kinds_of(other) for h in k.holds):
        known = sorted({h.manner for k in terms.kinds_of(other) for h in k.holds})
        if not any(k.name == "thing" for k in terms.kinds_of(other)):
            assert isinstance(literal, tree.Attached) and literal.manner
            terms.notebook.add(
                "unknown-manner",
                terms.span(literal.manner.at),
                name=manner,
                kind=terms.kinds_of(other)[0].name,
                known=known,
            )
            return None
    if isinstance(literal, tree.LineEnd) and not all(k.ends for k in terms.kinds_of(subject)):
        kind = terms.kinds_of(subject)[0]
        terms.notebook.add(
            "wrong-kind",
            terms.span(literal.subject.at),
            name=_name(literal.subject),
            found=kind.name,
            wanted="a line (its kind has two ends)",
            decl=kind.decl,
            candidates=[],
        )
        return None
    negated = literal.negated
    if negated:
        # "not in a rest" means in no rest
        subject, turned = _in_none(subject)
        other, turned_other = _in_none(other)
        negated = not (turned or turned_other)
    return Test(op, negated, subject, other, manner, None, None, at, text)


def _in_none(term: Term) -> tuple[Term, bool]:
    if isinstance(term, Quantified) and not _real(term):
        return term._replace(quant="none"), True
    return term, False


def _real(term: Quantified) -> bool:
    """``a reel`` beside another quantifier is read as "some reel": allowed with everyone / nobody."""
    return term.word not in ("a", "an")


def _shape(literal: tree.Literal) -> tuple[str, tuple[str, ...], tuple[str, ...]]:
    if isinstance(literal, tree.Attached):
        return "attached", ("item", "actor"), ("item", "actor", "location")
    if isinstance(literal, tree.Located):
        return "located", ("item", "actor", "location"), ("location",)
    if isinstance(literal, tree.Reach):
        return "reach", ("item", "actor", "location"), ("item", "actor", "location")
    if isinstance(literal, tree.Sight):
        return "sight", ("item", "actor", "location"), ("item", "actor", "location")
    if isinstance(literal, tree.LineEnd):
        return literal.end, ("item",), ("item", "actor", "location")
    if isinstance(literal, tree.WorkingOn):
        return "working", ("actor",), ("item", "actor", "location")
    return "moving", ("actor",), ("location",)


def _name(ref: tree.Ref | None) -> str:
    return ref.name.text if ref is not None and ref.name is not None else ""


def _fits(term: Term, sorts: tuple[str, ...], ref: tree.Ref | None, terms: Terms) -> bool:
    for kind in terms.kinds_of(term):
        if kind.sort != "thing" and kind.sort not in sorts and kind not in terms.notebook.broken:
            at = terms.span(ref.at if ref is not None else None)
            wanted = " or ".join(_SORT_WORDS[s] for s in sorts)
            terms.notebook.add(
                "wrong-kind",
                at,
                name=_name(ref),
                found=kind.name,
                wanted=wanted,
                decl=kind.decl,
                candidates=terms.scope.things_where(lambda t: t.sort in sorts),
            )
            return False
    return True


def _compared(literal: tree.Compared, subject: Term, terms: Terms, text: str) -> Test | None:
    at = terms.span(literal.at)
    prop = _by_value(literal, subject, terms) if literal.prop is None else terms.property_of(literal.prop, subject)
    if prop is None:
        return None
    if prop in terms.notebook.broken:
        return None
    value = _value(prop, literal.value, subject, terms)
    if value is None:
        return None
    if literal.op != "is" and prop.sort not in ("count", "quantity"):
        terms.notebook.add("wrong-dimension", at, found="a word", wanted="a number", what="at least and at most")
        return None
    return Test(literal.op, literal.negated, subject, None, None, prop.name, value, at, text)


def _by_value(literal: tree.Compared, subject: Term, terms: Terms) -> Property | None:
    """``X is shut``: the one property of X that has this value."""
    word = literal.value.text if isinstance(literal.value, (tree.Name, tree.Number)) else ""
    found: Property | None = None
    for kind in terms.kinds_of(subject):
        fitting = [p for p in kind.properties.values() if p.sort == "values" and word in p.values]
        if len(fitting) != 1:
            allowed = sorted(v for p in kind.properties.values() for v in p.values)
            terms.notebook.add(
                "unknown-value",
                terms.span(literal.value.at),
                value=word,
                of=f"a {kind.name}",
                allowed=allowed,
                several=[p.name for p in fitting],
                decl=kind.decl,
            )
            return None
        found = fitting[0]
    return found


def _value(prop: Property, node: tree.Formula, subject: Term, terms: Terms) -> Formula | None:
    at = terms.span(node.at)
    if prop.sort == "values":
        word = node.text if isinstance(node, (tree.Name, tree.Number)) else ""
        if word not in prop.values:
            terms.notebook.add(
                "unknown-value", at, value=word, of=prop.name, allowed=list(prop.values), several=[], decl=prop.decl
            )
            return None
        return Const(word, (), word)
    if prop.sort == "count" and isinstance(node, tree.Name) and node.text == "all":
        return TotalOf(prop.name, subject)
    formula = resolve(node, terms)
    if formula is None:
        return None
    if prop.sort == "thing":
        return formula if not isinstance(formula, Const) else None
    return formula if expect(formula, prop.dimension, node, terms, f"the value of {prop.name}") else None


def resolve_effects(effects: Iterable[tree.Effect], terms: Terms, lines: list[str]) -> tuple[Effect, ...]:
    """The effects of an action: literals that can be made true."""
    out = []
    for effect in effects:
        test = resolve_literal(effect.literal, terms, lines, made=True)
        if test is None:
            continue
        if not _makeable(test):
            terms.notebook.add("cannot-make", test.at, text=test.text)
            continue
        out.append(Effect(test, effect.from_afar))
    return tuple(out)


def _makeable(test: Test) -> bool:
    if test.aboard is not None:
        return True
    if isinstance(test.a, Quantified) or isinstance(test.b, Quantified):
        return False
    if test.op in ("reach", "sight", "working", "moving", "least", "most", "done"):
        return False
    if test.negated:
        return test.op in ("attached", "from", "to")
    return True


def is_under(kind: Kind, others: Iterable[Kind]) -> bool:
    """Whether a thing of this kind fits one of the kinds."""
    lineage = kind.lineage
    for other in others:  # noqa: SIM110  # asked for every word of a plan
        if other in lineage:
            return True
    return False
