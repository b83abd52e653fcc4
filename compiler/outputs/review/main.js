// Tabs, the clock, keys, light and dark, the address, print.
const panel = byId('view');
const drawn = new Map();
const KEYS = '1234567890';

function panelOf(one) {
  if (!drawn.has(one.name)) drawn.set(one.name, { box: el('div', { class: `panel p-${one.name}` }), x: -1 });
  one.box = drawn.get(one.name).box;
  return drawn.get(one.name);
}
for (const one of VIEWS) panelOf(one);
function showView(anew) {
  const one = VIEWS.find((v) => v.name === S.tab) || VIEWS[0];
  const mine = panelOf(one);
  const stale = anew || mine.x < 0 || (!one.whole && mine.x !== S.x);
  if (panel.firstChild !== mine.box || panel.childNodes.length > 1) panel.replaceChildren(mine.box);
  if (stale) {
    mine.x = S.x;
    mine.box.replaceChildren();
    mine.box.tl = mine.box.or = mine.box.pl = mine.box.file = undefined;
    one.render(mine.box);
  }
  one.update(mine.box);
  mark(mine.box);
  panel.setAttribute('aria-labelledby', `tab-${one.name}`);
  for (const tab of byId('tabs').children) {
    const on = tab.id === `tab-${one.name}`;
    tab.setAttribute('aria-selected', String(on));
    tab.tabIndex = on ? 0 : -1;
    if (on && tab.scrollIntoView && tab.parentNode.scrollWidth > tab.parentNode.clientWidth) tab.parentNode.scrollLeft = tab.offsetLeft - 60;
  }
}
let addressed = '';
watchers.push((before, how) => {
  if (before.tab !== S.tab) panel.scrollTop = 0;
  if (before.step !== S.step && how.line === undefined) S.line = null;
  showClock();
  showView(false);
  if (before.step !== S.step || before.thing !== S.thing || before.x !== S.x || how.first || (S.thing >= 0 && before.t !== S.t)) showDetail();
  const step = chosen();
  if (how.talk && step) byId('say').textContent = stepWords(step);
  const hash = step ? `#${S.tab}/${step.id}` : S.thing >= 0 ? `#${S.tab}/thing/${P.things[S.thing].n}` : `#${S.tab}/${here().n || ''}`;
  if (addressed !== hash) try { addressed = hash; history.replaceState(null, '', encodeURI(hash)); } catch (blocked) { /* some readers allow no addresses */ }
});

function makeTabs() {
  const found = P.findings.length + (P.aside || []).filter((one) => one.how !== 'lowered').length;
  byId('tabs').append(...VIEWS.map((one, at) => el('button', { type: 'button', role: 'tab', id: `tab-${one.name}`, 'aria-controls': 'view', on: { click: () => choose({ tab: one.name }) } }, el('span', { class: 'tab-key', 'aria-hidden': 'true' }, KEYS[at] || ''), one.title,
    one.name === 'findings' && found ? el('b', { class: 'count' }, String(found)) : '')));
}
function makeClock() {
  const range = el('input', { type: 'range', id: 'clock', min: 0, step: 60, 'aria-label': 'Clock', on: { input: () => choose({ t: Number(range.value) }) } });
  const jump = (by) => () => {
    const cuts = here().phases ? here().phases.map((phase) => phase[0]) : [];
    const next = by > 0 ? cuts.find((cut) => cut > S.t) : [...cuts].reverse().find((cut) => cut < S.t);
    choose({ t: next === undefined ? (by > 0 ? here().length : 0) : next });
  };
  byId('traveller').append(
    el('div', { class: 'excursions', role: 'group', 'aria-label': P.said[0] }, P.excursions.map((x, at) => el('button', { type: 'button', data: { x: at }, title: x.t, on: { click: () => choose({ x: at }) } }, el('span', { class: 'no' }, String(at + 1)), el('span', { class: 'ex-title' }, x.t)))),
    el('div', { class: 'slide' }, el('button', { type: 'button', class: 'small', id: 'phase-back', 'aria-label': 'To the phase before', on: { click: jump(-1) } }, '‹'),
      el('div', { class: 'slide-line' }, el('div', { class: 'ticks', 'aria-hidden': 'true' }), range), el('button', { type: 'button', class: 'small', id: 'phase-on', 'aria-label': 'To the next phase', on: { click: jump(1) } }, '›'),
      el('output', { for: 'clock', id: 'clock-now' })));
}
let clockOf = -1;
function showClock() {
  const x = here(), range = byId('clock');
  if (clockOf !== S.x) {
    clockOf = S.x;
    range.max = Math.ceil(x.length / 60) * 60;
    range.disabled = Boolean(x.not);
    const part = (t) => `${((100 * t) / Number(range.max)).toFixed(2)}%`;
    document.querySelector('.ticks').replaceChildren(...(x.clock ? x.clock.dark : []).map(([a, b]) => el('i', { class: 'dusk', css: { left: part(a), width: part(b - a) } })), ...(x.phases || []).map(([since]) => el('i', { class: 'tick-mark', css: { left: part(since) } })));
    for (const one of document.querySelectorAll('.excursions button')) one.setAttribute('aria-pressed', String(Number(one.dataset.x) === S.x));
  }
  range.value = S.t;
  range.setAttribute('aria-valuetext', `${clock(S.t)} of ${clock(x.length)}`);
  byId('clock-now').textContent = clock(S.t);
}

