// Finding steps, things, calls, tasks and places by their words.
let found = null;
function everything() {
  if (found) return found;
  found = [];
  const add = (sort, words, about, change, rank) => found.push({ sort, words, about, change, rank, low: `${words} ${about}`.toLowerCase() });
  P.excursions.forEach((_, at) => {
    const x = excursion(at);
    x.tasks.forEach((task, k) => { const first = x.steps.findIndex((step) => step.k === k && step.wr); if (first >= 0) add('task', task.t, `${task.n} · ${x.t}`, { x: at, step: first }, 1); });
    x.steps.forEach((step, i) => {
      if (step.say) add('call', word(step.say[0]), `${word(step.say[2])} · ${word(step.say[1])} · ${clock(step.s)}`, { x: at, step: i }, 2);
      if (!step.idle) add('step', word(step.x), `${who(step)} · ${clock(step.s)} · ${step.a ? `${P.files[step.a[0]].path}:${step.a[1]}` : ''} · ${x.n}`, { x: at, step: i }, step.n ? 5 : 4);
    });
  });
  P.things.forEach((thing, at) => add(thing.s === 'location' ? 'place' : thing.s === 'actor' ? 'actor' : 'thing', thing.t, `${thing.n} · ${thing.k}`, { thing: at }, 3));
  P.findings.forEach((one, at) => add('finding', one.msg, one.rule, { finding: at, tab: 'findings' }, 0));
  return found;
}
function matches(text) {
  const parts = text.toLowerCase().split(/\s+/).filter(Boolean);
  if (!parts.length) return [];
  const hits = [];
  for (const one of everything()) {
    if (!parts.every((part) => one.low.includes(part))) continue;
    const words = one.words.toLowerCase();
    hits.push([words.startsWith(parts[0]) ? 0 : words.includes(parts[0]) ? 1 : 2, one.rank, hits.length, one]);
  }
  return hits.sort((a, b) => a[0] - b[0] || a[1] - b[1] || a[2] - b[2]).map((hit) => hit[3]);
}
function openSearch() {
  const dialog = byId('find');
  const input = byId('find-what');
  dialog.showModal();
  input.select();
  suggest();
}
const SHOWN = 40;
let pick = 0;
function suggest() {
  const input = byId('find-what');
  const all = matches(input.value);
  pick = clamp(pick, 0, Math.max(0, Math.min(all.length, SHOWN) - 1));
  const list = byId('find-list');
  list.replaceChildren(...all.slice(0, SHOWN).map((one, at) => el('li', { role: 'option', id: `hit-${at}`, 'aria-selected': String(at === pick), on: { click: () => take(one), mousemove: () => { if (pick !== at) { pick = at; show_(); } } } },
    el('span', { class: 'sort' }, one.sort), el('b', {}, one.words), el('span', { class: 'soft' }, ` ${one.about}`))));
  byId('find-count').textContent = input.value.trim() ? (all.length > SHOWN ? `${all.length} found, the first ${SHOWN} shown` : `${all.length} found`) : 'Words of a step, a thing, a call, a task; several words narrow it down.';
  input.setAttribute('aria-expanded', String(all.length > 0));
  show_();
}
function show_() {
  const rows = [...byId('find-list').children];
  rows.forEach((row, at) => row.setAttribute('aria-selected', String(at === pick)));
  if (rows[pick]) { byId('find-what').setAttribute('aria-activedescendant', `hit-${pick}`); rows[pick].scrollIntoView({ block: 'nearest' }); } else byId('find-what').removeAttribute('aria-activedescendant');
}
function take(one) {
  byId('find').close();
  const change = { ...one.change };
  if (change.thing !== undefined && S.tab === 'overview') change.tab = 'custody';
  if (change.step !== undefined && ['overview', 'findings', 'forecast', 'end'].includes(S.tab)) change.tab = 'timeline';
  if (change.finding !== undefined) S.finding = change.finding;
  choose(change, { talk: true });
}
function makeSearch() {
  const input = el('input', { id: 'find-what', type: 'text', role: 'combobox', 'aria-expanded': 'false', 'aria-controls': 'find-list', 'aria-autocomplete': 'list', autocomplete: 'off', 'aria-label': 'Find in the plan', on: {
    input: () => { pick = 0; suggest(); },
    keydown: (event) => {
      const all = byId('find-list').children.length;
      if (event.key === 'ArrowDown' || event.key === 'ArrowUp') { pick = clamp(pick + (event.key === 'ArrowDown' ? 1 : -1), 0, Math.max(0, all - 1)); show_(); event.preventDefault(); }
      if (event.key === 'Enter') { const hit = matches(input.value)[pick]; if (hit) take(hit); event.preventDefault(); }
    } } });
  document.body.append(el('dialog', { id: 'find', 'aria-label': 'Find' }, el('div', { class: 'find-box' }, input, el('p', { id: 'find-count', class: 'note', role: 'status' }), el('ul', { id: 'find-list', role: 'listbox', 'aria-label': 'Found' }))));
  byId('find').addEventListener('click', (event) => { if (event.target.id === 'find') event.target.close(); });
}
