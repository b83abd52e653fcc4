// Each one's own list, step by step; warnings before what they warn of, cards of the fallbacks at the end.
view({
  name: 'checklists', title: 'Checklists',
  render(box) {
    const x = here();
    const actors = [...x.own.keys()];
    if (x.not) { box.append(el('p', { class: 'loud' }, x.not)); return; }
    const actor = S.actor >= 0 && actors.includes(S.actor) ? S.actor : actors[0];
    box.for = actor;
    box.append(el('div', { class: 'bar people', role: 'group', 'aria-label': 'Whose list' }, actors.map((one) =>
      el('button', { type: 'button', class: 'small', 'aria-pressed': String(one === actor), on: { click: () => choose({ actor: one, step: -1 }) } }, badge(one, 17), P.things[one].t))));
    if (actor === undefined) return;
    const role = (x.crew.find(([one]) => one === actor) || [])[1];
    const run = P.things[actor].run;
    box.append(el('h2', { class: 'post' }, el('span', { class: 'no' }, String(x.at + 1)), `${P.things[actor].t}${run !== undefined ? `, run by ${P.things[run].t}` : ''}`), el('p', { class: 'about' }, role ? `${role}. ` : '', x.about));
    let block = null, name = '', count = 0;
    for (const i of x.own.get(actor)) {
      const step = x.steps[i];
      if (step.idle && !step.say && !step.rm && !step.wt) continue;
      const task = x.tasks[step.k];
      const where = step.b.filter((one) => one >= 0).map((one) => P.things[one].t).join(', in ') || 'Where you are';
      const now = `${where}/${step.k}`;
      if (now !== name) {
        name = now;
        block = el('ol', { class: 'cl' });
        box.append(el('section', { class: 'cl-block' }, el('h3', {}, where, el('span', { class: 'soft' }, task ? ` ${task.t}${task.rank === 'required' ? '' : ` · may be dropped (${task.rank})`}` : '')), block));
      }
      if (step.wr) count += 1;
      block.append(row(x, step, i, actor, count));
    }
    for (const card of x.cards) box.append(fallbackCard(x, card, actor));
    this.update(box);
  },
  update(box) {
    const x = here();
    if (S.actor >= 0 && S.actor !== box.for && x.own.has(S.actor)) { box.replaceChildren(); this.render(box); return; }
    mark(box);
    const row = S.step >= 0 && box.querySelector(`[data-row="${S.step}"]`);
    for (const old of box.querySelectorAll('.cl-row.is-sel')) old.classList.remove('is-sel');
    if (row) { row.classList.add('is-sel'); if (!S.printing) row.scrollIntoView({ block: 'center' }); }
  },
});
function row(x, step, i, actor, count) {
  const others = step.w.filter((one) => one !== actor);
  const made = el('li', { class: `cl-row${step.n ? ' added' : ''}`, data: { row: i } });
  for (const [call, by] of step.wt || []) made.append(el('p', { class: 'wait' }, el('b', {}, 'Wait'), ` for ${word(by)}: “${word(call)}”`));
  for (const [call, by] of step.bs || []) made.append(el('p', { class: 'wait' }, el('b', {}, 'While'), ` ${word(by)} works up to “${word(call)}”`));
  for (const [sort, text] of step.rm || []) made.append(el('p', { class: `remark ${sort}` }, el('b', {}, sort), ` ${word(text)}`));
  if (!step.idle) {
    made.append(el('div', { class: 'cl-step' }, el('span', { class: 'tick', 'aria-hidden': 'true' }), el('span', { class: 'no' }, step.wr ? String(count) : ''),
      el('button', { type: 'button', class: 'cl-what', data: { s: key(x.at, i) } }, word(step.x)), others.length ? el('span', { class: 'with' }, 'with ', others.map((one) => [badge(one, 15), ` ${P.things[one].t} `])) : '',
      el('span', { class: 'when' }, `${clock(step.s, step.o & 1)} · ${minutes(step.d)}`), sourceButton(step.a)));
  }
  if (step.ex !== undefined) made.append(el('p', { class: 'under' }, `expected ${word(step.ex)}, actual `, el('span', { class: 'blank' })));
  for (const bound of step.bd || []) made.append(el('p', { class: 'under' }, word(bound)));
  for (const [outcome, card] of step.an || []) made.append(el('p', { class: 'under' }, `if ${word(outcome)}: ${card >= 0 ? `card ${word(card)}` : 'go on'}`));
  if (step.bc !== undefined) made.append(el('p', { class: 'under soft' }, word(step.bc)));
  if (step.say) made.append(el('p', { class: 'call-line' }, el('b', {}, word(step.say[1])), ` calls “${word(step.say[0])}”`));
  return made;
}
function fallbackCard(x, card, actor) {
  return el('section', { class: 'card', data: { card: card.n } }, el('h3', {}, `Card ${card.n}`, el('span', { class: 'soft' }, ` ${card.t}`), ' ', sourceButton(card.a)),
    el('p', { class: 'about' }, (card.from || []).map(([index, outcome]) => [`Called if ${word(outcome)}: `, el('button', { type: 'button', class: 'link', data: { s: key(x.at, index) } }, word(x.steps[index].x)), '. ']),
      card.mark ? `Holds from ${card.mark} on. ` : '', card.instead.length ? `Instead of: ${card.instead.join(', ')}. ` : '', 'Ways and tools are not worked out on a card.'),
    el('ol', { class: 'cl' }, card.steps.map(([whose, what, where, at, remarks, cast]) => el('li', { class: 'cl-row' }, remarks.map(([sort, text]) => el('p', { class: `remark ${sort}` }, el('b', {}, sort), ` ${word(text)}`)),
      el('div', { class: 'cl-step' }, el('span', { class: cast.includes(actor) ? 'tick' : 'tick none', 'aria-hidden': 'true' }), el('span', { class: 'cl-what' }, `${word(whose)}: ${word(what)}`), el('span', { class: 'soft' }, ` ${word(where)}`), sourceButton(at))))),
    el('p', { class: 'about' }, card.then.length ? `Then: ${card.then.join(', ')}.` : 'Nothing comes after this card: what it does not replace is not done either.'));
}
