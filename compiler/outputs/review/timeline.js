// The crew's lines: a stretch of line for every step, its tag hanging from it by a string, waits hatched.
const TL = { scale: 0, levels: 4, name: 108 };
const LANE = { band: 15, line: 24, bar: 11, tag: 17, gap: 12 };
view({
  name: 'timeline', title: 'Timeline',
  render(box) {
    const x = here();
    if (x.not) { box.append(el('p', { class: 'loud' }, x.not)); return; }
    if (S.printing) { printed(box, x); return; }
    const zoom = (factor) => { TL.scale = clamp(TL.scale * factor, 0.002, 2); show(box); };
    box.append(el('div', { class: 'bar' },
      el('button', { type: 'button', class: 'small', on: { click: () => zoom(1 / 1.5) }, 'aria-label': 'Narrower' }, '−'),
      el('button', { type: 'button', class: 'small', on: { click: () => zoom(1.5) }, 'aria-label': 'Wider' }, '+'),
      el('button', { type: 'button', class: 'small', on: { click: () => { TL.scale = 0; show(box, true); } } }, 'Whole'),
      el('p', { class: 'key' }, keyTo(x))), el('div', { class: 'tl-room' }), el('p', { class: 'told' }, [...x.clock.told, ...x.courses.told].join(' ')));
    if (!TL.scale) TL.scale = Math.max(fit(box, x), 7 / 60);
    show(box);
  },
  update(box) { if (box.tl) box.tl.update(); },
});

function keyTo(x) {
  const sign = (cls, words) => el('span', {}, el('i', { class: `sign ${cls}` }), words);
  return [sign('k-step', 'step'), sign('k-added', 'inserted'), sign('k-wait', 'waits'), sign('k-crit', 'critical chain'),
    x.steps.some((step) => step.tr) ? sign('k-spread', 'may take so long') : '', sign('k-call', 'call'), sign('k-joint', 'together')];
}
function fit(box, x) { return Math.max(0.01, ((box.clientWidth || 1000) - TL.name - 40) / x.length); }

function show(box, whole) {
  const x = here();
  if (whole) TL.scale = fit(box, x);
  const old = box.tl && box.tl.x === x.at ? box.tl : null;
  const middle = old ? (old.scroller.scrollLeft + old.scroller.clientWidth / 2) / old.scale : S.t;
  const room = box.querySelector('.tl-room');
  room.replaceChildren();
  box.tl = strip(x, TL.scale, 0, x.length, room, box);
  box.tl.x = x.at;
  box.tl.scroller.scrollLeft = Math.max(0, middle * TL.scale - box.tl.scroller.clientWidth / 2);
  box.tl.fill();
  box.tl.update();
}

// Pages of a printed timeline: so many hours one below another.
function printed(box, x) {
  const wide = 860, per = Math.min(x.length, 2.5 * 3600);
  for (let from = 0; from < x.length; from += per) {
    const room = el('div', { class: 'tl-room tl-printed' });
    box.append(room);
    strip(x, wide / per, from, Math.min(x.length, from + per), room).fill();
  }
  box.append(el('p', { class: 'told' }, [...x.clock.told, ...x.courses.told].join(' ')));
}

// Where each tag hangs: the first level that is free from its step on.
function hang(x, own, scale) {
  const right = new Array(TL.levels).fill(-1);
  const found = new Map();
  own.forEach((i, at) => {
    const step = x.steps[i];
    if (step.idle) return;
    const left = step.s * scale;
    const wide = clamp(6 * word(step.x).length + 13, 40, step.n ? 96 : 158);
    const level = right.findIndex((edge) => edge <= left);
    if (level < 0 || (step.n && level > 0)) return;
    right[level] = left + wide + 3;
    found.set(i, [level, wide]);
  });
  return found;
}

