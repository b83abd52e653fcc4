// Who and what is where at the moment of the clock: places on their grid, ways as lines between posts.
view({
  name: 'places', title: 'Places',
  render(box) {
    const x = here();
    if (x.not) { box.append(el('p', { class: 'loud' }, x.not)); return; }
    box.append(el('div', { class: 'bar' },
      el('label', { class: 'check' }, el('input', { type: 'checkbox', on: { change: (event) => { box.all = event.target.checked; this.update(box); } } }), 'also what nobody moves'),
      el('p', { class: 'key' }, [['p-out', P.said[3]], ['p-in', P.said[2]], ['p-new', 'just changed hands']].map(([cls, words]) => el('span', {}, el('i', { class: `sign ${cls}` }), words)))));
    const columns = 1 + Math.max(0, ...P.places.cells.map((cell) => cell[1]));
    const cards = new Map();
    const grid = el('div', { class: 'pl-grid', css: { '--columns': columns } });
    for (const [place, column, row] of P.places.cells) {
      const made = el('section', { class: `place${P.things[place].in ? ' inside' : ''}`, css: { 'grid-column': column + 1, 'grid-row': row + 1 }, 'aria-label': P.things[place].t, data: { place } });
      cards.set(place, made);
      grid.append(made);
    }
    const back = draw('svg', { class: 'pl-back', 'aria-hidden': 'true', focusable: 'false' });
    const canvas = el('div', { class: `pl-canvas${S.printing ? ' pl-printed' : ''}`, css: { '--columns': columns } }, back, grid);
    box.append(el('h2', { class: 'pl-when' }), el('div', { class: 'pl-scroll', tabindex: '0', role: 'group', 'aria-label': 'Places' }, canvas));
    box.pl = { x: x.at, cards, grid, back, moving: new Set(x.steps.flatMap((step) => (step.g || []).map(([thing]) => thing))) };
    this.update(box);
    if (window.ResizeObserver) { if (box.seen) box.seen.disconnect(); box.seen = new ResizeObserver(() => ways(box)); box.seen.observe(grid); }
  },
  update(box) {
    if (!box.pl) return;
    const x = here(), hangs = hangsAt(x, S.t), held = heldBy(hangs);
    const running = x.steps.map((step, i) => [step, i]).filter(([step]) => !step.idle && step.s <= S.t && step.e > S.t);
    const fresh = new Set(x.steps.filter((step) => step.e <= S.t && step.e > S.t - 60 * 3).flatMap((step) => (step.g || []).map(([thing]) => thing)));
    const phase = x.phases.find(([since, until]) => S.t >= since && S.t < until) || x.phases[x.phases.length - 1];
    box.querySelector('.pl-when').replaceChildren(`${clock(S.t)}`, el('span', {}, phase ? ` ${phase[2].join('; ')}` : ''));
    const stands = new Map();
    for (const [thing] of hangs) {
      const one = P.things[thing];
      const on = up(hangs, thing);
      if (one.s === 'actor' && (on < 0 || P.things[on].s === 'location')) push(stands, placeOf(hangs, thing), [thing, -1]);
      else if (one.s === 'actor' && P.things[on].s === 'item' && !riding(hangs, on)) push(stands, placeOf(hangs, thing), [thing, on]);
      else if (one.s === 'item' && on >= 0 && P.things[on].s === 'location' && (box.all || box.pl.moving.has(thing))) push(stands, placeOf(hangs, thing), [thing, on]);
    }
    for (const [place, card] of box.pl.cards) {
      const rows = (stands.get(place) || []).sort((a, b) => order(a[0]) - order(b[0]));
      card.replaceChildren(el('h3', {}, thingButton(place)), rows.length ? el('ul', {}, rows.map(([thing, on]) => one(thing, on))) : el('p', { class: 'empty' }, '—'));
      card.classList.toggle('busy', running.some(([step]) => step.w.some((actor) => placeOf(hangs, actor) === place)));
    }
    ways(box);
    mark(box);

    function one(thing, on) {
      const actor = P.things[thing].s === 'actor';
      const doing = actor ? running.filter(([step]) => step.w.includes(thing)) : [];
      const fitting = on >= 0 && P.things[on].near ? ` · ${P.things[on].t}` : actor && on >= 0 ? `, on ${P.things[on].t}` : '';
      return el('li', { class: `${actor ? 'person' : ''}${fresh.has(thing) ? ' fresh' : ''}` }, actor ? badge(thing, 17) : '', thingButton(thing), fitting ? el('span', { class: 'soft' }, fitting) : '',
        doing.map(([, i]) => el('button', { type: 'button', class: 'doing', data: { s: key(x.at, i) } }, word(x.steps[i].x))), inner(thing, 0));
    }
    function inner(holder, deep) {
      const things = (held.get(holder) || []).filter(([thing]) => P.things[thing].s === 'item' || P.things[thing].s === 'actor').filter(([thing]) => box.all || box.pl.moving.has(thing));
      if (!things.length || deep > 6) return '';
      return el('ul', {}, things.map(([thing, manner]) => el('li', { class: fresh.has(thing) ? 'fresh' : '' }, P.things[thing].s === 'actor' ? badge(thing, 15) : '', thingButton(thing), manner ? el('span', { class: 'soft' }, ` · ${manner}`) : '', inner(thing, deep + 1))));
    }
  },
});
function push(map, name, value) { if (!map.has(name)) map.set(name, []); map.get(name).push(value); }
function riding(hangs, on) {
  for (let guard = 0; on >= 0 && guard < 64; guard++) { if (P.things[on].s === 'actor') return true; if (P.things[on].s === 'location') return false; on = up(hangs, on); }
  return false;
}
const order = (thing) => (P.things[thing].s === 'actor' ? thing : 100000 + thing);

