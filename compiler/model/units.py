"""Units, quantities and dimensions: exact arithmetic on fractions."""

from __future__ import annotations

from fractions import Fraction

from jackstay.model.records import NO_DIMENSION, Dimension, Effort, Measure, Unit
from jackstay.model.scope import Notebook
from jackstay.source.spans import Span
from jackstay.syntax import tree


def times(a: Dimension, b: Dimension, power: int = 1) -> Dimension:
    """The dimension of a product (power -1: of a quotient)."""
    powers = dict(a)
    for name, n in b:
        powers[name] = powers.get(name, 0) + n * power
    return tuple(sorted((name, n) for name, n in powers.items() if n))


def dimension_text(dimension: Dimension) -> str:
    """``length/time`` or ``a bare number``."""
    if not dimension:
        return "a bare number"
    over = [name if n == 1 else f"{name}^{n}" for name, n in dimension if n > 0]
    under = [name if n == -1 else f"{name}^{-n}" for name, n in dimension if n < 0]
    text = "*".join(over) or "1"
    return text + "".join("/" + name for name in under)


class Units:
    """All units and efforts of the campaign's modules, by name; dimensions are declared names."""

    def __init__(self, notebook: Notebook) -> None:
        self.by_name: dict[str, Unit] = {}
        self.dimensions: dict[str, Span] = {}
        self.notebook = notebook
        self.known: dict[tuple[tuple[str, tuple[tuple[str, int], ...]], ...], Measure] = {}  # quantities read before
        self.efforts: dict[str, Effort] = {}
        self.broken_efforts: set[str] = set()
        self.broken: set[str] = set()  # declared with a mistake, or reported: not reported again
        # to be checked once it is known which dimension is time, and which a way: what is given, what it has to be
        # (time, pace), what it is in words, where
        self.later: list[tuple[Dimension, str, str, Span]] = []

    def declare_dimension(self, name: str, at: Span) -> None:
        if name in self.dimensions:
            self.notebook.add("name-taken", at, name=name, first=self.dimensions[name])
            return
        self.dimensions[name] = at

    def declare(self, node: tree.UnitDecl, at: Span, span_of: "SpanOf") -> None:
        name = node.name.text
        if name in self.by_name:
            self.notebook.add("name-taken", at, name=name, first=self.by_name[name].decl)
            return
        if node.measures is not None:
            dimension = node.measures.text
            if dimension not in self.dimensions:
                known = [(d, "dimension", s) for d, s in self.dimensions.items()]
                self.notebook.add(
                    "unknown-name",
                    span_of(node.measures.at),
                    name=dimension,
                    wanted="a dimension",
                    candidates=known,
                    places=[],
                    elsewhere=[],
                )
                self.broken.add(name)
                return
            self.by_name[name] = Unit(name, ((dimension, 1),), Fraction(1), Fraction(0), at)
            return
        factor = Fraction(node.factor)
        if factor == 0:
            self.notebook.add("not-a-constant", at, why="no-size")
            return
        dimension_of: Dimension = NO_DIMENSION
        if node.term is not None:
            found = self.term(node.term, span_of(node.term.at))
            if found is None:
                self.broken.add(name)
                return
            dimension_of, scale = found
            factor *= scale
        zero = Fraction(node.zero) * factor / Fraction(node.factor) if node.zero else Fraction(0)
        self.by_name[name] = Unit(name, dimension_of, factor, zero, at)

    @property
    def effort_dimension(self) -> Dimension | None:
        """Of the rates of efforts: the first that was declared fixes it."""
        return next((effort.rate.dimension for effort in self.efforts.values()), None)

    def effort(self, name: tree.Name, at: Span) -> Effort | None:
        """A declared effort; None (and a finding, once for a word) if there is none."""
        found = self.efforts.get(name.text)
        if found is None and name.text not in self.broken_efforts:
            self.broken_efforts.add(name.text)
            known = [(e.name, e.rate.text, e.decl) for e in self.efforts.values()]
            self.notebook.add("unknown-effort", at, name=name.text, candidates=known)
        return found

    def term(self, term: tree.UnitTerm, at: Span) -> tuple[Dimension, Fraction] | None:
        """Dimension and factor of a product of units; None (and a finding) if one is unknown."""
        dimension: Dimension = NO_DIMENSION
        factor = Fraction(1)
        for name, power in term.powers:
            unit = self.by_name.get(name)
            if unit is None:
                if name not in self.broken:
                    known = [(u.name, dimension_text(u.dimension), u.decl) for u in self.by_name.values()]
                    self.notebook.add("unknown-unit", at, name=name, candidates=known)
                    self.broken.add(name)
                return None
            dimension = times(dimension, unit.dimension, power)
            factor *= unit.factor**power
        return dimension, factor

    def scale(self, term: tree.UnitTerm) -> tuple[Fraction, Fraction]:
        """Base units in one of a product of declared units, and where its zero is in base units."""
        factor = Fraction(1)
        for name, power in term.powers:
            factor *= self.by_name[name].factor ** power
        alone = len(term.powers) == 1 and term.powers[0][1] == 1
        return factor, self.by_name[term.powers[0][0]].zero if alone else Fraction(0)

    def knows(self, node: tree.Quantity) -> bool:
        """Whether every unit of a quantity is declared."""
        return all(name in self.by_name for _, term in node.parts for name, _ in term.powers)

    def quantity(self, node: tree.Quantity, at: Span) -> Measure | None:
        """``6 h 30 min`` as one measure in base units."""
        key = tuple([(number, term.powers) for number, term in node.parts])
        if key in self.known:
            return self.known[key]
        total: Fraction | None = None
        dimension: Dimension = NO_DIMENSION
        words = []
        for number, term in node.parts:
            found = self.term(term, at)
            if found is None:
                return None
            here, factor = found
            if total is not None and here != dimension:
                self.notebook.add(
                    "wrong-dimension",
                    at,
                    found=dimension_text(here),
                    wanted=dimension_text(dimension),
                    what="the parts of this quantity",
                )
                return None
            value = Fraction(number) * factor
            if len(term.powers) == 1 and term.powers[0][1] == 1 and len(node.parts) == 1:
                value += self.by_name[term.powers[0][0]].zero
            total = value if total is None else total + value
            dimension = here
            words.append(f"{number} {term_text(term)}")
        measure = self.known[key] = Measure(total or Fraction(0), dimension, " ".join(words))
        return measure


def term_text(term: tree.UnitTerm) -> str:
    """``m/s^2`` as written, normalised."""
    out = ""
    for name, power in term.powers:
        sign = "/" if power < 0 else "*" if out else ""
        out += sign + name + (f"^{abs(power)}" if abs(power) != 1 else "")
    return out


class SpanOf:
    """Places of words within one statement of one file."""

    __slots__ = ("file", "statement")

    def __init__(self, file: tree.File, statement: tree.Statement) -> None:
        self.file = file
        self.statement = statement

    def __call__(self, at: tree.At | None = None) -> Span:
        return self.file.span(self.statement, at)
