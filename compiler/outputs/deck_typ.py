"""The sheet that typst lays a deck, the combined checklist or the lists out on; see `deck_pdf`.

A card is a tag, its steps hang on a line: a box is clipped to it, an inserted step is a bead on it, a wait is a gap in
it. Nothing is told by colour alone. Actions and names are set in a plain face of fixed width, in which no two letters
look alike; sentences in a book face. Both faces come with typst, so that every machine prints the same."""

TEMPLATE = r"""
#let data = json(bytes(sys.inputs.data))
#let deck = data.deck
#let frame = data.frame
#let cuff = data.paper == "cuff"
#let size = if cuff { 8.4pt } else { 10pt }
#let small = if cuff { 7pt } else { 7.5pt }
#let ink = rgb("#14202b")
#let soft = rgb("#4a5763")
#let hair = rgb("#b9c1c8")
#let wash = rgb("#f2f0e9")
#let loud = rgb("#b3261e")
#let plainface = ("DejaVu Sans Mono", "Libertinus Serif")
#let bookface = ("Libertinus Serif", "DejaVu Sans Mono")
#let book(body, size: size) = text(font: bookface, size: size * 1.12, body)
#let tag(body, fill: ink, paint: white, size: size) = box(
  fill: fill, inset: (x: 0.45em, y: 0.22em), outset: (y: 0.08em), radius: 0.3em,
  text(fill: paint, weight: "bold", size: size, body))
#let faint(body) = text(size: small, fill: soft, body)
#let strong-small(body) = text(size: small, weight: "bold", body)
// A word that no line may hold can be broken.
#let frayed(words) = words.replace(regex("(\S{24})"), m => m.captures.at(0) + "\u{200b}")

// What stands at the head of every page takes one line; in full it stands in the document.
#let short(words, most) = {
  let parts = words.clusters()
  if parts.len() <= most { words } else { parts.slice(0, most - 1).join().trim() + "…" }
}

#let badge(letter, shape, r: 0.58em) = {
  let mark = text(size: if shape == "triangle" { 0.6em } else { 0.76em }, weight: "bold", letter)
  let s = 0.8pt + ink
  box(width: 2.4 * r, height: 1.5 * r, baseline: 18%, align(center + horizon,
    if shape == "circle" { circle(radius: r, stroke: s, inset: 0pt, align(center + horizon, mark)) }
    else if shape == "square" { square(size: 1.8 * r, stroke: s, inset: 0pt, align(center + horizon, mark)) }
    else {
      let n = (triangle: 3, hexagon: 6, pentagon: 5, diamond: 4).at(shape, default: 4)
      place(center + horizon, rotate(if shape == "diamond" { 45deg } else { 0deg },
        polygon.regular(size: (if shape == "triangle" { 2.4 } else { 2.15 }) * r, vertices: n, stroke: s)))
      place(center + horizon, dy: if shape == "triangle" { 0.17em } else { 0pt }, mark)
    }))
}
#let badges = deck.crew.map(one => (one.at(0), one.at(1))).to-dict()

// A name with hyphens in it is one word: torn at a line's end it could be read as two things.
#show regex("\w+(-\w+)+"): it => if it.text.clusters().len() <= 24 { box(it) } else { it }

#set document(title: frame.title + ": " + deck.subject + ", plan " + frame.identity, author: "Jackstay", date: none)
#let page-of = context counter(page).display((n, m) => [page #n of #m], both: true)
#let on-this-page = context {
  let here-page = here().page()
  let all = query(<part>)
  let now = all.filter(one => one.location().page() == here-page)
  let before = all.filter(one => one.location().page() < here-page)
  let found = if now.len() > 0 { now } else if before.len() > 0 { (before.last(),) } else { () }
  short(found.map(one => one.value).dedup().join(" / "), if cuff { 36 } else { 58 })
}
#let warned = if frame.warning != "" {
  block(width: 100%, fill: ink, inset: 0.4em, below: 0.5em,
    text(fill: white, weight: "bold", size: size, frame.warning))
}
#set page(
  ..if cuff { (width: 90mm, height: 200mm) } else { (paper: if data.paper == "letter" { "us-letter" } else { "a4" }) },
  margin: if cuff { (x: 4mm, top: if frame.warning != "" { 30mm } else { 18mm }, bottom: 15mm) }
    else { (x: 14mm, top: if frame.warning != "" { 33mm } else { 25mm }, bottom: 20mm) },
  header-ascent: 2.5mm,
  footer-descent: 2.5mm,
  header: {
    set text(size: small)
    set par(leading: 0.45em, spacing: 0.45em)
    warned
    if cuff {
      grid(columns: (1fr, auto), gutter: 3pt, align: (left + horizon, right + horizon),
        [#if deck.letter != "" { badge(deck.letter, deck.shape) } *#short(deck.subject, 24)*], [*#page-of*],
        text(fill: soft, on-this-page), text(fill: soft)[plan #frame.identity])
    } else {
      grid(columns: (1fr, auto), row-gutter: 4pt, align: (left + horizon, right + horizon),
        text(size: size * 1.15)[#if deck.letter != "" { badge(deck.letter, deck.shape) } *#short(deck.heading, 52)*],
        text(size: size * 1.15)[*#page-of*],
        [#short(frame.title, 34) #sym.dot.c #on-this-page], [plan #frame.identity])
    }
    line(length: 100%, stroke: 1.2pt + ink)
  },
  footer: {
    set text(size: small)
    line(length: 100%, stroke: 0.5pt + ink)
    v(-0.6em)
    book(size: small, frame.safety.first())
    for mark in frame.marks { h(0.6em); text(weight: "bold", mark) }
  },
)
#set text(font: plainface, size: size, fill: ink, hyphenate: false, lang: "en")
#set par(leading: 0.5em, spacing: 0.65em)
#show heading: set text(size: size)

// --- the stones of a row ---
#let boxside = if cuff { 5.2mm } else { 6.2mm }
#let tick = box(width: boxside, height: boxside, stroke: 1.1pt + ink, radius: 0.6mm, fill: white)
#let blank = box(
  width: if cuff { 20mm } else { 38mm }, height: boxside, stroke: 0.9pt + ink, radius: 0.6mm, fill: white)
#let under-block = block.with(above: 0.5em, below: 0.1em)
#let clocked(words) = text(weight: "bold", size: size * 0.95, words)
#let where(words) = text(size: small * 0.94, fill: soft, frayed(words))
#let labelled(head, words) = under-block([#text(size: small, weight: "bold", fill: soft, upper(head)) #words])
#let page-of-card(number) = context {
  let found = query(label("card-" + number))
  if found.len() > 0 { str(found.first().location().page()) }
}
#let say(row) = block(above: 0.55em, below: 0.15em, {
  if row.caller == "" [#tag("SAY") #h(0.2em) #text(weight: "bold")["#row.call"]]
  else [#tag(row.caller + " says", fill: white, paint: ink, size: small) #h(0.2em) "#row.call"]
})
#let under(row) = {
  if row.tools != "" { labelled("with", row.tools) }
  if row.expect != "" {
    block(above: 0.6em, below: 0.3em, box(baseline: 30%, stroke: (left: 2pt + ink), inset: (left: 0.5em, y: 0.2em),
      [#strong-small[EXPECT] #h(0.2em) #text(weight: "bold", row.expect) #h(0.6em)
        #box[#strong-small[ACTUAL] #h(0.2em) #box(baseline: 30%, blank)]]))
  }
  for (head, words) in row.under {
    if head == "why" { block(above: 0.5em, below: 0.1em, book(size: size * 0.94, emph(words))) }
    else if head == "when" { block(above: 0.5em, below: 0.1em, tag(words, fill: white, paint: ink, size: small)) }
    else { labelled(head, words) }
  }
  for answer in row.answers {
    let to = if answer.card == "" { answer.words } else {
      let words = text(weight: "bold", answer.words)
      [#sym.arrow.r #link(label("card-" + answer.card), words), #text(size: small)[page #page-of-card(answer.card)]]
    }
    block(above: 0.55em, below: 0.2em, [#text(weight: "bold")[If #answer.outcome:] #to])
  }
  if row.call != "" { say(row) }
}
#let names(row) = {
  if row.marks.len() > 0 { for mark in row.marks { badge(mark, badges.at(mark, default: "circle")); h(0.1em) } }
  if row.who != "" { text(size: size * 0.92, style: "oblique", row.who); [: ] }
}
#let remark(row) = {
  let sort = row.sort
  let head = (
    warning: (fill: loud, paint: white, edge: 2.4pt + ink),
    caution: (fill: rgb("#e8e3d2"), paint: black, edge: 1.6pt + ink),
    note: (fill: white, paint: ink, edge: 0.7pt + ink),
  ).at(sort)
  block(width: 100%, stroke: head.edge, radius: 1mm, clip: true, above: 0.3em, below: 0.3em, {
    block(width: 100%, fill: head.fill, inset: (x: 0.6em, y: 0.32em), above: 0pt, below: 0pt,
      stroke: if sort == "caution" { (bottom: (paint: ink, thickness: 1.6pt, dash: "densely-dashed")) } else { none },
      text(fill: head.paint, weight: "bold", size: size * (if sort == "note" { 0.9 } else { 1.05 }), tracking: 0.12em, {
        if sort == "warning" { "▲ WARNING ▲" } else { upper(sort) }
      }))
    block(inset: (x: 0.6em, top: 0.4em, bottom: 0.5em), above: 0pt, below: 0pt,
      text(font: bookface, size: size * 1.15, weight: if sort == "note" { "regular" } else { "bold" }, row.text))
  })
}
#let carried(title, rows) = if rows.len() > 0 {
  block(width: 100%, fill: wash, inset: (x: 0.5em, y: 0.4em), radius: 1mm, above: 0.25em, below: 0.25em,
    grid(columns: (auto, 1fr), column-gutter: 0.8em, row-gutter: 0.45em,
      grid.cell(colspan: 2, text(size: small, weight: "bold", fill: soft, tracking: 0.08em, upper(title))),
      ..rows.map(((how, what)) => (
        text(weight: "bold", size: size * 0.94, how), text(size: size * 0.94, frayed(what)))).flatten()))
}

// --- rows ---
#let rail = 1.6pt + ink
#let clockw = if cuff { 11.5mm } else { 17mm }
#let railw = if cuff { 9.5mm } else { 12mm }
#let clip-on(body) = grid(columns: (auto, 1fr), align: horizon, body, line(length: 100%, stroke: rail))
#let cells(row) = {
  let span(body, ..more) = grid.cell(colspan: 3, body, ..more)
  let along(body, dash: none, clock: "") = (
    grid.cell(stroke: none, clocked(clock)),
    grid.cell(stroke: (right: (paint: ink, thickness: 1.6pt, dash: dash)), []),
    body)
  let said = [#h(0.3em) #box(faint(row.lasts)) #h(0.5em) #h(1fr) #where(row.source)]
  if row.sort == "task" {
    (span(breakable: false, inset: (x: 0.55em, top: 0.75em, bottom: 0.35em), stroke: (bottom: 0.6pt + ink), {
      [#text(weight: "bold", size: size * 1.02, row.text) #h(1fr) #where(row.source)]
      for (head, words) in row.under {
        if head.starts-with("may be dropped") or head.starts-with("only if") {
          under-block([#box(stroke: (paint: ink, thickness: 1.2pt, dash: "dashed"), inset: 0.3em,
            strong-small(upper(head))) #h(0.3em) #book(words)])
        } else { labelled(head, book(size: size * 0.92, words)) }
      }
    }),)
  } else if row.sort in ("warning", "caution", "note") {
    along(remark(row))
  } else if row.sort == "item" {
    let boxed = row.number == "box"
    (span(inset: (left: 0.55em + int(row.lasts) * 1.6em, right: 0.55em, y: 0.3em),
      grid(columns: (auto, 1fr, auto), column-gutter: 0.6em, align: left + if boxed { horizon } else { top },
        if boxed { tick } else { sym.dash.en }, text(size: size * 0.95, frayed(row.text)), where(row.source))),)
  } else if row.sort == "light" {
    let thread = line(length: 100%, stroke: (paint: ink, thickness: 0.7pt, dash: "dotted"))
    (span(inset: (y: 0.3em), stroke: none,
      grid(columns: (clockw, 1fr, auto, 1fr), column-gutter: 0.4em, align: horizon,
        clocked(row.clock), thread, text(size: small, weight: "bold", tracking: 0.1em, upper(row.text)), thread)),)
  } else if row.sort in ("wait", "beside") {
    let edge = (paint: ink, thickness: 0.9pt, dash: "dashed")
    along(dash: "dotted", block(width: 100%, stroke: edge, radius: 1mm, inset: 0.45em, above: 0.15em, below: 0.15em, {
      [#tag(upper(row.sort), size: small * 1.05) #h(0.15em) #names(row) #frayed(row.text)]
      if row.call != "" [ #text(weight: "bold")["#row.call"]]
      if row.sort == "beside" [ has begun; it is not over before this one is]
      if row.lasts != "" { linebreak(); text(size: small, fill: soft, row.lasts) }
    }))
  } else if row.sort == "way" {
    along(clock: row.clock, {
      place(dx: -0.85mm - 0.55em, dy: 0.02em, circle(radius: 0.95mm, fill: ink))
      text(size: size * 0.93)[#names(row)#frayed(row.text) #said]
      under(row)
    })
  } else if row.sort == "call" {
    along({ if row.text != "" [#text(size: size * 0.93, row.text) #h(0.5em) #h(1fr) #where(row.source)]; under(row) })
  } else {
    (grid.cell(clocked(row.clock)),
      grid.cell(stroke: (right: rail), inset: (x: 0pt),
        clip-on(if row.sort == "step" { tick } else { box(width: boxside, align(center, sym.dash.em)) })),
      { block(above: 0pt, below: 0.1em, [#text(weight: "bold", row.number) #h(0.2em)
          #names(row)#text(size: size * 1.06, frayed(row.text)) #said])
        under(row) })
  }
}
#let leads = ("step", "way", "call", "other", "item")
#let weight(rows) = rows.map(row => row.text.len() + 60 + row.under.map(one => one.at(1).len()).sum(default: 0)).sum()
// What stands before a step stays with it: each group is one row of the table, which no page break divides.
#let rows-of(rows) = {
  let groups = ()
  let now = ()
  for row in rows {
    now.push(row)
    if row.sort in leads { groups.push(now); now = () }
  }
  if now.len() > 0 { groups.push(now) }
  groups.map(group => table.cell(inset: 0pt, breakable: weight(group) > (if cuff { 900 } else { 2600 }),
    grid(columns: (clockw, railw, 1fr), inset: (x: 0.55em, y: 0.34em), align: left + top,
      ..group.map(cells).flatten())))
}
#let body-table(header, rows) = table(columns: (1fr,), stroke: none, inset: 0pt,
  table.header(repeat: true, table.cell(inset: 0pt, header)), ..rows)
#let continued(card) = context {
  let start = query(label("card-" + card.number))
  if start.len() > 0 and start.first().location().page() < here().page() [ #h(0.4em) (continued)]
}
#let bar(card, dark: true) = block(
  width: 100%, above: 0pt, below: 0pt, fill: if dark { ink } else { white }, stroke: 1.2pt + ink,
  radius: (top: 1.4mm), inset: (x: 0.6em, y: 0.5em), {
    set text(fill: if dark { white } else { ink })
    grid(columns: (auto, 1fr, auto), column-gutter: 0.7em, align: (left + horizon, left + horizon, right + horizon),
      {
        box(circle(radius: 0.85mm, fill: if dark { white } else { ink }))
        [ #text(weight: "bold", size: size * 1.1, card.number)]
      },
      {
        text(weight: "bold", size: size * 1.25, frayed(card.title))
        if card.seat != "" [, #text(size: size * 1.1, frayed(card.seat))]
        text(size: size * 0.9, continued(card))
      },
      text(size: small, frayed(card.source)))
  })
#let card-of(card) = {
  let aside = card.sort in ("fallback", "condition")
  let rows = ()
  let whole(body) = table.cell(inset: (x: 0.55em, y: 0.3em), breakable: false, body)
  if card.about.len() > 0 { rows.push(whole(book(size: size * 0.94, card.about.join(" ")))) }
  rows += rows-of(card.way)
  if card.arrival.len() > 0 { rows.push(whole(carried("On me, on arrival", card.arrival))) }
  rows += rows-of(card.rows)
  let empty = if card.sort == "list" [Nothing.] else [Nothing to do here but to be here.]
  if card.rows.len() == 0 { rows.push(whole(book(size: size * 0.94, empty))) }
  if card.leaving.len() > 0 { rows.push(whole(carried("Leave with", card.leaving))) }
  if card.then != "" { rows.push(whole(text(weight: "bold", card.then))) }
  let length = card.way.len() + card.rows.len()
  block(above: 1.2em, below: 1.2em, breakable: length > (if cuff { 9 } else { 14 }), width: 100%,
    stroke: (bottom: 1.2pt + ink, left: if aside { 3pt + ink } else { 0.5pt + hair }, right: 0.5pt + hair))[
    #metadata(card.number) #label("card-" + card.number)
    #body-table(bar(card, dark: not aside), rows)
  ]
}
#let part-head(part) = block(below: 0.9em, sticky: true, {
  text(size: size * 1.6, weight: "bold", frayed(part.title))
  block(above: 0.6em, below: 0.5em,
    faint[#data.frame.word #part.number of #part.of #sym.dot.c #part.name #sym.dot.c #part.source])
  book(part.time)
  if part.role != "" { block(above: 0.5em)[Your part: *#part.role*] }
})

// --- the document ---
#book(size: size * 0.94, data.how)
#if deck.crew.len() > 0 {
  block(above: 0.8em, deck.crew.map(((letter, shape, name)) => [#badge(letter, shape) #frayed(name)]).join(h(1.2em)))
}
#for (at, part) in deck.parts.enumerate() {
  if at > 0 { pagebreak(weak: true) }
  [#metadata(data.frame.word + " " + str(part.number) + ", " + part.title) <part>]
  part-head(part)
  if part.lost != "" { text(weight: "bold", part.lost) }
  for card in part.cards { card-of(card) }
  if part.rows.len() > 0 {
    let head = text(fill: white, weight: "bold")[Everybody, by the clock]
    body-table(block(width: 100%, fill: ink, inset: 0.5em, radius: (top: 1.4mm), head), rows-of(part.rows))
  }
  if part.lost == "" and part.cards.len() == 0 and part.rows.len() == 0 { book[No steps.] }
}
#for (at, card) in deck.aside.enumerate() {
  if at == 0 or deck.aside.at(at - 1).part != card.part {
    pagebreak(weak: true)
    [#metadata(card.part) <part>]
    block(below: 0.6em, sticky: true, text(size: size * 1.4, weight: "bold")[Only when called #sym.dash.em #card.part])
  }
  card-of(card)
}
#block(breakable: false, above: 1.6em, stroke: (y: 1.2pt + ink), inset: (y: 0.6em), width: 100%, {
  for words in frame.safety { block(above: 0.3em, below: 0.3em, book(size: size * 0.92, words)) }
  block(above: 0.5em, below: 0.2em, text(size: small)[plan #frame.identity #sym.dot.c #frame.tally])
})
"""
