"""Which action a line's words mean, for these doers and these arguments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from jackstay.model.kinds import text_of
from jackstay.model.literals import is_under
from jackstay.model.patterns import Phrasebook, RoutineDecl, Verb, Word, tokens
from jackstay.model.records import NO_DIMENSION, Action, AnyOf, Block, Kind, Mark, Param, Table, Thing, Unit
from jackstay.model.scope import Candidate, Group, LetValue, Notebook, Scope
from jackstay.model.terms import Terms
from jackstay.model.words import with_article
from jackstay.source.spans import NOWHERE, Span
from jackstay.syntax import tree

Argument = Thing | Fraction | str | AnyOf | None


class Frame:
    """Where a body is read: its file and names, the routine's arguments, and the marks fresh to the call.

    key: words that are equal in frames of equal keys mean the same."""

    __slots__ = ("arguments", "calls", "file", "key", "lines", "local", "module", "origin", "scope", "terms", "trail")

    def __init__(
        self,
        scope: Scope,
        file: tree.File,
        lines: list[str],
        module: str,
        arguments: dict[str, Argument],
        local: dict[str, Mark] | None,
        origin: Span | None,
        calls: tuple[str, ...],
    ) -> None:
        self.scope = scope
        self.file = file
        self.lines = lines
        self.module = module
        self.arguments = arguments
        self.local = local
        self.origin = origin
        self.trail: tuple[Span, ...] = ()  # the calls that led here, outermost first
        self.calls = calls
        self.key = (module, *arguments.items())
        self.terms: Terms | None = None


class Chooser:
    """Matches phrases of one excursion against the verbs known there; every misfit is a finding at one word."""

    def __init__(self, book: Phrasebook, units: Mapping[str, Unit], notebook: Notebook) -> None:
        self.book = book
        self.units = units
        self.notebook = notebook
        # of overloads that share a skeleton: which slot each word fills, and what may stand there
        self.slots: dict[tuple[Verb, ...], list[tuple[int, set[str], list[Param]]]] = {}
        # the overload for arguments and doers of these kinds
        self.chosen: dict[tuple[tuple[Verb, ...], tuple[Kind, ...], tuple[Kind, ...]], Action] = {}

    def resolve(
        self, node: tree.Phrase, block: Block, terms: Terms, frame: Frame
    ) -> tuple[Action, tuple[Argument, ...], str] | None:
        words = tokens(node.words, self.units)
        verbs = tuple([v for v in self.book.match(words, frame.module) if isinstance(v, Action)])
        if not verbs:
            self.no_verb(words, terms, frame, routine=False)
            return None
        arguments = self.arguments(words, verbs, terms, frame)
        if arguments is None:
            return None
        action = self._overload(verbs, arguments, words, block, terms)
        if action is None:
            return None
        helper = block.doers[1] if action.helped_by else None
        return action, (block.doers[0], helper, *arguments), self.text(node, frame)

    def _overload(
        self, verbs: tuple[Action, ...], arguments: list[Argument], words: list[Word], block: Block, terms: Terms
    ) -> Action | None:
        """The one that these arguments and doers ask for; a finding if there is none."""
        kinds = tuple([argument.kind for argument in arguments if type(argument) is Thing])
        key = (verbs, kinds, tuple([doer.kind for doer in block.doers]))
        found = self.chosen.get(key) if len(kinds) == len(arguments) else None
        if found is None:
            fitting = [v for v in verbs if self.misfit(v, arguments) is None]
            if not fitting:
                self.wrong_argument(words, verbs, arguments, terms)
                return None
            found = self._for_cast(fitting, block, terms)
            if found is not None and len(kinds) == len(arguments):
                self.chosen[key] = found
        return found

    def arguments(
        self, words: list[Word], verbs: tuple[Verb, ...], terms: Terms, frame: Frame
    ) -> list[Argument] | None:
        """The slots' arguments, as the first verb's pattern has them (all share the skeleton)."""
        slots = self.slots.get(verbs)
        if slots is None:
            slots = self.slots[verbs] = [
                (i, {v.params[part.slot - 2].sort for v in verbs}, [v.params[part.slot - 2] for v in verbs])
                for i, part in enumerate(verbs[0].pattern)
                if not part.words
            ]
        out = [self._argument(words[i], sorts, params, terms, frame) for i, sorts, params in slots]
        return None if any(argument is None for argument in out) else out

    def _argument(self, word: Word, sorts: set[str], params: list[Param], terms: Terms, frame: Frame) -> Argument:
        node = word.node
        if type(node) is tree.Name and not word.any and node.text not in frame.arguments:
            plain = frame.scope.thing(node.text)
            if type(plain) is Thing:
                return plain
        at = terms.span(node.at)
        if isinstance(node, tree.Text):
            if "text" in sorts:
                return node.value
            self.notebook.add("wrong-argument", at, found="a quoted text", wanted=_wanted(params))
            return None
        if isinstance(node, tree.Number):
            if "count" in sorts:
                number = Fraction(node.text)
                if number.denominator == 1 and number >= 0:
                    return number
                self.notebook.add("wrong-argument", at, found=node.text, wanted="a whole number, and none below 0")
                return None
            self.notebook.add("wrong-argument", at, found="a number", wanted=_wanted(params))
            return None
        if isinstance(node, tree.Quantity):
            self.notebook.add("wrong-argument", at, found="a quantity", wanted=_wanted(params))
            return None
        bound = frame.arguments.get(node.text)
        if bound is not None:
            return bound
        found = frame.scope.thing(node.text)
        if word.any and isinstance(found, Thing):
            self.notebook.add(
                "wrong-kind",
                at,
                name=node.text,
                found="one thing",
                wanted="a group, of which any will do",
                decl=found.decl,
                candidates=terms.scope.groups(),
            )
            return None
        if isinstance(found, Group) and word.any:
            return AnyOf(found.name, found.members)
        if isinstance(found, Thing):
            return found
        if isinstance(found, LetValue) and "count" in sorts:
            value = found.value
            if value.dimension == NO_DIMENSION and value.value.denominator == 1 and value.value >= 0:
                return value.value
            self.notebook.add("wrong-argument", at, found=value.text, wanted="a whole number, and none below 0")
            return None
        if found is None:
            kinds = tuple(k for p in params for k in p.kinds)
            terms.unknown(node, _wanted(params), lambda t: is_under(t.kind, kinds))
            return None
        if isinstance(found, Group):
            candidates = [(m.name, m.kind.name, m.decl) for m in found.members]
            candidates = [(f"any {node.text}", "a group", found.decl), *candidates[:3]]
            self.notebook.add(
                "wrong-kind",
                at,
                name=node.text,
                found="a group",
                wanted="one of its members, or any of them",
                decl=found.decl,
                candidates=candidates,
            )
            return None
        what = "a table" if isinstance(found, Table) else "a value"
        self.notebook.add(
            "wrong-kind", at, name=node.text, found=what, wanted=_wanted(params), decl=found.decl, candidates=[]
        )
        return None

    def _actors(self, scope: Scope) -> list[Candidate]:
        return scope.things_where(lambda t: t.sort == "actor")

    def misfit(self, verb: Verb, arguments: list[Argument]) -> int | None:
        """The first argument that does not fit its slot's kinds."""
        for i, (param, argument) in enumerate(zip(verb.params, arguments, strict=True)):
            if param.sort == "thing":
                if type(argument) is Thing:
                    if is_under(argument.kind, param.kinds):
                        continue
                    return i
                things = argument.members if isinstance(argument, AnyOf) else (argument,)
                if not all(isinstance(t, Thing) and is_under(t.kind, param.kinds) for t in things):
                    return i
            elif (param.sort == "count" and not isinstance(argument, Fraction)) or (
                param.sort == "text" and not isinstance(argument, str)
            ):
                return i
        return None

    def wrong_argument(self, words: list[Word], verbs: Sequence[Verb], arguments: list[Argument], terms: Terms) -> None:
        verb = max(verbs, key=lambda v: self.misfit(v, arguments) or 0)
        index = self.misfit(verb, arguments) or 0
        word = [w for p, w in zip(verb.pattern, words, strict=True) if not p.words][index]
        argument = arguments[index]
        params = [v.params[index] for v in verbs]
        kinds = tuple(k for p in params for k in p.kinds)
        thing = argument.members[0] if isinstance(argument, AnyOf) and argument.members else argument
        self.notebook.add(
            "wrong-kind",
            terms.span(word.node.at),
            name=word.text,
            found=thing.kind.name if isinstance(thing, Thing) else "a value",
            wanted=_wanted(params),
            decl=thing.decl if isinstance(thing, Thing) else NOWHERE,
            action=verb.text,
            action_at=verb.decl,
            candidates=terms.scope.things_where(lambda t: is_under(t.kind, kinds)),
        )

    def _for_cast(self, verbs: list[Action], block: Block, terms: Terms) -> Action | None:
        """The overload for these doers; a finding if none takes them."""
        joint = len(block.doers) > 1
        for verb in verbs:
            if bool(verb.helped_by) != joint or len(block.doers) > 2:
                continue
            if is_under(block.doers[0].kind, verb.by) and (not joint or is_under(block.doers[1].kind, verb.helped_by)):
                return verb
        verb = verbs[0]
        self.notebook.add(
            "wrong-cast",
            terms.span(),
            action=verb.text,
            decl=verb.decl,
            who=[d.title for d in block.doers],
            kinds=[d.kind.name for d in block.doers],
            heading=block.at,
            wanted=" or ".join(_cast_text(v) for v in verbs),
        )
        return None

    def no_verb(self, words: list[Word], terms: Terms, frame: Frame, routine: bool) -> None:
        near = [
            n for n in self.book.near(words, frame.module) if isinstance(n.verb, RoutineDecl) == routine
        ] or self.book.near(words, frame.module)
        if not words or words[0].text in self.book.broken:
            return
        if not near:
            self.notebook.add(
                "unknown-verb",
                terms.span(words[0].node.at),
                word=words[0].text,
                candidates=self.book.first_words(frame.module),
                actors=self._actors(frame.scope),
                elsewhere=self.book.elsewhere(words[0].text, frame.module),
            )
            return
        best = near[0]
        if best.wrong == -1:
            what = "routine-inside-block" if isinstance(best.verb, RoutineDecl) else "step-without-actor"
            self.notebook.add(what, terms.span(), text=best.verb.text, decl=best.verb.decl)
            return
        wrong = min(best.wrong, len(words) - 1)
        self.notebook.add(
            "wrong-words",
            terms.span(words[wrong].node.at),
            found=words[wrong].text,
            too_short=best.wrong >= len(words),
            too_long=best.wrong >= len(best.verb.pattern),
            patterns=[(n.verb.text, n.verb.decl) for n in near[:6]],
            instead=best.verb.pattern[wrong].words if wrong < len(best.verb.pattern) else (),
        )

    def text(self, node: tree.Phrase, frame: Frame | None = None) -> str:
        """The phrase as written, with a routine's slots filled in."""
        out = ""
        for word in node.words:
            if isinstance(word, tree.Text):
                text = f'"{word.value}"'
            elif isinstance(word, tree.Quantity):
                text = text_of(word)
            else:
                text = word.text
                bound = frame.arguments.get(text) if frame else None
                if type(bound) is Thing:
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
            words += [with_article(k.name) for k in param.kinds]
    return " or ".join(dict.fromkeys(words))


def _cast_text(action: Action) -> str:
    text = " or ".join(k.name for k in action.by)
    if action.helped_by:
        text += ", helped by " + " or ".join(k.name for k in action.helped_by)
    return text
