// Who holds what at the moment of the clock, and the chain of everything that changes hands.
view({
  name: 'custody', title: 'Custody', whole: true,
  render(box) {
    box.append(el('div', { class: 'holds' }), el('div', { class: 'chains' }, P.custody.groups.map(([title, things]) =>
      el('section', { class: 'chain-group' }, el('h3', {}, title), things.map((thing) => chain(thing))))));
    if (!P.custody.groups.length) box.append(note('Nothing changes hands.'));
    this.update(box);
  },
  update(box) {
    const x = here();
    box.querySelector('.holds').replaceChildren(...(x.not ? [el('p', { class: 'loud' }, x.not)] : holdsAt(x, S.t)));
    const step = chosen();
    const moved = new Set(step ? (step.g || []).map(([thing]) => String(thing)) : [String(S.thing)]);
    let first = null;
    for (const row of box.querySelectorAll('.chain')) {
      const hit = moved.has(row.dataset.chain);
      row.classList.toggle('is-sel', hit);
      if (hit && !first) first = row;
      for (const stay of row.querySelectorAll('.stay')) stay.classList.toggle('is-now', Number(stay.dataset.x) === S.x && current(Number(row.dataset.chain), Number(stay.dataset.at)));
    }
    if (first && !S.printing && box.shownFor !== `${S.x}:${S.step}:${S.thing}`) first.scrollIntoView({ block: 'center' });
    box.shownFor = `${S.x}:${S.step}:${S.thing}`;
    mark(box);
  },
});
function current(thing, at) {
  const stays = P.custody.chains[thing][S.x] || [];
  const x = here();
  let now = 0;
  stays.forEach((stay, k) => { if (stay[0] >= 0 && x.steps[stay[0]].e <= S.t && !(stay[3] >= 0 && x.steps[stay[3]].e <= S.t)) now = k; });
  return now === at;
}
function holdsAt(x, t) {
  const hangs = hangsAt(x, t), held = heldBy(hangs);
  const list = (holder, deep) => {
    const things = held.get(holder) || [];
    if (!things.length || deep > 6) return '';
    return el('ul', {}, things.map(([thing, manner]) => el('li', {}, P.things[thing].s === 'actor' ? badge(thing, 15) : '', thingButton(thing), manner ? el('span', { class: 'soft' }, ` · ${manner}`) : '', list(thing, deep + 1))));
  };
  return [el('h2', {}, `Who holds what at ${clock(t)}`, el('span', { class: 'soft' }, ` · ${x.t}`)), el('div', { class: 'hands' }, [...x.own.keys()].map((actor) => {
    const place = placeOf(hangs, actor), on = up(hangs, actor);
    const where = [place >= 0 ? `at ${P.things[place].t}` : '', on >= 0 && on !== place ? `on ${P.things[on].t}` : ''].filter(Boolean).join(', ');
    return el('section', { class: 'hand' }, el('h3', {}, badge(actor, 18), thingButton(actor), el('span', { class: 'soft' }, ` ${where}`)), list(actor, 0) || el('p', { class: 'empty' }, 'nothing'));
  }))];
}
function chain(thing) {
  const sections = P.custody.chains[thing];
  return el('div', { class: 'chain', data: { chain: thing } }, el('div', { class: 'chain-name' }, thingButton(thing), el('span', { class: 'soft' }, ` ${P.things[thing].k}`)),
    el('div', { class: 'chain-line' }, sections.map((stays, at) => stays.map((stay, k) => {
      const [index, holder, place, back, whose] = stay;
      const x = excursion(at);
      const badges = whose.map((actor) => badge(actor, 15));
      const where = word(place) ? el('span', { class: 'soft' }, ` ${word(place)}`) : '';
      if (index < 0) {
        const still = stay[5] && stays.length === 1;
        return el('span', { class: `stay stub${stay[5] ? ' kept' : ''}`, data: { x: at, at: k } }, el('b', { class: 'no', title: x.t }, String(at + 1)), still ? el('span', { class: 'soft' }, 'stays') : [badges, word(holder), where]);
      }
      const step = x.steps[index];
      return el('button', { type: 'button', class: 'stay', data: { s: key(at, index), x: at, at: k }, title: stepWords(step) }, badges, el('b', {}, word(holder)), where,
        el('span', { class: 'when' }, ` ${clock(step.s, step.o & 1)}${back >= 0 ? `–${clock(x.steps[back].e)}` : ''}`));
    }))));
}
