"""How the page of a comparison looks: a line between two posts, the old plan at one end and the new at the other."""

from __future__ import annotations

from jackstay.outputs.look import COLOURS

STYLE = """\
* { box-sizing: border-box; }
body { margin: 0; font: 15px/1.45 'Liberation Sans', Arial, Helvetica, 'DejaVu Sans', Verdana, sans-serif;
  color: var(--ink); background: var(--paper); }
code { font: 13px/1.4 'DejaVu Sans Mono', 'Liberation Mono', Consolas, monospace; background: var(--wash);
  padding: 0 3px; border-radius: 2px; overflow-wrap: anywhere; }
h1 { font-size: 21px; line-height: 1.25; margin: 10px 0 4px; text-align: center; flex: 1 1 320px; }
h2 { font-size: 18px; margin: 26px 0 8px; border-bottom: 2px solid var(--ink); padding-bottom: 3px; }
h3 { font-size: 15px; margin: 0 0 5px; }
header, main, footer { padding: 12px 22px; }
.rope { border-top: 3px solid var(--ink); display: flex; flex-wrap: wrap; gap: 4px 18px; align-items: flex-start;
  justify-content: space-between; margin-top: 12px; }
.post { border-left: 5px solid var(--ink); margin-top: -9px; padding: 12px 0 2px 9px; font-size: 13px;
  max-width: 40ch; }
.post.new { margin-left: auto; border-left: 0; border-right: 5px solid var(--ink); padding: 12px 9px 2px 0;
  text-align: right; }
.post span { display: block; color: var(--soft); }
.loud { display: block; color: var(--loud); }
.sum { text-align: center; font-size: 16px; margin: 10px 0 0; }
.groups { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(430px, 100%), 1fr)); gap: 10px;
  align-items: start; }
.group { background: var(--tag); border: 1.2px solid var(--hair); border-top: 3px solid var(--ink);
  padding: 8px 12px 10px; }
ul { list-style: none; margin: 0; padding: 0; }
li { display: flex; gap: 8px; padding: 3px 0; border-top: 1px dotted var(--hair); }
li:first-child { border-top: 0; }
.sign { flex: none; width: 19px; height: 19px; line-height: 17px; margin-top: 1px; text-align: center;
  font-style: normal; font-weight: 700; border: 1.5px solid var(--ink); }
.new > .sign { border-radius: 50%; background: var(--ink); color: var(--paper); }
.gone > .sign { border-color: var(--loud); color: var(--loud); }
.other > .sign { border-style: dashed; }
.at { color: var(--soft); font-size: 12px; white-space: nowrap; }
.both h3 { margin: 16px 0 6px; }
.pair { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 10px; margin-bottom: 10px; }
.pair.same { grid-template-columns: minmax(0, 1fr); }
.pair.same img { max-width: 50%; }
figure { margin: 0; overflow: auto; border: 1.2px solid var(--hair); background: #fff; color: #14202b; }
figure.old { grid-column: 1; } figure.new { grid-column: 2; }
figcaption { padding: 3px 8px; font-size: 12.5px; background: var(--wash); color: var(--ink); position: sticky;
  left: 0; }
img { display: block; width: 100%; cursor: zoom-in; }
input:checked + label img { width: 1900px; max-width: none; cursor: zoom-out; }
input:focus-visible + label { outline: 3px solid var(--ink); outline-offset: -3px; display: block; }
.unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
footer { color: var(--soft); font-size: 12.5px; border-top: 1px solid var(--hair); margin-top: 24px; }
footer p { margin: 3px 0; max-width: 110ch; }
@media (max-width: 760px) { .pair { grid-template-columns: minmax(0, 1fr); } figure.old, figure.new {
  grid-column: 1; } .pair.same img { max-width: 100%; } }
@media (max-width: 760px) { h1 { flex-basis: 100%; order: -1; } .post { margin-top: 0; } }
@media print { .pair { break-inside: avoid; } .group { break-inside: avoid; } }
"""


def colours() -> str:
    """The colours of all pictures as variables, light and dark."""

    def block(at: int) -> str:
        return "".join(f"--{name}:{pair[at]};" for name, pair in COLOURS.items())

    dark = f":root{{{block(1)}color-scheme:dark}}"
    return f":root{{{block(0)}color-scheme:light}}\n@media screen and (prefers-color-scheme:dark){{{dark}}}\n"
