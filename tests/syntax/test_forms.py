"""Every form of the language reference gives the node it should."""

from __future__ import annotations

import re
import textwrap
from pathlib import Path

import pytest
from helpers_syntax import plain, under

from jackstay.source.files import source_from_text
from jackstay.syntax import tree
from jackstay.syntax.parsing import parse

REFERENCE = Path(__file__).parents[2] / "grammar" / "README.md"


def ref(name: str) -> tuple[object, ...]:
    return ("Ref", "", name, None)


def quant(word: str, kind: str | None = None) -> tuple[object, ...]:
    return ("Ref", word, None, kind)


FORMS: list[tuple[str, str, object]] = [
    ("top", "use depot", ("Use", "depot", None)),
    ("top", "use sites/north as n", ("Use", "sites/north", "n")),
    ("top", "let reel-length = 26 m", ("Let", "reel-length", "26 m")),
    ("top", "let x = (b + 2 min) * 3 - no-stop(depth of d) / route",
     ("Let", "x", ("Binary", "-", ("Binary", "*", ("Binary", "+", "b", "2 min"), "3"),
                   ("Binary", "/", ("Lookup", "no-stop", ("PropertyOf", "depth", "d")), "route")))),
    ("top", "dimension mass", ("Dimension", "mass")),
    ("top", "unit kg measures mass", ("UnitDecl", "kg", "mass", "1", None, None)),
    ("top", "unit lb = 0.45359237 kg", ("UnitDecl", "lb", None, "0.45359237", "kg", None)),
    ("top", "unit N = kg * m / s^2", ("UnitDecl", "N", None, "1", "kg m s^-2", None)),
    ("top", "unit J = 2 N * m", ("UnitDecl", "J", None, "2", "N m", None)),
    ("top", "unit degC = 1 K from 273.15 K", ("UnitDecl", "degC", None, "1", "K", "273.15")),
    ("top", "table no-stop by depth in ft gives min, round up", ("Table", "no-stop", "depth", "ft", "min", "up")),
    ("top", "table mud by load in kg/m^3 gives min, exact", ("Table", "mud", "load", "kg m^-3", "min", "exact")),
    ("top", "table t by n, exact", ("Table", "t", "n", None, None, "exact")),
    ("table", "30 : 371", ("Row", "30", "371")),
    ("top", 'kind crate "A crate" is unit and bag', ("Kind", "crate", '"A crate"', ("unit", "bag"))),
    ("kind", "has mass: kg", ("Has", "mass", (), False, "kg", None, None)),
    ("kind", "has pace: m/s, usually 0.25 m/s", ("Has", "pace", (), False, "m s^-1", None, "0.25 m s^-1")),
    ("kind", "has power: on or off, normally on, usually off",
     ("Has", "power", ("on", "off"), False, None, "on", "off")),
    ("kind", "has bolts: count, normally all", ("Has", "bolts", (), True, None, "all", None)),
    ("kind", "has user: suited", ("Has", "user", (), False, "suited", None, None)),
    ("kind", "holds 2 by hand", ("Holds", "2", None, "hand", None)),
    ("kind", "holds any bag by clip", ("Holds", None, "bag", "clip", None)),
    ("kind", "holds 1 unit by bolts counting hands", ("Holds", "1", "unit", "bolts", "hands")),
    ("kind", "holds room suited by seat", ("Holds", "room", "suited", "seat", None)),
    ("kind", "carries mass up to 40 kg", ("Carries", "mass", "40 kg")),
    ("kind", "admits room suited", ("Admits", "room", "suited")),
    ("kind", "admits 2 suited", ("Admits", "2", "suited")),
    ("kind", "admits 2", ("Admits", "2", None)),
    ("kind", "ends 2", ("Flag", "ends", "2")),
    ("kind", "length reach-length", ("Flag", "length", "reach-length")),
    ("kind", "ground", ("Flag", "ground", None)),
    ("kind", "inside", ("Flag", "inside", None)),
    ("kind", "inside, one by one in 4 min", ("Flag", "inside", "4 min")),
    ("kind", "supply oxygen 0.55 kg", ("Supply", "oxygen", "0.55 kg", None, None)),
    ("kind", "supply air 3 kg, drains effort * 2 kg/J, reserve 1 kg",
     ("Supply", "air", "3 kg", "1 kg", ("Binary", "*", "effort", "2 kg J^-1"))),
    ("kind", "idle effort rest", ("Idle", "rest")),
    ("kind", "brings suited at 0.1 m/s within 30 min", ("Brings", "suited", "0.1 m s^-1", "30 min")),
    ("kind", "brings suited at 0.1 m/s", ("Brings", "suited", "0.1 m s^-1", None)),
    ("top", "effort light 200 W", ("EffortDecl", "light", "200 W")),
    ("top", "body earth radius 6378.137 km, pull 398600.4418 km^3/s^2",
     ("BodyDecl", "earth", "6378.137 km", "398600.4418 km^3 s^-2")),
    ("top", 'location hub "The hub"', ("Thing", "location", ("hub",), '"The hub"', None, None, ())),
    ("area", "lock : airlock, room 2",
     ("Thing", "", ("lock",), None, None, "airlock", (("SetTo", "room", "2", None),))),
    ("area", "s : socket, within reach of pump-face and bay4, bay5, power on",
     ("Thing", "", ("s",), None, None, "socket",
      (("Within", ("pump-face", "bay4", "bay5")), ("SetTo", "power", "on", None)))),
    ("top", "actor wren, teal : suited, at lock",
     ("Thing", "actor", ("wren", "teal"), None, None, "suited", (("Placed", "at", None, "lock"),))),
    ("top", "actor heron : arm, run by moss, reaches bay4, pump-face, rack-rail",
     ("Thing", "actor", ("heron",), None, None, "arm",
      (("RunBy", "moss"), ("Reaches", ("bay4", "pump-face", "rack-rail"))))),
    ("top", 'item old-pump "Feed pump, worn" : unit, mass 92 kg, bolts 3 of 4, normally 4, on clip of seat',
     ("Thing", "item", ("old-pump",), '"Feed pump, worn"', None, "unit",
      (("SetTo", "mass", "92 kg", None), ("SetTo", "bolts", "3", "4"), ("Normally", "4"),
       ("Placed", "on", "clip", "seat")))),
    ("top", "item reel-w : reel, user wren, from porch to wren",
     ("Thing", "item", ("reel-w",), None, None, "reel", (("SetTo", "user", "wren", None), ("Ends", "porch", "wren")))),
    ("top", "item pouch 1 to 3 : bag, in kit",
     ("Thing", "item", ("pouch",), None, (1, 3), "bag", (("Placed", "in", None, "kit"),))),
    ("top", "path lock to porch 3 m, on a reel of porch", ("Path", "lock", "porch", "3 m", "reel", "porch")),
    ("top", "path lock to porch 3 m", ("Path", "lock", "porch", "3 m", None, None)),
    ("top", "action put ITEM: item or bag in/on HOLDER: thing, N: count",
     ("Action", (("PatternPart", ("put",), None, ()), ("PatternPart", (), "ITEM", ("item", "bag")),
                 ("PatternPart", ("in", "on"), None, ()), ("PatternPart", (), "HOLDER", ("thing",)),
                 ("PatternPart", (",",), None, ()), ("PatternPart", (), "N", ("count",))))),
    ("top", "routine go out, FIRST: suited then WORDS: text",
     ("Routine", (("PatternPart", ("go",), None, ()), ("PatternPart", ("out",), None, ()),
                  ("PatternPart", (",",), None, ()), ("PatternPart", (), "FIRST", ("suited",)),
                  ("PatternPart", ("then",), None, ()), ("PatternPart", (), "WORDS", ("text",))))),
    ("action", "by suited or arm, helped by suited, with TAKER", ("By", ("suited", "arm"), ("suited",), ("TAKER",))),
    ("action", "needs ITEM on HOLDER, HOLDER in reach and actor not at here",
     ("Needs", (("Attached", ref("ITEM"), False, "on", None, ref("HOLDER")), ("Reach", ref("HOLDER"), False, None),
                ("Located", ref("actor"), True, ref("here"))))),
    ("action", "during L from X, L not to Y",
     ("During", (("LineEnd", ref("L"), False, "from", ref("X")), ("LineEnd", ref("L"), True, "to", ref("Y"))))),
    ("action", "uses TOOL in hand of actor", ("Uses", (("Attached", ref("TOOL"), False, "in", "hand", ref("actor")),))),
    ("action", "works on UNIT, FEED", ("WorksOn", (ref("UNIT"), ref("FEED")))),
    ("action", "makes power of X is on from afar, then bolts of U is bolts of U - 2",
     ("Makes", (("Effect", ("Compared", "power", ref("X"), False, "is", "on"), True),
                ("Effect", ("Compared", "bolts", ref("U"), False, "is",
                            ("Binary", "-", ("PropertyOf", "bolts", "U"), "2")), False)))),
    ("action", "serves actor at PLACE along paths", ("Serves", ("Located", ref("actor"), False, ref("PLACE")), True)),
    ("action", "takes 1 min + route / pace of actor",
     ("Takes", ("Binary", "+", "1 min", ("Binary", "/", "route", ("PropertyOf", "pace", "actor"))), None, None)),
    ("action", "effort light", ("Effort", "light")),
    ("action", "takes 5 min, 3 to 9 min", ("Takes", "5 min", "3 min", "9 min")),
    ("action", "takes 5 to 9 min", ("Takes", None, "5 min", "9 min")),
    ("action", "may: a bolt sticks", ("May", '"a bolt sticks"')),
    ("action", "can stop after 5 min, leaves U is loose",
     ("CanStop", "5 min", (("Compared", None, ref("U"), False, "is", "loose"),))),
    ("action", "cannot stop", ("CanStop", None, ())),
    ("top", 'rule hooked "Always on"', ("Rule", "hooked", '"Always on"')),
    ("rule", "never anyone working on FEED: connector while power of FEED is not on",
     ("Never", (("WorkingOn", quant("anyone"), False, ("Ref", "", "FEED", "connector")),),
      (("Compared", "power", ref("FEED"), True, "is", "on"),), None)),
    ("rule", "never WHO: suited not in sight of OTHER: suited longer than 20 min while WHO at P: worksite",
     ("Never", (("Sight", ("Ref", "", "WHO", "suited"), True, ("Ref", "", "OTHER", "suited")),),
      (("Located", ref("WHO"), False, ("Ref", "", "P", "worksite")),), "20 min")),
    ("rule", "always GLOVE: item is checked every 1 h while GLOVE on an arm",
     ("Always", (("Compared", None, ("Ref", "", "GLOVE", "item"), False, "is", "checked"),),
      (("Attached", ref("GLOVE"), False, "on", None, quant("a", "arm")),), "1 h")),
    ("rule", "always everyone of suited on a reel",
     ("Always", (("Attached", quant("everyone", "suited"), False, "on", None, quant("a", "reel")),), (), None)),
    ("rule", "never nobody of suited in reach of X, nothing on here, everything of bag at P, X moving at P",
     ("Never", (("Reach", quant("nobody", "suited"), False, ref("X")),
                ("Attached", quant("nothing"), False, "on", None, ref("here")),
                ("Located", quant("everything", "bag"), False, ref("P")),
                ("MovingAt", ref("X"), False, ref("P"))), (), None)),
    ("rule", "always bolts of U at least 2, mass of U at most 3 kg, X not working on an arm",
     ("Always", (("Compared", "bolts", ref("U"), False, "least", "2"),
                 ("Compared", "mass", ref("U"), False, "most", "3 kg"),
                 ("WorkingOn", ref("X"), True, quant("a", "arm"))), (), None)),
    ("top", 'campaign depot "Servicing"', ("Campaign", "depot", '"Servicing"')),
    ("campaign", "excursions first, second", ("Excursions", ("first", "second"))),
    ("top", 'excursion second "Pump swap"', ("Excursion", "second", '"Pump swap"')),
    ("excursion", "crew wren as lead, teal", ("Crew", (("wren", "lead"), ("teal", None)))),
    ("excursion", "starts as first ends", ("Starts", "ends", "first")),
    ("excursion", "starts as sites/north", ("Starts", "as", "sites/north")),
    ("excursion", "starts from promise of first", ("Starts", "promise", "first")),
    ("excursion", "clock from suit power, limit 6 h 30 min, reserve 30 min",
     ("Clock", "suit power", "6 h 30 min", "30 min", None, None)),
    ("excursion", "clock limit 7 h", ("Clock", None, "7 h", None, None, None)),
    ("excursion", "clock from suit power, starts on out.powered, ends on lock-full, limit 7 h",
     ("Clock", "suit power", "7 h", None, "out.powered", "lock-full")),
    ("excursion", "light orbit 400 km over earth, beta -30 deg, first at 41 min",
     ("Orbit", "400 km", "earth", "-30 deg", "41 min")),
    ("excursion", "slow day 0.2, each 0.1", ("SlowDay", "0.2", "0.1")),
    ("excursion", "slow day 0.2", ("SlowDay", "0.2", None)),
    ("excursion", "finish together within 15 min", ("Together", "15 min")),
    ("excursion", "begins 2027-03-02 at 9 h 30 min", ("Begins", "2027-03-02", "9 h 30 min")),
    ("excursion", "light dark 45 min of every 118 min, first at 41 min", ("Light", "45 min", "118 min", "41 min")),
    ("excursion",
     'task swap "Swap it" : wanted, after b and d, with c, only if first.x is not done, y on z, was old, by 3 h',
     ("Task", "swap", '"Swap it"', "wanted",
      (("Bound", "after", ("b", "d"), ()), ("Bound", "with", ("c",), ()),
       ("Guard", (("Compared", None, ref("first.x"), True, "is", "done"),
                  ("Attached", ref("y"), False, "on", None, ref("z")))),
       ("Bound", "was", ("old",), ()), ("Bound", "by", (), ("3 h",))))),
    ("excursion", 'fallback stuck "It sticks", from m, instead of release, crate-old, then boom-fit',
     ("Fallback", "stuck", '"It sticks"', "m", ("release", "crate-old"), ("boom-fit",))),
    ("excursion", "left outside: rest1, rest2 until third", ("LeftOutside", ("rest1", "rest2"), "third")),
    ("excursion", "comes inside: crate", ("ComesInside", ("crate",))),
    ("excursion", "left so: power of feed is off until third",
     ("LeftSo", (("Compared", "power", ref("feed"), False, "is", "off"),), "third")),
    ("task", "teal and wren at pump-face in rest1 [18 min, 14 to 26], on bolts-out and x",
     ("Phrase", ("teal", "and", "wren", "at", "pump-face", "in", "rest1"), ("Bracket", "18 min", "14 min", "26 min"),
      (("Bound", "on", ("bolts-out", "x"), ()),))),
    ("task", "done when bolts of old-pump is 0",
     ("DoneWhen", (("Compared", "bolts", ref("old-pump"), False, "is", "0"),))),
    ("task", "...", ("Hole",)),
    ("block", "undo 2 bolts of x with d [9 to 20 min], says out",
     ("Phrase", ("undo", "2 bolts", "of", "x", "with", "d"), ("Bracket", None, "9 min", "20 min"),
      (("Bound", "says", ("out",), ()),))),
    ("block", "turn x [12 min], while m, by 3 h 10 min, not before 45 min, within 20 min of k, in daylight, in dark",
     ("Phrase", ("turn", "x"), ("Bracket", "12 min", None, None),
      (("Bound", "while", ("m",), ()), ("Bound", "by", (), ("3 h 10 min",)), ("Bound", "not-before", (), ("45 min",)),
       ("Bound", "within", ("k",), ("20 min",)), ("Bound", "light", ("daylight",), ()),
       ("Bound", "light", ("dark",), ())))),
    ("block", "read gauge, expect 210 to 230 kPa [1 h 5 min, 50 min to 2 h]", None),
    ("block", "read gauge [1 h 5 min, 50 min to 2 h], expect 210 to 230 kPa",
     ("Phrase", ("read", "gauge"), ("Bracket", "1 h 5 min", "50 min", "2 h"),
      (("Bound", "expect", (), ("210 kPa", "230 kPa")),))),
    ("block", "go out, wren then teal", ("Phrase", ("go", "out", ",", "wren", "then", "teal"), None, ())),
    ("block", 'clear new-pump from rack-a, with heron "Über", says x',
     ("Phrase", ("clear", "new-pump", "from", "rack-a", ",", "with", "heron", '"Über"'), None,
      (("Bound", "says", ("x",), ()),))),
    ("routine block", "swap tether to FIRST", ("Phrase", ("swap", "tether", "to", "FIRST"), None, ())),
    ("block", "note gauge", ("Phrase", ("note", "gauge"), None, ())),
    ("block", "allow heron to pass", ("Phrase", ("allow", "heron", "to", "pass"), None, ())),
    ("block", 'warning "Hot: do not touch # this"', ("Remark", "warning", '"Hot: do not touch # this"')),
    ("block", 'caution "x"', ("Remark", "caution", '"x"')),
    ("block", 'note "x"', ("Remark", "note", '"x"')),
    ("step", 'because "x"', ("Remark", "because", '"x"')),
    ("block", 'warning of hot and live "x"', ("Remark", "warning", '"x"', ("hot", "live"))),
    ("top", 'hazard hot "It burns"', ("Hazard", "hot", '"It burns"')),
    ("hazard", "exposes X: suited on Y while Z is hot",
     ("Exposes", (("Attached", ("Ref", "", "X", "suited"), False, "on", None, ref("Y")),),
      (("Compared", None, ref("Z"), False, "is", "hot"),))),
    ("hazard", "unless Z is cool", ("Unless", (("Compared", None, ref("Z"), False, "is", "cool"),), None)),
    ("hazard", "unless X warned", ("Unless", (), ref("X"))),
    ("top", "spread soil", ("Spread", "soil", None)),
    ("spread", "when Z is soiled", ("When", (("Compared", None, ref("Z"), False, "is", "soiled"),))),
    ("action", "makes soil of everything of rag on X is clean",
     ("Makes", (("Effect", ("Compared", "soil", ("Ref", "everything", None, "rag"), False, "is", "clean", ref("X")),
                 False),))),
    ("top", "words vague", ("Words", "vague")),
    ("words", '"a", "b c"', ("WordLine", False, ('"a"', '"b c"'), ())),
    ("words", 'not "a"', ("WordLine", True, ('"a"',), ())),
    ("words", '"a" not "b", "c"', ("WordLine", False, ('"a"',), ('"b"', '"c"'))),
    ("rule", 'source "a book"', ("Origin", True, '"a book"')),
    ("rule", "unverified", ("Origin", False, None)),
    ("rule", "never x on y again within 3 h",
     ("Never", (("Attached", ref("x"), False, "on", None, ref("y")),), (), None, "3 h")),
    ("action", "no faster than depth of here / rate",
     ("NoFaster", ("Binary", "/", ("PropertyOf", "depth", "here"), "rate"))),
    ("action", "expects 19.5 to 23.5 kPa", ("Expects", "19.5 kPa", "23.5 kPa")),
    ("top", 'form permit "A permit" for suited', ("Form", "permit", '"A permit"', "suited")),
    ("form", 'heading space "The space", source "a law"',
     ("Heading", "space", '"The space"', ("Origin", True, '"a law"'))),
    ("heading", "lists crew of suited", ("Lists", "crew", "suited", None)),
    ("heading", "lists steps that make x on y",
     ("Lists", None, None, ("Attached", ref("x"), False, "on", None, ref("y")))),
    ("heading", 'blank "Name", "Day"', ("Blank", ('"Name"', '"Day"'))),
    ("heading", "asks", ("Asks",)),
    ("top", 'word outside "in the water"', ("WordDecl", "outside", '"in the water"')),
    ("excursion", "fills permit", ("Fills", "permit")),
    ("fills", 'space "The sump.", "Wet."', ("Fill", "space", ('"The sump."', '"Wet."'))),
    ("excursion", "left away: x, y until third", ("LeftOutside", ("x", "y"), "third")),
    ("excursion", "comes home: x", ("ComesInside", ("x",))),
    ("kind", "home, one by one in 4 min", ("Flag", "inside", "4 min")),
    ("step", "if a bolt sticks: fallback bolt-stuck", ("If", '"a bolt sticks"', "bolt-stuck")),
    ("step", "if outside: go on", ("If", '"outside"', None)),
    ("step", 'allow seat-taken because "x" until 2027-03-01', ("Allow", "seat-taken", '"x"', "2027-03-01")),
    ("decl", 'allow seat-taken because "x"', ("Allow", "seat-taken", '"x"', None)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("parent", "line", "expected"), [form for form in FORMS if form[2]], ids=lambda value: str(value)[:40]
)
def test_form(parent: str, line: str, expected: object) -> None:
    node, problems = under(parent, line)
    assert problems == []
    assert plain(node) == expected


def test_every_node_has_a_form() -> None:
    tried = {type(under(parent, line)[0]) for parent, line, expected in FORMS if expected}
    assert tried == set(tree.Node.__args__) - {tree.Unreadable}


def test_reference_reads_clean() -> None:
    """All indented samples of the reference, but for the one line that leaves its end open on purpose."""
    samples = re.findall(r"(?:^    .*\n|^\n)+", REFERENCE.read_text(encoding="utf-8"), re.M)
    texts = [textwrap.dedent(sample) for sample in samples if sample.strip()]
    assert len(texts) >= 7
    for text in texts:
        lines = list(enumerate(text.split("\n"), 1))
        open_ended = [line for line, words in lines if words.endswith(" ...") and words.strip() != "..."]
        _, problems = parse(source_from_text("x.stay", text))
        assert [problem.at.line for problem in problems] == open_ended


def test_columns_are_of_the_physical_line() -> None:
    node, _ = under("block", "undo bolts of old-pump [14 min], says bolts-out")
    assert isinstance(node, tree.Phrase)
    assert node.words[3].at == tree.At(0, 20, 28)
    assert node.bracket is not None and node.bracket.at == tree.At(0, 29, 37)
    assert node.bounds[0].at == tree.At(0, 39, 53)


def test_equal_lines_share_a_node() -> None:
    text = "excursion e\n  task t : required\n    teal\n      take x\n      take x\n"
    file, _ = parse(source_from_text("x.stay", text))
    first, second = file.statements[0].children[0].children[0].children
    assert first.node is second.node and (first.line, second.line) == (4, 5)


def test_continued_lines_keep_their_places() -> None:
    text = "action pull ITEM: item\n  makes ITEM on b,  # first\n    # between\n"
    text += "    then ITEM not on c\n      and ITEM at d\n"
    file, problems = parse(source_from_text("x.stay", text))
    node = file.statements[0].children[0].node
    assert problems == [] and isinstance(node, tree.Makes) and len(node.effects) == 3
    assert node.effects[1].at == tree.At(2, 9, 22)
    assert node.effects[2].at == tree.At(3, 10, 19)
    assert file.comments == {2: " first", 3: " between"}
