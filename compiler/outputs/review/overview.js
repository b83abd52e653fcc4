// The campaign on one page: its excursions one below another, every task as a tag on its stretch of line.
view({
  name: 'overview', title: 'Overview', whole: true,
  render(box) {
    const most = Math.max(...P.excursions.map((x) => (x.clock ? Math.max(x.clock.end, x.clock.limit || 0) : 1)));
    box.append(el('div', { class: 'facts' },
      fact(P.excursions.length, P.said[P.excursions.length === 1 ? 0 : 1]),
      fact(P.excursions.reduce((sum, x) => sum + (x.steps || []).filter((step) => step.wr).length, 0), 'written steps'),
      fact(P.excursions.reduce((sum, x) => sum + (x.steps || []).filter((step) => step.n).length, 0), 'inserted'),
      fact(P.findings.length, P.findings.length === 1 ? 'finding' : 'findings'),
      P.aside ? fact(P.aside.length, 'found and set aside') : ''));
    if (P.figures) box.append(el('p', { class: 'about' }, P.figures));
    if (P.findings.length) box.append(el('div', { class: 'overview-findings' }, P.findings.slice(0, 4).map((one, at) => findingLine(one, at))));
    P.excursions.forEach((_, at) => box.append(sheet(excursion(at), most)));
    function fact(number, words) { return el('p', { class: 'fact' }, el('b', {}, String(number)), ' ', words); }
  },
  update(box) {
    const step = chosen();
    for (const bar of box.querySelectorAll('.ov-row')) bar.classList.toggle('is-sel', Boolean(step) && bar.dataset.task === `${S.x}/${step.k}`);
    for (const line of box.querySelectorAll('.ov-now')) {
      const mine = Number(line.dataset.x) === S.x;
      line.hidden = !mine;
      if (mine) line.style.setProperty('left', `${(100 * S.t) / Number(line.dataset.most)}%`);
    }
  },
});

function findingLine(one, at) {
  return el('button', { type: 'button', class: `f-line sev-${one.sev}`, data: { finding: at } },
    el('b', {}, SEVERITY[one.sev]), ' ', one.msg);
}
const SEVERITY = { error: 'Does not hold', undecided: 'Not decided', warning: 'Look again', note: 'Note' };

function sheet(x, most) {
  const made = el('section', { class: 'ov' },
    el('h2', { class: 'post' }, el('span', { class: 'no' }, String(x.at + 1)), x.t), el('p', { class: 'about' }, x.about, ' ', sourceButton(x.a)));
  if (x.not) { made.append(el('p', { class: 'loud' }, x.not)); return made; }
  const percent = (t) => `${((100 * t) / most).toFixed(3)}%`;
  const ends = tasks(x);
  const marks = [];
  for (const [a, b] of x.clock.dark) marks.push(el('i', { class: 'dusk', css: { left: percent(a), width: percent(b - a) }, title: `dark ${clock(a)}–${clock(b)}` }));
  for (const t of hours(most, 9)) marks.push(el('i', { class: 'hair', css: { left: percent(t) } }));
  if (x.clock.reserve !== null) marks.push(el('i', { class: 'reserve', css: { left: percent(x.clock.reserve) }, title: 'the reserve begins' }));
  if (x.clock.limit !== null) marks.push(el('i', { class: 'limit', css: { left: percent(x.clock.limit) }, title: 'the limit' }));
  const rows = ends.map((task) => el('div', { class: `ov-row rank-${task.rank}`, data: { task: `${x.at}/${task.k}` } },
    el('button', { type: 'button', class: 'ov-name', data: { s: key(x.at, task.first) } }, task.t,
      task.rank === 'required' ? '' : el('em', {}, ` · ${task.rank}`)),
    el('div', { class: 'ov-track' },
      el('button', { type: 'button', class: 'ov-bar', tabindex: '-1', data: { s: key(x.at, task.first) }, css: { left: percent(task.since), width: percent(task.until - task.since) },
        'aria-label': `${task.t}, ${clock(task.since)} to ${clock(task.until)}`, title: `${task.t}, ${clock(task.since)}–${clock(task.until)}` }),
      el('span', { class: 'ov-who', css: { left: percent(task.until) } }, task.actors.map((one) => badge(one, 14))))));
  made.append(
    el('div', { class: 'ov-body' },
      el('div', { class: 'ov-marks', 'aria-hidden': 'true' }, marks, el('i', { class: 'ov-now now', data: { x: x.at, most }, hidden: true })),
      el('div', { class: 'ov-hours', 'aria-hidden': 'true' }, hours(most, 9).map((t) => el('span', { css: { left: percent(t) } }, clock(t)))), rows),
    el('p', { class: 'told' }, x.clock.told.join(' ')));
  return made;
}

function tasks(x) {
  const found = x.tasks.map((task, k) => ({ ...task, k, since: Infinity, until: 0, first: -1, actors: [] }));
  x.steps.forEach((step, i) => {
    const task = found[step.k];
    if (!task || step.idle) return;
    if (task.first < 0 || (step.wr && !x.steps[task.first].wr)) task.first = i;
    task.since = Math.min(task.since, step.s); task.until = Math.max(task.until, step.e);
    for (const actor of step.w) if (!task.actors.includes(actor)) task.actors.push(actor);
  });
  for (const task of found) task.actors.sort((a, b) => [...x.own.keys()].indexOf(a) - [...x.own.keys()].indexOf(b));
  return found.filter((task) => task.first >= 0);
}
