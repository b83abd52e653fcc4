// What comes after what, downwards: a rope for each actor, a tag on it for each written step, wires between ropes.
const OR = { lane: 190, least: 172, most: 290, card: 54, gap: 26, left: 14, gutter: 34 };
const ORDER_KEY = [['w-own', 'next of the same actor'], ['w-call', 'waits for a call'], ['w-after', 'task after task'], ['w-beside', 'while'], ['k-crit', 'critical chain'], ['k-over', 'hand-over'], ['k-drop', 'may be dropped']];
view({
  name: 'order', title: 'Order',
  render(box) {
    const x = here();
    if (x.not) { box.append(el('p', { class: 'loud' }, x.not)); return; }
    const plan = layOrder(x);
    OR.lane = S.printing ? 200 : clamp((box.clientWidth - OR.left - 24) / Math.max(1, plan.lanes.length) - OR.gutter, OR.least, OR.most);
    box.append(el('div', { class: 'bar' },
      el('button', { type: 'button', class: 'small', 'aria-pressed': String(Boolean(box.only)), on: { click: () => { box.only = !box.only; redraw(box); } } }, 'Only what the choice hangs on'),
      el('p', { class: 'key' }, ORDER_KEY.map(([cls, words]) => el('span', {}, el('i', { class: `sign ${cls}` }), words)))));
    const wide = OR.left + plan.lanes.length * (OR.lane + OR.gutter) + 20;
    if (S.printing) {
      const rows = 8;
      for (let row = 0; row < plan.rows; row += rows) box.append(sheetOf(row ? rowY(row) - 12 : 0, Math.min(rows, plan.rows - row) * (OR.card + OR.gap) + 6, true).scroller);
      return;
    }
    const whole = sheetOf(0, 20 + plan.rows * (OR.card + OR.gap), false);
    box.append(whole.scroller);
    box.or = { plan, scroller: whole.scroller, x: x.at, back: whole.back, fill: windowed(whole.scroller, 'y', whole.layer, whole.fill) };
    box.or.fill();
    this.update(box);

    // The rows from so many pixels on, as one piece of the diagram.
    function sheetOf(top, height, now) {
      const back = draw('svg', { class: 'or-back', width: wide, height, viewBox: `0 ${top} ${wide} ${height}`, 'aria-hidden': 'true', focusable: 'false' });
      const layer = el('div', { class: 'or-steps', css: { top: `${-top}px` } });
      const heads = el('div', { class: 'or-heads', css: { width: `${wide}px` } }, plan.lanes.map((actor, at) => el('div', { class: 'or-head', css: { left: `${laneX(at)}px`, width: `${OR.lane}px` } }, badge(actor, 20), el('b', {}, P.things[actor].t))));
      const scroller = el('div', { class: `or-scroll${now ? ' or-printed' : ''}`, tabindex: '0', role: 'group', 'aria-label': `Order of ${x.t}` }, heads, el('div', { class: 'or-canvas', css: { width: `${wide}px`, height: `${height}px` } }, back, layer));
      const fill = (a, b) => fillSheet(back, layer, a, b);
      if (now) fill(top, top + height);
      return { scroller, back, layer, fill };
    }
    function fillSheet(back, layer, a, b) {
      const inSight = (low, high) => high >= a && low <= b;
      const tags = document.createDocumentFragment();
      back.replaceChildren();
      plan.lanes.forEach((actor, at) => {
        const style = P.things[actor].style, mine = plan.ends.get(at);
        if (!mine) return;
        const y1 = Math.max(rowY(mine[0]), a), y2 = Math.min(rowY(mine[1]) + OR.card, b);
        if (y2 > y1) back.append(draw('line', { class: `rope line-${style[1]}`, x1: laneX(at) + 12, x2: laneX(at) + 12, y1: Math.max(y1, 0), y2, 'stroke-dasharray': style[3] }));
      });
      for (const wire of plan.wires) if (inSight(rowY(wire.from.row), rowY(wire.to.row) + OR.card)) back.append(drawWire(wire));
      for (const one of plan.boxes) {
        if (!inSight(rowY(one.row), rowY(one.row) + OR.card)) continue;
        if (one.low !== one.high) {
          const y = rowY(one.row) + OR.card / 2;
          back.append(draw('line', { class: `span${one.sort === 'handover' ? ' over' : ''}`, x1: laneX(one.low) + 12, x2: laneX(one.high) + 12, y1: y, y2: y }));
          for (const lane of one.lanes) if (lane !== one.lane) back.append(draw('circle', { class: 'knot', cx: laneX(lane) + 12, cy: y, r: one.sort === 'handover' ? 5 : 3.5 }));
        }
        tags.append(orderCard(x, one));
      }
      layer.replaceChildren(tags);
      mark(layer);
      lit(box, back);
    }
  },
  update(box) {
    if (!box.or) return;
    const { plan, scroller, back } = box.or;
    if (box.only && box.shown !== S.step) { redraw(box); return; }
    const at = S.step >= 0 ? plan.at.get(here().node.get(S.step)) : null;
    if (at && !S.printing) {
      const y = rowY(at.row), edge = scroller.scrollTop, size = scroller.clientHeight;
      if (y < edge + 36 || y > edge + size - OR.card - 20) scroller.scrollTop = Math.max(0, y - size / 3);
      const left = laneX(at.lane), side = scroller.scrollLeft;
      if (left < side || left + OR.lane > side + scroller.clientWidth) scroller.scrollLeft = Math.max(0, left - 20);
    }
    lit(box, back);
  },
});
const laneX = (at) => OR.left + at * (OR.lane + OR.gutter);
const rowY = (row) => 14 + row * (OR.card + OR.gap);
function redraw(box) {
  const one = VIEWS.find((v) => v.name === 'order');
  box.replaceChildren();
  box.shown = S.step;
  one.render.call(one, box);
  mark(box);
}
function lit(box, back) {
  const node = S.step >= 0 ? here().node.get(S.step) : -1;
  for (const wire of back.querySelectorAll('.wire')) wire.classList.toggle('is-sel', node >= 0 && (Number(wire.dataset.a) === node || Number(wire.dataset.b) === node));
}