function strip(x, scale, from, to, room, box) {
  const actors = [...x.own.keys()].filter((actor) => x.own.get(actor).length);
  const wide = (to - from) * scale + 60;
  const top = 30;
  let low = top;
  const lanes = actors.map((actor) => {
    const own = x.own.get(actor), tags = hang(x, own, scale);
    const levels = 1 + Math.max(1, ...[...tags.values()].map(([level]) => level));
    const lane = { actor, y: low, own, tags, high: LANE.line + LANE.bar + levels * LANE.tag + LANE.gap };
    low += lane.high;
    return lane;
  });
  const y = new Map(lanes.map((lane) => [lane.actor, lane.y + LANE.line]));
  const courses = courseRows(x, low + 6);
  const height = courses.bottom + 8;
  const px = (t) => (t - from) * scale;
  const back = draw('svg', { class: 'tl-back', width: wide, height, 'aria-hidden': 'true', focusable: 'false' });
  const layer = el('div', { class: 'tl-steps' });
  const now = el('i', { class: 'now', css: { height: `${height}px` } });
  const heads = el('div', { class: 'tl-heads', css: { height: `${height}px` } }, lanes.map((lane) => {
    const thing = P.things[lane.actor];
    return el('div', { class: 'tl-name', css: { top: `${lane.y}px`, height: `${lane.high}px` } }, badge(lane.actor, 22), el('b', {}, thing.t));
  }), courses.rows.map((row) => el('div', { class: 'tl-course', css: { top: `${row.y}px` } }, row.who >= 0 ? badge(row.who, 14) : '', row.name)));
  const canvas = el('div', { class: 'tl-canvas', css: { width: `${wide}px`, height: `${height}px` } }, back, layer, now);
  const scroller = el('div', { class: 'tl-scroll', tabindex: '0', role: 'group', 'aria-label': `Timeline of ${x.t}, scrolls sideways` }, heads, canvas);
  room.append(scroller);

  function fill(a, b) {
    const since = Math.max(from, from + a / scale - 600), until = Math.min(to, from + b / scale + 600);
    back.replaceChildren(...ground(since, until));
    const tags = document.createDocumentFragment();
    for (const lane of lanes) {
      const line = P.things[lane.actor].style;
      back.append(draw('line', { class: `lane line-${line[1]}`, x1: px(since), x2: px(until), y1: lane.y + LANE.line + 5.5, y2: lane.y + LANE.line + 5.5, 'stroke-dasharray': line[3] }));
      bands(x, lane).forEach((band) => {
        if (band.until < since || band.since > until) return;
        const left = px(Math.max(band.since, from)), width = px(Math.min(band.until, to)) - left;
        if (width < 14) return;
        tags.append(el('span', { class: 'tl-band', css: { left: `${left}px`, width: `${width}px`, top: `${lane.y + 2}px` }, title: band.words }, width > 26 ? band.words : ''));
      });
      for (const i of lane.own) {
        const step = x.steps[i];
        const delay = x.delays.get(`${lane.actor}/${i}`);
        if (delay && delay[3] > since && delay[2] < until) tags.append(waiting(delay, lane));
        if (step.e < since || step.s > until || step.idle) continue;
        tags.append(tag(x, step, i, lane));
      }
    }
    layer.replaceChildren(tags);
    ties(since, until);
    mark(layer);
  }
  function tag(x, step, i, lane) {
    const hung = lane.tags.get(i);
    const left = px(step.s), width = Math.max(3, (step.e - step.s) * scale - 1);
    const style = P.things[lane.actor].style;
    const made = el('button', { type: 'button', class: `tl-step${step.n ? ' added' : ''}${step.c ? ' crit' : ''}`, data: { s: key(x.at, i), actor: lane.actor },
      css: { left: `${left}px`, top: `${lane.y + LANE.line}px`, width: `${width}px` }, title: `${stepWords(step)}${step.l ? `, may start until ${clock(step.l)}` : ''}`, 'aria-label': hung ? null : stepWords(step) });
    made.append(el('i', { class: `tl-bar pat-${style[1]}` }));
    if (step.tr && step.tr[1] > step.d) made.append(el('i', { class: 'tl-spread', css: { left: `${width}px`, width: `${(step.tr[1] - step.d) * scale}px` } }));
    if (hung) made.append(el('i', { class: 'tl-string', css: { height: `${hung[0] * LANE.tag + 4}px` } }),
      el('span', { class: 'tl-tag', css: { top: `${LANE.bar + hung[0] * LANE.tag + 2}px`, 'max-width': `${hung[1]}px` } }, word(step.x)));
    return made;
  }
  function waiting(delay, lane) {
    const [, , since, until, why] = delay;
    return el('i', { class: 'tl-wait', css: { left: `${px(Math.max(since, from))}px`, width: `${(until - Math.max(since, from)) * scale}px`, top: `${lane.y + LANE.line + 1}px` },
      title: `${P.things[lane.actor].t} ${word(why)}` }, (until - since) * scale > 60 ? el('span', {}, word(why)) : '');
  }
  // Who does a step together, hand-overs, and calls that are waited for.
  function ties(since, until) {
    const sorts = new Map((x.nodes || []).map(([index, sort]) => [index, sort]));
    x.steps.forEach((step, i) => {
      if (step.e < since || step.s > until) return;
      const at = step.w.map((actor) => y.get(actor)).filter((one) => one !== undefined);
      if (at.length > 1 && !step.idle) {
        const over = sorts.get(i) === 'handover';
        const mid = px(step.s) + 1.5;
        back.append(draw('path', { class: `tie${over ? ' over' : ''}`, d: `M${mid} ${Math.min(...at) + 5}V${Math.max(...at) + 6}` }));
        for (const one of at) back.append(draw('circle', { class: 'knot', cx: mid, cy: one + 5.5, r: over ? 4 : 2.6 }));
      }
      for (const [, , cause] of step.wt || []) {
        const said = x.steps[cause];
        if (!said || said.w.some((one) => step.w.includes(one))) continue;
        const y1 = y.get(said.w[0]) + 6, x1 = px(said.e), x2 = px(step.s);
        for (const actor of step.w.slice(0, 1)) {
          const y2 = y.get(actor) + 6, bend = Math.max(10, Math.min(40, (x2 - x1) / 2));
          back.append(draw('path', { class: 'call', data: { a: cause, b: i }, d: `M${x1} ${y1}C${x1 + bend} ${y1} ${x2 - bend} ${y2} ${x2} ${y2}` }));
        }
      }
    });
  }
  function ground(since, until) {
    const made = [];
    for (const [a, b] of x.clock.dark) {
      if (b < since || a > until) continue;
      made.push(draw('rect', { class: 'dusk', x: px(a), y: 0, width: (b - a) * scale, height }), draw('text', { class: 'fine', x: Math.max(px(a), 0) + 4, y: 25 }, 'dark'));
    }
    const every = [60, 300, 600, 900, 1800, 3600, 7200, 14400, 43200].find((one) => one * scale >= 56) || 86400;
    for (let t = Math.ceil(since / every) * every; t <= until; t += every) {
      made.push(draw('line', { class: 'hair', x1: px(t), x2: px(t), y1: 14, y2: height }), draw('text', { class: 'hour', x: px(t) + 3, y: 11 }, clock(t)));
    }
    const upright = (t, cls, words) => { if (t !== null && t >= from && t <= to + 40 / scale) made.push(draw('line', { class: cls, x1: px(t), x2: px(t), y1: 0, y2: height }), draw('text', { class: 'fine', x: px(t) + 3, y: 25 }, words)); };
    upright(x.clock.zero > 0 ? x.clock.zero : null, 'zero', 'clock starts');
    upright(x.clock.stop < x.clock.end ? x.clock.stop : null, 'zero', 'clock stops');
    upright(x.clock.reserve, 'reserve', 'reserve'); upright(x.clock.limit, 'limit', 'limit');
    for (const row of courses.rows) made.push(...row.draw(px, since, until));
    return made;
  }
  const update = () => {
    now.style.setProperty('left', `${px(S.t)}px`);
    now.hidden = S.t < from || S.t > to;
    const step = chosen();
    if (step && box) {
      const left = px(step.s), edge = scroller.scrollLeft, size = scroller.clientWidth - TL.name;
      if (left < edge + 10 || left > edge + size - 120) scroller.scrollLeft = Math.max(0, left - size / 3);
    }
    mark(layer);
    for (const call of back.querySelectorAll('.call')) call.classList.toggle('is-sel', Number(call.dataset.a) === S.step || Number(call.dataset.b) === S.step);
  };
  const again = S.printing ? () => fill(-Infinity, Infinity) : windowed(scroller, 'x', layer, fill);
  return { scroller, scale, fill: again, update };
}