// Paths between neighbours run straight; others in the gutters between the places.
function ways(box) {
  const { cards, back, grid } = box.pl;
  if (!grid.offsetWidth) return;
  back.setAttribute('width', grid.offsetWidth);
  back.setAttribute('height', grid.offsetHeight);
  const cell = new Map(P.places.cells.map(([place, column, row]) => [place, [column, row]]));
  const made = [];
  const used = new Map();
  for (const [a, b, length] of P.places.ways) {
    if (!cards.has(a) || !cards.has(b)) continue;
    const [p, q] = [cards.get(a), cards.get(b)];
    const [[c1, r1], [c2, r2]] = [cell.get(a), cell.get(b)];
    let d, x, y;
    if (r1 === r2 && Math.abs(c1 - c2) === 1) {
      const [left, right] = c1 < c2 ? [p, q] : [q, p];
      y = left.offsetTop + 14;
      d = `M${left.offsetLeft + left.offsetWidth} ${y}H${right.offsetLeft}`;
      x = (left.offsetLeft + left.offsetWidth + right.offsetLeft) / 2; y -= 4;
    } else if (c1 === c2 && Math.abs(r1 - r2) === 1) {
      const [high, low] = r1 < r2 ? [p, q] : [q, p];
      x = high.offsetLeft + 30;
      d = `M${x} ${high.offsetTop + high.offsetHeight}V${low.offsetTop}`;
      y = low.offsetTop - 8; x += 16;
    } else {
      const lane = used.get(r1) || 0;
      used.set(r1, lane + 1);
      const down = r2 >= r1;
      const x1 = p.offsetLeft + 50 + lane * 8, x2 = q.offsetLeft + 50 + lane * 8;
      const leave = down ? p.offsetTop + p.offsetHeight + 7 + lane * 3 : p.offsetTop - 7 - lane * 3;
      const side = Math.max(p.offsetLeft, q.offsetLeft) - 8 - lane * 3;
      const arrive = r1 === r2 ? leave : down ? q.offsetTop - 7 - lane * 3 : q.offsetTop + q.offsetHeight + 7 + lane * 3;
      d = `M${x1} ${down ? p.offsetTop + p.offsetHeight : p.offsetTop}V${leave}H${r1 === r2 ? x2 : side}V${arrive}H${x2}V${r1 === r2 ? (down ? q.offsetTop + q.offsetHeight : q.offsetTop) : down ? q.offsetTop : q.offsetTop + q.offsetHeight}`;
      x = x1 + 14; y = leave + 10;
    }
    made.push(draw('path', { class: 'way', d }), draw('text', { class: 'fine', x, y, 'text-anchor': 'middle' }, length));
  }
  back.replaceChildren(...made);
}