// Every node a row below all that it comes after; nodes of several actors keep the row free on the ropes between.
function layOrder(x) {
  const lanes = [...x.own.keys()].filter((actor) => x.own.get(actor).length);
  const laneOf = new Map(lanes.map((actor, at) => [actor, at]));
  const into = new Map();
  const links = x.links;
  for (const link of links) { if (!into.has(link[1])) into.set(link[1], []); into.get(link[1]).push(link); }
  let nodes = x.nodes;
  if (VIEWS.find((v) => v.name === 'order').box.only && S.step >= 0) nodes = hangsOn(x, nodes, links);
  const wanted = new Set(nodes.map((node) => node[0]));
  const last = lanes.map(() => -1);
  const at = new Map();
  const boxes = [];
  const pending = [...nodes].sort((a, b) => x.steps[a[0]].s - x.steps[b[0]].s || a[0] - b[0]);
  const place = (node) => {
    const [index, sort, before, behind] = node;
    const step = x.steps[index];
    const mine = step.w.map((actor) => laneOf.get(actor)).filter((one) => one !== undefined);
    const low = Math.min(...mine), high = Math.max(...mine);
    let row = 0;
    for (const link of into.get(index) || []) { const tail = at.get(link[0]); if (tail) row = Math.max(row, link[2] === 'beside' ? tail.row : tail.row + 1); }
    for (let lane = low; lane <= high; lane++) row = Math.max(row, last[lane] + 1);
    for (let lane = low; lane <= high; lane++) last[lane] = row;
    const one = { index, sort, before, behind, row, low, high, lanes: mine, lane: mine[0] };
    at.set(index, one);
    boxes.push(one);
  };
  // In an order in which nothing comes before what it waits for; of those, by the clock.
  const open = new Map(pending.map((node) => [node[0], (into.get(node[0]) || []).filter((link) => link[2] !== 'beside' && wanted.has(link[0])).length]));
  const out = new Map();
  for (const link of links) if (link[2] !== 'beside' && wanted.has(link[0])) { if (!out.has(link[0])) out.set(link[0], []); out.get(link[0]).push(link[1]); }
  const byIndex = new Map(pending.map((node) => [node[0], node]));
  const free = pending.filter((node) => !open.get(node[0]));
  while (free.length) {
    let best = 0;
    for (let k = 1; k < free.length; k++) if (x.steps[free[k][0]].s < x.steps[free[best][0]].s) best = k;
    const [node] = free.splice(best, 1);
    place(node);
    for (const head of out.get(node[0]) || []) { if (!open.has(head)) continue; open.set(head, open.get(head) - 1); if (!open.get(head)) free.push(byIndex.get(head)); }
  }
  const wires = [];
  const tracks = new Map();
  for (const [tail, head, sort, actor, call, critical] of links) {
    const from = at.get(tail), to = at.get(head);
    if (!from || !to) continue;
    const name = `${Math.min(from.lane, to.lane)}`;
    let track = 0;
    if (sort !== 'own' || from.lane !== to.lane) {
      const taken = tracks.get(name) || [];
      track = taken.findIndex((row) => row < from.row);
      if (track < 0) track = taken.length < 6 ? taken.length : taken.indexOf(Math.min(...taken));
      taken[track] = to.row;
      tracks.set(name, taken);
    }
    wires.push({ from, to, sort, lane: laneOf.get(actor), call, critical, track });
  }
  const ends = new Map();
  for (const one of boxes) for (const lane of one.lanes) {
    const mine = ends.get(lane);
    ends.set(lane, mine ? [Math.min(mine[0], one.row), Math.max(mine[1], one.row)] : [one.row, one.row]);
  }
  return { lanes, boxes, at, wires, ends, rows: 1 + Math.max(0, ...boxes.map((one) => one.row)) };
}
function hangsOn(x, nodes, links) {
  const walk = (start, a, b) => {
    const seen = new Set([start]);
    const queue = [start];
    const next = new Map();
    for (const link of links) { if (!next.has(link[a])) next.set(link[a], []); next.get(link[a]).push(link[b]); }
    for (const one of queue) for (const other of next.get(one) || []) if (!seen.has(other)) { seen.add(other); queue.push(other); }
    return seen;
  };
  const start = x.node.get(S.step);
  const kept = new Set([...walk(start, 1, 0), ...[...walk(start, 0, 1)]]);
  return nodes.filter((node) => kept.has(node[0]));
}

