// What is chosen: its line, what it needs and makes, who holds what then.
function showDetail() {
  const box = byId('detail');
  box.replaceChildren(...(S.step >= 0 ? stepDetail(here(), S.step) : S.thing >= 0 ? thingDetail(S.thing) : nothingChosen()));
  box.scrollTop = 0;
  mark(box);
  document.documentElement.classList.toggle('has-choice', S.step >= 0 || S.thing >= 0);
}
function closer() { return el('button', { type: 'button', class: 'close', 'aria-label': 'Let go of the choice', on: { click: () => choose({ step: -1, thing: -1 }) } }, '×'); }
function nothingChosen() {
  return [el('h2', { class: 'held-title' }, 'Nothing is chosen'), note('Choose a step or a thing in any view: here stands its line in the plan, what it needs and makes, its times, and who holds what then. Every view shows where it is.'),
    el('p', { class: 'note' }, el('kbd', {}, '/'), ' finds steps, things and calls. ', el('kbd', {}, '?'), ' tells the other keys.'), ...outline_()];
}
// While nothing is chosen: the open excursion's crew, and the chain that its end hangs on.
const MOST_CHAIN = 60;
function outline_() {
  const x = here();
  if (x.not) return [];
  const chain = x.steps.map((step, i) => [step, i]).filter(([step]) => step.c && !step.idle && step.e > step.s).sort((a, b) => a[0].s - b[0].s);
  return [el('section', { class: 'part' }, el('h3', {}, x.t), el('dl', { class: 'pairs holders' }, x.clock.ends.map(([actor, end]) => {
    const own = x.own.get(actor) || [];
    const busy = own.reduce((sum, i) => sum + (x.steps[i].d || 0), 0);
    return el('div', {}, el('dt', {}, badge(actor, 15), ` ${P.things[actor].t}`), el('dd', {}, `through at ${clock(end)}`, el('span', { class: 'soft' }, `, ${Math.round((100 * busy) / x.length)} % at work`)));
  }))), section(`Critical chain, ${many(chain.length, 'step')}`, el('div', { class: 'steps' }, chain.slice(0, MOST_CHAIN).map(([, i]) => stepButton(x, i))), chain.length > MOST_CHAIN ? note(`and ${chain.length - MOST_CHAIN} more`) : '')];
}
function pairs(rows) { return el('dl', { class: 'pairs' }, rows.filter(Boolean).map(([name, ...what]) => el('div', {}, el('dt', {}, name), el('dd', {}, what)))); }

