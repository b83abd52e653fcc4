"""Decks and the combined sheet as plain text."""

from __future__ import annotations

from collections.abc import Iterator

from jackstay.outputs.deck_records import WARNINGS, Card, Deck, Part, Row
from jackstay.outputs.frame import Frame
from jackstay.outputs.paper import heading, pair, row, wrap

DEPTH = " " * 17  # what belongs to a step stands under its text
BLANK = "____________"
HOW_TO_READ = (
    "Top to bottom, a card for each place. A row: the clock, a box, a number, what to do. What has no box is inserted: "
    "the way to the next place, a tool drawn or put back. Warnings and cautions stand before the step they belong to. "
    "Cards F and G, at the end, are only used when they are called."
)
ALL_TO_READ = (
    "Everybody's steps by the clock; nothing waits for what stands below it. What has no box is inserted. Whoever has "
    "to wait, and for what, is told before the step. Cards F and G, at the end, are only used when they are called."
)


def checklist(deck: Deck, frame: Frame) -> str:
    """checklist-<actor>.txt, combined.txt"""
    everybody = bool(deck.crew)
    title = "Combined checklist" if everybody else f"Checklist: {deck.subject}"
    lines = frame.head(title + (f", run by {deck.runs}" if deck.runs else ""))
    lines += wrap(ALL_TO_READ if everybody else HOW_TO_READ)
    for part in deck.parts:
        lines += ["", "", *part_head(part, frame)]
        lines += [part.lost] if part.lost else _part(part, everybody)
    for card in deck.aside:
        lines += ["", "", *_aside(card, everybody)]
    return "\n".join([*lines, *frame.foot()]) + "\n"


def part_head(part: Part, frame: Frame) -> list[str]:
    lines = heading(f"{frame.said.heading} {part.number} of {part.of}: {part.title} [{part.name}]", part.source, "=")
    lines += wrap(part.time)
    return [*lines, f"Your part: {part.role}."] if part.role else lines


def _part(part: Part, everybody: bool) -> list[str]:
    lines = [""] if part.rows else []
    for one in part.rows:
        lines += _row(one, everybody)
    for card in part.cards:
        lines += ["", *_card(card)]
    return lines or ["", "  no steps"]


def _card(card: Card) -> list[str]:
    lines = heading(f"Card {card.number}: {card.title}" + (f", {card.seat}" if card.seat else ""))
    for one in card.way:
        lines += _row(one)
    lines += _facts("on arrival", card.arrival)
    for one in card.rows:
        lines += _row(one)
    if not card.rows:
        lines += [f"{DEPTH}nothing to do here but to be here"]
    return lines + _facts("leave with", card.leaving)


def _facts(head: str, facts: tuple[tuple[str, str], ...]) -> list[str]:
    lines = []
    for at, (how, what) in enumerate(facts):
        lines += wrap(f"{how}: {what}", f"  {head if not at else '':<11}", " " * 17)
    return lines


def _aside(card: Card, everybody: bool) -> list[str]:
    lines = heading(f"CARD {card.number}: {card.title}", card.source, "~")
    lines += wrap(f"{card.seat[:1].upper()}{card.seat[1:]}. {' '.join(card.about)}")
    for one in card.rows:
        lines += _row(one, True, everybody)
    return [*lines, "", *wrap(card.then)] if card.then else lines


def _row(one: Row, named: bool = False, everybody: bool = False) -> list[str]:
    """named: everybody's steps stand here, so each says whose it is."""
    if one.sort == "task":
        return [*_task(one)]
    if one.sort == "light":
        return [f"  {one.clock:<6} -- {one.text} --"]
    if one.sort in WARNINGS:
        head = f"{DEPTH}{one.sort.upper()}: "
        return wrap(one.text, head, " " * len(head))
    if one.sort in ("wait", "beside"):
        who = f"{one.who}: " if one.who else ""
        words = f"{who}{one.sort.upper()} {one.text}{':' if one.sort == 'wait' and one.call else ''}"
        words += f' "{one.call}"' if one.call else ""
        words += " has begun; it is not over before this one is" if one.sort == "beside" else ""
        return wrap(words + (f" ({one.lasts})" if one.lasts else ""), DEPTH)
    lines = []
    if one.sort != "call":
        text = (f"{one.who}: " if one.who else "") + one.text + (f"  ({one.lasts})" if one.lasts else "")
        box = {"step": f"[ ] {one.number:>3}", "other": f" -  {one.number:>3}"}.get(one.sort, "      >")
        lines = row(text, f"  {one.clock:<6} {box}  ", one.source)
    return lines + _under(one)


def _under(one: Row) -> list[str]:
    lines: list[str] = []
    if one.tools:
        lines += wrap(f"with: {one.tools}", DEPTH)
    if one.expect:
        lines += wrap(f"expected {one.expect}    actual {BLANK}", DEPTH)
    for head, words in one.under:
        lines += wrap(words if head == "when" else f"{head}: {words}", DEPTH)
    for answer in one.answers:
        lines += wrap(f"if {answer.outcome}: {answer.words}", DEPTH)
    if one.call:
        words = f'CALL "{one.call}"' if not one.caller else f'{one.caller} calls "{one.call}"'
        lines += wrap(words, DEPTH)
    return lines


def _task(one: Row) -> Iterator[str]:
    yield ""
    yield from pair(f"   . {one.text}" + (f": {one.who}" if one.who else ""), one.source)
    for head, words in one.under:
        loud = head.replace("may be dropped", "MAY BE DROPPED").replace("only if", "ONLY IF")
        yield from wrap(f"{loud}: {words}" if head != "when" else words, "     ")