function drawWire({ from, to, sort, lane, call, critical, track }) {
  const cls = `wire w-${sort}${critical ? ' crit' : ''}`;
  const x1 = laneX(from.lane) + 12, x2 = laneX(to.lane) + 12;
  const y1 = rowY(from.row) + OR.card, y2 = rowY(to.row);
  let d, tip = [x2, y2];
  if (sort === 'own') {
    // Along the actor's own rope: from a tag or a knot to the next.
    const x = laneX(lane) + 12;
    const end = lane === to.lane ? y2 : y2 + OR.card / 2;
    d = `M${x} ${lane === from.lane ? y1 : y1 - OR.card / 2}V${end}`;
    tip = lane === to.lane ? [x, y2] : null;
  }
  else {
    // Out of the tag's side, down in the gutter beside it, and in from above just over the head.
    const right = to.lane > from.lane || (to.lane === from.lane);
    const edge = right ? laneX(from.lane) + OR.lane : laneX(from.lane);
    const gutter = right ? edge + 5 + track * 4 : edge - 5 - track * 4;
    const over = y2 - 7 - track * 2, inx = x2 + 14 + track * 7;
    const start = y1 - 14 - track * 4;
    if (sort === 'beside' && to.row === from.row) { d = `M${edge} ${start}H${right ? laneX(to.lane) : laneX(to.lane) + OR.lane}`; tip = null; }
    else { d = `M${edge} ${start}H${gutter}V${over}H${inx}V${y2}`; tip = [inx, y2]; }
  }
  const made = draw('g', { class: cls, data: { a: from.index, b: to.index } }, draw('title', {}, call >= 0 ? `call “${word(call)}”` : sort), draw('path', { d }));
  if (tip) made.append(draw('path', { class: 'tip', d: `M${tip[0]} ${tip[1]}l-3.2 -6h6.4Z` }));
  return made;
}

function orderCard(x, one) {
  const step = x.steps[one.index];
  const task = x.tasks[step.k];
  const added = [...one.before, ...one.behind].length;
  const meta = [`${clock(step.s, step.o & 1)} · ${minutes(step.d)}`, step.l ? `slack ${minutes(step.l - step.s)}` : ''].filter(Boolean).join(' · ');
  return el('button', { type: 'button', class: `or-card sort-${one.sort}${step.n ? ' added' : ''}${step.c ? ' crit' : ''}${task && task.rank !== 'required' ? ' drop' : ''}`, data: { s: key(x.at, one.index), task: task ? task.t : '' },
    css: { left: `${laneX(one.lane)}px`, top: `${rowY(one.row)}px`, width: `${OR.lane}px`, height: `${OR.card}px` }, title: `${stepWords(step)}${task ? `; task ${task.t}` : ''}` },
  el('span', { class: 'or-who' }, step.w.map((actor) => badge(actor, 15))), el('span', { class: 'or-what' }, word(step.x)),
  el('span', { class: 'or-meta' }, meta, added ? ` · with ${added} inserted` : '', step.say ? el('b', {}, ` “${word(step.say[0])}”`) : ''));
}