function stepDetail(x, i) {
  const step = x.steps[i];
  const task = x.tasks[step.k];
  const to = (other) => stepButton(x, other);
  const call = ([said, by, index]) => el('p', {}, `${word(by)}: “${word(said)}” `, index >= 0 ? to(index) : '');
  const made = [closer(), el('p', { class: 'held-who' }, step.w.map((one) => [badge(one, 20), el('span', {}, ` ${P.things[one].t} `)])), el('h2', { class: 'held-title' }, word(step.x)),
    el('p', { class: 'held-tags' }, step.c ? el('b', { class: 'chip crit' }, 'critical chain') : '', step.n ? el('b', { class: 'chip' }, 'inserted') : '', task ? el('span', { class: 'chip' }, task.t, task.rank === 'required' ? '' : ` · ${task.rank}`) : '', el('code', { class: 'id' }, step.id)),
    pairs([['when', `${clock(step.s, step.o & 1)} to ${clock(step.e, step.o & 2)}`], ['takes', minutes(step.d), step.tr ? `, ${minutes(step.tr[0])} to ${minutes(step.tr[1])}` : ''],
      ['slack', step.l ? `${minutes(step.l - step.s)}: may start until ${clock(step.l)}` : 'none: nothing may start later'], step.y !== undefined ? ['inserted for', word(step.y)] : null,
      step.b.some((one) => one >= 0) ? ['where', step.b.filter((one) => one >= 0).map((one, at) => [at ? ', ' : '', thingButton(one)])] : null])];
  if (step.a) made.push(el('section', { class: 'part' }, el('h3', {}, 'In the plan ', sourceButton(step.a)), excerpt([...step.a, 0, 0], 1)));
  for (const [sort, text] of step.rm || []) made.push(el('p', { class: `remark ${sort}` }, el('b', {}, sort), ` ${word(text)}`));
  if (step.wt || step.bs) made.push(section('Waits for', (step.wt || []).map(call), (step.bs || []).map(call)));
  const stills = step.w.map((actor) => [actor, x.delays.get(`${actor}/${i}`)]).filter(([, delay]) => delay);
  if (stills.length) made.push(el('ul', { class: 'plain' }, stills.map(([actor, delay]) => el('li', {}, badge(actor, 15), ` ${P.things[actor].t} ${word(delay[4])}`))));
  if (step.say) made.push(section('Calls', el('p', {}, `${word(step.say[1])}: “${word(step.say[0])}” `, el('code', { class: 'id' }, word(step.say[2])))));
  const extra = [step.ex !== undefined ? ['expected', word(step.ex)] : null, ...(step.bd || []).map((bound) => ['bound', word(bound)]), ...(step.an || []).map(([outcome, card]) => [`if ${word(outcome)}`, card >= 0 ? `card ${word(card)}` : 'go on']), step.bc !== undefined ? ['because', word(step.bc)] : null].filter(Boolean);
  if (extra.length) made.push(pairs(extra));
  made.push(section('Needs', step.q ? el('ul', { class: 'asks' }, step.q.map((one) => el('li', {}, word(one)))) : '', step.r ? el('ul', { class: 'plain reads' }, step.r.map(([words, by]) => el('li', {}, word(words), by >= 0 ? to(by) : el('span', { class: 'soft' }, ' so from the start')))) : '', step.q || step.r ? '' : el('p', { class: 'empty' }, 'nothing'), step.rr ? note(`and ${step.rr} more`) : ''));
  made.push(section('Makes', step.m ? el('ul', { class: 'plain' }, step.m.map((one) => el('li', {}, word(one)))) : el('p', { class: 'empty' }, 'nothing changes')));
  made.push(el('section', { class: 'part' }, el('h3', {}, `Who holds what then, at ${clock(step.s)}`), hands(x, step)));
  const before = step.p || [], after = x.after[i];
  made.push(section('Comes after', before.length ? el('div', { class: 'steps' }, before.map(to)) : el('p', { class: 'empty' }, 'nothing')), section('Before', after.length ? el('div', { class: 'steps' }, after.map(to)) : el('p', { class: 'empty' }, 'nothing')));
  return made;
}
function hands(x, step) {
  const hangs = hangsAt(x, step.s), held = heldBy(hangs);
  const own = [...x.own.keys()].sort((a, b) => Number(step.w.includes(b)) - Number(step.w.includes(a)));
  return el('dl', { class: 'pairs holders' }, own.map((actor) => {
    const place = placeOf(hangs, actor), on = up(hangs, actor);
    const things = held.get(actor) || [];
    return el('div', {}, el('dt', {}, badge(actor, 15), ` ${P.things[actor].t}`), el('dd', {}, el('span', { class: 'soft' }, place >= 0 ? `at ${P.things[place].t}` : 'nowhere', on >= 0 && on !== place ? `, on ${P.things[on].t}` : '', ': '),
      things.length ? things.map(([thing, manner], at) => [at ? ', ' : '', thingButton(thing), manner ? el('span', { class: 'soft' }, ` ${manner}`) : '']) : 'nothing'));
  }));
}
function thingDetail(thing) {
  const one = P.things[thing];
  const x = here();
  const hangs = hangsAt(x, S.t);
  const made = [closer(), el('p', { class: 'held-who' }, one.style ? badge(thing, 20) : '', ` ${one.k}`), el('h2', { class: 'held-title' }, one.t), el('p', { class: 'held-tags' }, el('code', { class: 'id' }, one.n), ' ', sourceButton(one.a))];
  if (one.s !== 'location') made.push(pairs([[`at ${clock(S.t)}`, hangWords(hangs.get(thing)), placeOf(hangs, thing) >= 0 ? `, at ${P.things[placeOf(hangs, thing)].t}` : '']]));
  if (one.near) made.push(pairs([['within reach of', names(one.near)]]));
  const inside = (heldBy(hangs).get(thing) || []).map(([other]) => other);
  if (inside.length) made.push(section('In or on it', el('p', {}, inside.map((other, at) => [at ? ', ' : '', thingButton(other)]))));
  if (P.custody.chains[thing]) made.push(section('Its way', chain(thing)));
  P.excursions.forEach((_, at) => {
    const ex = excursion(at);
    const touched = ex.steps.map((step, i) => [step, i]).filter(([step]) => (step.g || []).some(([other]) => other === thing) || (one.s === 'location' && step.b.includes(thing) && step.wr)).slice(0, 60);
    if (touched.length) made.push(section(`${at + 1} · ${ex.t}`, el('div', { class: 'steps' }, touched.map(([, i]) => stepButton(ex, i)))));
  });
  return made;
}

// Shows in any part of the page what is chosen, what comes right before and right after it, and the chosen thing.
function mark(root) {
  const step = chosen();
  const name = step ? key(S.x, S.step) : '';
  const before = new Set(step ? (step.p || []).map((one) => key(S.x, one)) : []);
  const after = new Set(step ? here().after[S.step].map((one) => key(S.x, one)) : []);
  const node = step && here().node.has(S.step) ? key(S.x, here().node.get(S.step)) : '';
  for (const one of root.querySelectorAll('[data-s]')) {
    const mine = one.dataset.s === name || (one.dataset.also || '').split(' ').includes(name) || (one.classList.contains('or-card') && one.dataset.s === node);
    one.classList.toggle('is-sel', Boolean(step) && mine);
    one.classList.toggle('is-before', before.has(one.dataset.s));
    one.classList.toggle('is-after', after.has(one.dataset.s));
    if (step && mine) one.setAttribute('aria-current', 'true'); else one.removeAttribute('aria-current');
  }
  const touched = new Set(step ? (step.g || []).map(([thing]) => String(thing)) : []);
  for (const one of root.querySelectorAll('[data-thing]')) one.classList.toggle('is-sel', one.dataset.thing === String(S.thing) || touched.has(one.dataset.thing));
}
