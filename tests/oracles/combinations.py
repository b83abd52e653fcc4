"""Plans that hold without any one of their droppable tasks, and fail without two: each found by one condition alone.

All are written on one small vocabulary. `PLANS`: what the two know one another by -> the files of the campaign.
"""

from __future__ import annotations

WORDS = """use units
kind worker is actor
  holds 2 tool by hand
kind clerk is actor
kind bench is location
  inside
  has room: count, usually 9
  admits room worker
  holds any tool by peg
kind lamp is location
  inside
  has power: on or off, usually on
kind tool is item
  has charge: full or empty, usually full
  has wear: count, usually 0
kind box is tool
  has room: count, usually 2
  holds room tool by pocket
action go to PLACE: bench
  by     worker
  serves actor at PLACE along paths
  makes  actor at PLACE
action darken LAMP: lamp
  by     clerk
  makes  power of LAMP is off from afar
action light LAMP: lamp
  by     clerk
  makes  power of LAMP is on from afar
action rely on LAMP: lamp
  by     clerk
  needs  power of LAMP is off
action fill TOOL: tool
  by     clerk
  makes  charge of TOOL is full from afar
action grab TOOL: tool from HOLDER: bench
  by     worker
  serves TOOL in hand of actor
  needs  TOOL on HOLDER, HOLDER in reach
  makes  TOOL in hand of actor, then TOOL not on HOLDER
action hang TOOL: tool on HOLDER: bench
  by     worker
  serves TOOL on HOLDER
  needs  TOOL in hand of actor, HOLDER in reach
  makes  TOOL on HOLDER, then TOOL not in hand of actor
action measure with TOOL: tool
  by     worker
  needs  charge of TOOL is full
  uses   TOOL in hand of actor
action pack TOOL: tool in BOX: box
  by     worker
  needs  TOOL on hall, BOX in reach
  makes  TOOL in pocket of BOX, then TOOL not on hall
action unpack TOOL: tool from BOX: box
  by     worker
  needs  TOOL in pocket of BOX, BOX in reach
  makes  TOOL on hall, then TOOL not in pocket of BOX
action look at TOOL: tool
  by     worker
  needs  TOOL in reach
location hall : bench
location yard : bench, room 2
path hall to yard 5 m
"""

CREW = """actor ida, jon, kit : worker, at hall
actor max, lea : clerk, at hall
"""


def _plan(things: str, body: str, actors: str = CREW) -> dict[str, str]:
    return {"plan": WORDS + actors + things + "excursion day\n  crew ida, jon, kit, max, lea\n" + body}


# Someone looks at what either of two has left as it should be.
TOUCH = _plan(
    "location lantern : lamp\n",
    """  task first-off : get-ahead
    max
      darken lantern
  task second-off : get-ahead
    max
      darken lantern, says off
  task work : required
    lea
      rely on lantern, on second-off.off
""",
)

# Nobody's way leads through what is full, as long as one of two has left.
COUNT = _plan(
    "",
    """  task ida-out : get-ahead
    ida
      go to hall, says gone
  task jon-out : get-ahead
    jon
      go to hall, on ida-out.gone, says gone
  task work : required
    kit
      go to yard, on jon-out.gone
""",
    actors="""actor ida, jon : worker, at yard
actor kit : worker, at hall
actor max, lea : clerk, at hall
""",
)

# A rule of three parts: two of them hold only without two tasks.
RULE = _plan(
    """location red, green, blue : lamp
location white : lamp, power off
rule not-all
  never power of red is on while power of green is on, power of white is on
""",
    """  task no-red : get-ahead
    max
      darken red
  task no-green : get-ahead
    max
      darken green, says dark
  task work : required
    lea
      light white, on no-green.dark
""",
)