// --- keys ---
const HELP = [['1 – 0', 'the views'], ['← →', 'the actor’s step before, the next'], ['↑ ↓', 'the same time, another actor (while a step is chosen)'], ['/', 'find'], [', .', 'the phase before, the next'], ['[ ]', 'the excursion before, the next'], ['c', 'critical chain: its next step'], ['d', 'light or dark'], ['p', 'print this view'], ['Esc', 'let go of the choice'], ['?', 'this help']];
let keysOn = keep('keys') !== 'off';
function along(by) {
  const x = here();
  let actor = S.actor >= 0 && x.own.has(S.actor) ? S.actor : [...x.own.keys()].find((one) => x.own.get(one).length);
  if (actor === undefined) return;
  const own = x.own.get(actor).filter((i) => !x.steps[i].idle);
  if (!own.length) return;
  const at = own.indexOf(S.step);
  let next = at + by;
  if (at < 0) { next = own.findIndex((i) => x.steps[i].s >= S.t); if (next < 0) next = own.length - 1; }
  choose({ step: own[clamp(next, 0, own.length - 1)], actor }, { talk: true });
}
function across(by) {
  const x = here(), step = chosen();
  if (!step) return false;
  const lanes = [...x.own.keys()].filter((one) => x.own.get(one).some((i) => !x.steps[i].idle));
  const actor = lanes[clamp(lanes.indexOf(S.actor >= 0 ? S.actor : step.w[0]) + by, 0, lanes.length - 1)];
  const own = x.own.get(actor).filter((i) => !x.steps[i].idle);
  const running = own.filter((i) => x.steps[i].s <= step.s);
  choose({ step: running.length ? running[running.length - 1] : own[0], actor }, { talk: true });
  return true;
}
function chainOn() {
  const x = here();
  const links = x.steps.map((step, i) => [step, i]).filter(([step]) => step.c && !step.idle).sort((a, b) => a[0].s - b[0].s || a[1] - b[1]);
  if (!links.length) return;
  const at = links.findIndex(([, i]) => i === S.step);
  choose({ step: links[(at + 1) % links.length][1] }, { talk: true });
}
function onKey(event) {
  if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
  const target = event.target, name = event.key;
  if (document.querySelector('dialog[open]')) return;
  if (name === 'Escape') { if (S.step >= 0 || S.thing >= 0) choose({ step: -1, thing: -1 }); return; }
  const typing = target.matches && target.matches('input[type=text], textarea, select');
  const sliding = target.matches && target.matches('input[type=range]');
  if (typing || !keysOn) return;
  const inTabs = target.getAttribute && target.getAttribute('role') === 'tab';
  if (inTabs && ['ArrowLeft', 'ArrowRight', 'Home', 'End'].includes(name)) {
    const all = [...byId('tabs').children], at = all.indexOf(target);
    const to = all[name === 'Home' ? 0 : name === 'End' ? all.length - 1 : (at + (name === 'ArrowRight' ? 1 : -1) + all.length) % all.length];
    to.focus(); to.click(); event.preventDefault(); return;
  }
  if (name.startsWith('Arrow')) {
    if (sliding) return;
    if (name === 'ArrowLeft' || name === 'ArrowRight') along(name === 'ArrowRight' ? 1 : -1);
    else if (!across(name === 'ArrowDown' ? 1 : -1)) return;
    event.preventDefault();
    return;
  }
  const acts = { '/': openSearch, '?': openHelp, d: flipTheme, p: () => window.print(), c: chainOn, ',': () => byId('phase-back').click(), '.': () => byId('phase-on').click(),
    '[': () => choose({ x: Math.max(0, S.x - 1) }), ']': () => choose({ x: Math.min(P.excursions.length - 1, S.x + 1) }) };
  if (acts[name]) { acts[name](); event.preventDefault(); } else if (KEYS.includes(name) && VIEWS[KEYS.indexOf(name)]) { choose({ tab: VIEWS[KEYS.indexOf(name)].name }); event.preventDefault(); }
}
function openHelp() { byId('help').showModal(); }
function makeHelp() {
  document.body.append(el('dialog', { id: 'help', 'aria-labelledby': 'help-title' }, el('h2', { id: 'help-title' }, 'Keys'), el('dl', { class: 'keys' }, HELP.map(([keys, words]) => el('div', {}, el('dt', {}, keys.split(' ').map((one) => (one === '–' ? ' – ' : el('kbd', {}, one)))), el('dd', {}, words)))),
    el('label', { class: 'check' }, el('input', { type: 'checkbox', ...(keysOn ? { checked: true } : {}), on: { change: (event) => { keysOn = event.target.checked; keep('keys', keysOn ? 'on' : 'off'); } } }), 'single keys work'), el('button', { type: 'button', class: 'small', on: { click: () => byId('help').close() } }, 'Close')));
  byId('help').addEventListener('click', (event) => { if (event.target.id === 'help') event.target.close(); });
}

