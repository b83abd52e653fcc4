// The end of each excursion, and the findings.
view({
  name: 'end', title: 'End state',
  render(box) {
    const x = here();
    box.append(el('h2', { class: 'post' }, el('span', { class: 'no' }, String(x.at + 1)), `After ${x.t}`));
    if (x.not) { box.append(el('p', { class: 'loud' }, x.not)); return; }
    box.append(el('div', { class: 'ends' }, x.end.map(([title, rows]) => el('section', { class: 'part' }, el('h3', {}, title, ' ', el('span', { class: 'soft' }, String(rows.length))),
      rows.length ? el('ul', { class: 'rows' }, rows.map(([words, thing, odd]) => el('li', { class: odd ? 'odd' : '' }, thing >= 0 ? linked(words, thing) : words))) : el('p', { class: 'empty' }, 'nothing')))));
    mark(box);
  },
  update(box) { mark(box); },
});
function linked(words, thing) {
  const name = P.things[thing].t, at = words.indexOf(name);
  if (at < 0) return [thingButton(thing), ` ${words}`];
  return [words.slice(0, at), thingButton(thing), words.slice(at + name.length)];
}

view({
  name: 'findings', title: 'Findings', whole: true,
  render(box) {
    box.append(el('h2', { class: 'post' }, P.unchecked ? P.warning : P.tally.replace('findings:', 'Findings:')));
    if (!P.findings.length && !P.aside) box.append(note('Nothing was found and nothing was left undecided: by what is written down, every step has what it needs, in every order the text allows.'));
    P.findings.forEach((one, at) => box.append(finding(one, at)));
    if (P.aside) box.append(el('h2', { class: 'post' }, 'Found and set aside: allowed, turned off or made less'));
    (P.aside || []).forEach((one, at) => box.append(finding(one, `aside-${at}`)));
  },
  update(box) { const one = S.finding >= 0 && box.querySelector(`[data-f="${S.finding}"]`); if (one) { one.scrollIntoView({ block: 'start' }); S.finding = -1; } },
});
function finding(one, at) {
  const steps = one.at ? stepsAt(one.at[0], one.at[1]) : [];
  return el('article', { class: `finding sev-${one.sev}`, data: { f: at } },
    el('header', {}, el('b', { class: 'sev' }, SEVERITY[one.sev]), el('span', { class: 'rule' }, one.rule), one.at ? sourceButton(one.at) : ''),
    el('h3', {}, one.msg), one.why ? el('p', { class: 'aside' }, el('b', {}, 'Set aside: '), one.why, ' ', one.where ? sourceButton(one.where) : '') : '', one.at ? excerpt(one.at, 0) : '', one.note ? el('p', { class: 'under' }, one.note) : '',
    (one.labels || []).map(([place, text]) => el('div', { class: 'label' }, place ? [sourceButton(place), excerpt(place, 0)] : '', el('p', { class: 'under' }, text))),
    one.events ? el('ol', { class: 'story' }, one.events.map(([, actor, text, leaves, place]) => el('li', {}, el('b', {}, actor), ` ${text} `, place ? sourceButton(place) : '', leaves ? el('span', { class: 'leaves' }, `→ ${leaves}`) : ''))) : '',
    one.because ? el('p', {}, el('b', {}, 'Because '), one.because) : '',
    (one.help || []).map(([text, edits]) => el('div', { class: 'help' }, el('p', {}, el('b', {}, 'Help '), text), edits.map(([place, words]) => el('div', { class: 'edit' }, place ? sourceButton(place) : '', el('code', {}, words.replace(/\n$/, '')))))),
    steps.length ? el('p', { class: 'under' }, 'Step: ', steps.slice(0, 3).map(([x, i]) => stepButton(excursion(x), i))) : '');
}