// Stretches in which somebody is in one place, by the headings.
function bands(x, lane) {
  if (lane.bands) return lane.bands;
  const found = [];
  for (const i of lane.own) {
    const step = x.steps[i];
    const name = `${step.b[0]}/${step.b[1]}`;
    const last = found[found.length - 1];
    if (step.idle && !(step.e > step.s)) continue;
    if (last && last.name === name) last.until = Math.max(last.until, step.e);
    else found.push({ name, since: step.s, until: step.e, words: step.b.filter((one) => one >= 0).map((one) => P.things[one].t).join(' · ') || 'where they are' });
  }
  lane.bands = found;
  return found;
}

// Supplies and the margin of the way home, each as a small course under the lanes.
function courseRows(x, top) {
  const rows = [];
  let y = top;
  const high = 34;
  const row = (name, whom, drawn) => { rows.push({ name, who: whom, y, draw: drawn(y) }); y += high; };
  for (const one of x.courses.home) {
    const most = Math.max(1, ...one.rows.map((r) => Math.max(r[2], r[3])));
    row('way home: to spare', one.w, (at) => (px) => {
      const level = (seconds) => (at + 28 - (24 * clamp(seconds, 0, most)) / most).toFixed(1);
      const d = one.rows.map(([a, b, m, n]) => `M${px(a).toFixed(1)} ${level(m)}L${px(b).toFixed(1)} ${level(n)}`).join('');
      const least = one.rows.reduce((best, r) => (Math.min(r[2], r[3]) < Math.min(best[2], best[3]) ? r : best), one.rows[0]);
      const t = least[2] <= least[3] ? least[0] : least[1];
      return [draw('line', { class: 'zero-line', x1: px(one.rows[0][0]), x2: px(one.rows[one.rows.length - 1][1]), y1: at + 28, y2: at + 28 }), draw('path', { class: 'course', d }),
        draw('circle', { class: 'knot', cx: px(t), cy: level(Math.min(least[2], least[3])), r: 3 }), draw('text', { class: 'fine', x: px(t) + 6, y: at + 24 }, `least ${minutes(Math.min(least[2], least[3]))}`)];
    });
  }
  for (const one of S.printing ? [] : x.courses.supplies) {
    row(one.name, one.w, (at) => (px) => {
      const level = (share) => (at + 28 - 24 * clamp(share, 0, 1)).toFixed(1);
      const points = one.bends.map(([t, share]) => `${px(t).toFixed(1)} ${level(share)}`);
      const made = [draw('path', { class: 'course-fill', d: `M${px(one.bends[0][0])} ${at + 28}L${points.join('L')}L${px(one.bends[one.bends.length - 1][0])} ${at + 28}Z` }), draw('path', { class: 'course', d: `M${points.join('L')}` })];
      if (one.reserve !== null) made.push(draw('line', { class: 'reserve', x1: px(one.bends[0][0]), x2: px(one.bends[one.bends.length - 1][0]), y1: level(one.reserve), y2: level(one.reserve) }));
      return made;
    });
  }
  return { rows, bottom: y };
}