# Without the one, a look goes by where the second chest is; without the other, that chest is in use meanwhile.
RACE = _plan(
    """item chest 1 to 2 : box, charge empty, on peg of hall
item rule : tool, in pocket of chest-2
""",
    """  task fill-other : required
    max
      fill chest-2
  task fill-first : get-ahead
    max
      fill chest-1, says filled
  task unpack-rule : get-ahead
    ida
      unpack rule from chest-2, says unpacked
  task look-at-rule : required
    jon
      look at rule, on unpack-rule.unpacked
  task measuring : required
    kit
      measure with any chest, on fill-first.filled and unpack-rule.unpacked
""",
)

# Either of two guarded tasks lets the worker wait for the clerk.
ORDER = {
    "one": WORDS
    + CREW
    + """location lantern : lamp
excursion one
  crew max
  task first : get-ahead
    max
      darken lantern
      light lantern
  task second : get-ahead
    max
      darken lantern
      light lantern
""",
    "two": """use one
excursion two
  crew max, lea, ida, jon
  starts as one ends
  task make-dark : required
    max
      darken lantern, says dark
  task if-first : required, only if one.first is done
    ida
      go to yard, on make-dark.dark, says one-moved
  task if-second : required, only if one.second is done
    jon
      go to yard, on make-dark.dark, says two-moved
  task work : required
    lea
      rely on lantern, on if-first.one-moved and if-second.two-moved
""",
    "plan": "use one\nuse two\ncampaign plan\n  excursions one, two\n",
}

# Any two of three may be left out, each knows only of the next.
SETS = _plan(
    "location lantern : lamp\n",
    """  task first-off : get-ahead
    max
      darken lantern
  task second-off : get-ahead
    max
      darken lantern
  task third-off : get-ahead
    max
      darken lantern, says off
  task work : required
    lea
      rely on lantern, on third-off.off
""",
)

# No step of the plan knows of the one, and a rule does; a place that would be too full; a task that would not be done.
ALONE = {
    "rule": _plan(
        """location red : lamp
location white : lamp, power off
rule not-both
  never power of red is on while power of white is on
""",
        """  task no-red : get-ahead
    max
      darken red, says dark
  task other : get-ahead
    ida
      go to yard
  task work : required
    lea
      light white, on no-red.dark
""",
    ),
    "room": _plan(
        "",
        """  task ida-out : get-ahead
    ida
      go to hall, says gone
  task other : get-ahead
    max
      fill wedge
  task work : required
    kit
      go to yard, on ida-out.gone
""",
        actors="""actor ida, jon : worker, at yard
actor kit : worker, at hall
actor max, lea : clerk, at hall
item wedge : tool, on peg of hall
""",
    ),
    "done": _plan(
        "location red : lamp\n",
        """  task no-red : get-ahead
    max
      darken red, says dark
  task other : get-ahead
    ida
      go to yard
  task work : required
    kit
      go to yard, on no-red.dark
    done when power of red is off
""",
    ),
}

# What two leave undone together is seen by no step: only when a task is done, or by what is promised for later.
SEEN = {
    "done": _plan(
        """location ledge : bench, within reach of hall and yard
item wedge : tool, on peg of hall
""",
        """  task wedge-over : get-ahead
    kit
      grab wedge from hall
      hang wedge on ledge, says over
  task jon-over : get-ahead
    jon
      go to hall, says over
  task work : required
    ida
      go to hall, on wedge-over.over and jon-over.over
    done when wedge in reach of jon
""",
        actors="""actor ida, kit : worker, at hall
actor jon : worker, at yard
actor max, lea : clerk, at hall
""",
    ),
    "promise": {
        "one": WORDS
        + CREW
        + """location red : lamp
excursion one
  crew max, lea
  task make-dark : required
    max
      darken red, says dark
  task first : get-ahead
    max
      rely on red
    done when power of red is off
  task second : get-ahead
    lea
      rely on red, on make-dark.dark
    done when power of red is off
""",
        "two": """use one
excursion two
  crew max, lea
  starts from promise of one
  task work : required
    lea
      rely on red
""",
        "plan": "use one\nuse two\ncampaign plan\n  excursions one, two\n",
    },
}

PLANS = {"touch": TOUCH, "count": COUNT, "rule": RULE, "race": RACE, "order": ORDER}