// --- light and dark, print ---
const root = document.documentElement;
function isDark() { const set = root.dataset.theme; return set ? set === 'dark' : matchMedia('(prefers-color-scheme: dark)').matches; }
function flipTheme() { root.dataset.theme = isDark() ? 'light' : 'dark'; keep('theme', root.dataset.theme); showTheme(); }
function showTheme() {
  const word = isDark() ? 'Light' : 'Dark';
  byId('theme').replaceChildren(draw('svg', { viewBox: '0 0 16 16', width: 14, height: 14, 'aria-hidden': 'true' }, draw('circle', { cx: 8, cy: 8, r: 6.5, class: 'moon' }), draw('path', { d: 'M8 1.5a6.5 6.5 0 0 1 0 13Z', class: 'moon-half' })), el('span', { class: 'long' }, word));
  byId('theme').setAttribute('aria-label', `${word} colours`);
}
function makeTools() {
  byId('tools').append(el('button', { type: 'button', class: 'small', on: { click: openSearch } }, 'Find ', el('kbd', {}, '/')), el('button', { type: 'button', class: 'small', id: 'theme', on: { click: flipTheme } }), el('button', { type: 'button', class: 'small', 'aria-label': 'Keys and help', on: { click: openHelp } }, '?'));
  document.body.append(el('a', { class: 'peek', href: '#detail', on: { click: (event) => { event.preventDefault(); byId('detail').scrollIntoView(); byId('detail').focus({ preventScroll: true }); } } }));
}
watchers.push(() => {
  const step = chosen(), peek = document.querySelector('.peek');
  peek.replaceChildren(...(step ? [...step.w.map((one) => badge(one, 16)), ` ${clock(step.s)} `, el('b', {}, word(step.x)), ' ↓'] : S.thing >= 0 ? [el('b', {}, P.things[S.thing].t), ' ↓'] : []));
});
window.addEventListener('beforeprint', () => { S.printing = true; document.querySelector('.safety details').open = true; showView(true); });
window.addEventListener('afterprint', () => { S.printing = false; document.querySelector('.safety details').open = false; showView(true); });

// --- choosing by pointer, anywhere ---
document.addEventListener('click', (event) => {
  const hit = event.target.closest && event.target.closest('[data-s], [data-thing], [data-src], [data-finding]');
  if (!hit) return;
  const data = hit.dataset;
  if (data.s) choose({ ...parse(data.s), ...(data.actor ? { actor: Number(data.actor) } : {}) }, { talk: true });
  else if (data.src) { const [file, line] = data.src.split(':').map(Number); S.line = [file, line]; choose({ tab: 'source' }, { line: true }); }
  else if (data.finding) { S.finding = Number(data.finding); choose({ tab: 'findings' }); } else choose({ thing: Number(data.thing) });
});
document.addEventListener('keydown', onKey);

function fromAddress() {
  let words = '';
  try { words = decodeURI(location.hash.slice(1)); } catch (broken) { return {}; }
  const [tab, ...rest] = words.split('/');
  const change = {};
  if (VIEWS.some((one) => one.name === tab)) change.tab = tab;
  if (rest[0] === 'thing') { const at = P.things.findIndex((thing) => thing.n === rest[1]); if (at >= 0) change.thing = at; } else if (rest.length === 3) {
    const x = P.excursions.findIndex((one) => one.n === rest[0]);
    const step = x >= 0 ? (P.excursions[x].steps || []).findIndex((one) => one.id === rest.join('/')) : -1;
    if (step >= 0) Object.assign(change, { x, step });
  } else if (rest[0]) { const x = P.excursions.findIndex((one) => one.n === rest[0]); if (x >= 0) change.x = x; }
  return change;
}
window.addEventListener('hashchange', () => choose(fromAddress()));

const theme = keep('theme');
if (theme === 'dark' || theme === 'light') root.dataset.theme = theme;
if (P.excursions.length) {
  panel.replaceChildren();
  makeTabs(); makeTools(); makeClock(); makeSearch(); makeHelp(); showTheme();
  choose(fromAddress(), { first: true });
}
