"""One broken line costs one finding."""

from __future__ import annotations

from jackstay.source.files import source_from_text
from jackstay.syntax.parsing import parse
from jackstay.syntax.salvage import declared
from jackstay.syntax.tree import Excursion, Phrase, Task


def test_a_broken_heading_keeps_its_name_and_what_stands_under_it() -> None:
    text = 'excursion one "No end\n  task fit : requird, becaus\n    wren at mast\n      look\n'
    file, problems = parse(source_from_text("plan.stay", text))
    assert [p.rule for p in problems] == ["unreadable-line", "unreadable-line"]
    excursion = file.statements[0]
    assert isinstance(excursion.node, Excursion) and excursion.node.name.text == "one"
    task = excursion.children[0]
    assert isinstance(task.node, Task) and task.node.name.text == "fit"
    assert isinstance(task.children[0].children[0].node, Phrase)


def test_names_of_a_broken_declaration() -> None:
    assert declared("actor otto, ines : cabin crew") == ["otto", "ines"]
    assert declared("mast : worksite room", in_area=True) == ["mast"]
    assert declared("mast : worksite room") == []
