// What may become of the times: only drawn where the page was built with a forecast.
view({
  name: 'forecast', title: 'Forecast', whole: true,
  render(box) {
    if (!P.forecast) {
      box.append(el('h2', { class: 'post' }, 'No forecast in this page'), note(P.unchecked ? 'A plan that has not passed its check is not forecast: its order and times are not to be relied on.' : 'It takes a moment, so it is made only when asked for: jackstay build PLAN -o DIR --forecast'));
      const varying = P.excursions.map((_, at) => excursion(at)).filter((x) => !x.not);
      if (varying.length) box.append(note('What can be said without it: how many steps may take longer than usual, and by how much if all of them on the critical chain did.'), el('table', { class: 'grid' },
        el('thead', {}, el('tr', {}, [P.said[0], 'usual end', 'steps with a spread', 'chain at its longest'].map((one) => el('th', { scope: 'col' }, one)))),
        el('tbody', {}, varying.map((x) => el('tr', {}, el('th', { scope: 'row' }, x.t), el('td', {}, clock(x.clock.end, x.clock.open)), el('td', {}, String(x.steps.filter((step) => step.tr).length)),
          el('td', {}, `+${minutes(x.steps.reduce((sum, step) => sum + (step.c && step.tr ? step.tr[1] - step.d : 0), 0))}`))))));
      return;
    }
    box.append(el('p', { class: 'about' }, `${P.forecast.samples} runs of each ${P.said[0]}, seed ${P.forecast.seed}. Every step’s length is drawn from its three numbers; nobody gives up, drops work or takes a fallback.`));
    P.forecast.excursions.forEach((one, at) => box.append(outlook(one, excursion(at))));
    mark(box);
  },
  update(box) { mark(box); },
});
function chance(share) {
  if (share === null || share === undefined) return '–';
  const least = 1 / P.forecast.samples;
  if (share < least) return `< ${+(100 * least).toPrecision(2)} %`;
  if (share > 1 - least) return `> ${+(100 - 100 * least).toPrecision(6)} %`;
  const rare = Math.min(share, 1 - share);
  return `${(100 * share).toFixed(rare >= 0.01 ? 0 : 1)} %`;
}
function outlook(one, x) {
  const made = el('section', { class: 'outlook' }, el('h2', { class: 'post' }, el('span', { class: 'no' }, String(x.at + 1)), x.t));
  if (!one.worked_out) { made.append(el('p', { class: 'loud' }, x.not || '')); return made; }
  const said = one.as_written, end = said.end;
  const zero = x.clock.zero;
  const most = Math.max(end.p90 + 3 * end.deviation, one.limit !== null ? zero + one.limit : 0) * 1.02;
  const percent = (t) => `${clamp((100 * t) / most, 0, 100).toFixed(2)}%`;
  const spread = (name, s, cls = '') => el('div', { class: `fc-row ${cls}` }, el('span', { class: 'fc-name' }, name), el('span', { class: 'fc-track' },
    el('i', { class: 'fc-bar', css: { left: percent(s.p10), width: `calc(${percent(s.p90)} - ${percent(s.p10)})` } }), el('i', { class: 'fc-mid', css: { left: percent(s.p50) } }),
    one.limit !== null ? el('i', { class: 'limit', css: { left: percent(zero + one.limit) } }) : '', one.limit !== null && one.reserve !== null ? el('i', { class: 'reserve', css: { left: percent(zero + one.limit - one.reserve) } }) : ''),
  el('span', { class: 'fc-nums' }, `${clock(s.p10)} · ${clock(s.p50)} · ${clock(s.p90)}`));
  const facts = [['half of the runs end by', clock(end.p50)], ['nine in ten end by', clock(end.p90)]];
  if (said.inside_limit !== null) facts.push(['inside the limit', chance(said.inside_limit)]);
  if (said.inside_limit_less_reserve !== null) facts.push(['reserve untouched', chance(said.inside_limit_less_reserve)]);
  if (said.short_of_the_way_home !== null) facts.push(['at some time too late for the way home', chance(said.short_of_the_way_home)]);
  made.append(el('div', { class: 'facts' }, facts.map(([words, number]) => el('p', { class: 'fact' }, el('b', {}, number), ' ', words))));
  if (!one.uncertain) made.append(note('Nothing is uncertain: no length is given by three numbers, so every run ends alike.'));
  for (const open of one.not_decided) made.append(note(`Not decided: ${open.what.replaceAll('-', ' ')}, ${open.step} (${open.source})`));
  made.append(el('div', { class: 'fc' }, el('div', { class: 'fc-row fc-head' }, el('span', { class: 'fc-name' }, 'over by'), el('span', { class: 'fc-track' }), el('span', { class: 'fc-nums' }, '1 in 10 · half · 9 in 10')),
    spread(`the ${P.said[0]}`, end, 'all'), Object.entries(said.actors).map(([name, s]) => spread((P.things.find((thing) => thing.n === name) || { t: name }).t, s)), Object.entries(said.tasks).map(([name, s]) => spread((x.tasks.find((task) => task.n === name) || { t: name }).t, s))));
  const stakes = one.steps.map((step, i) => [step, i]).filter(([step]) => step.stake > 0).sort((a, b) => b[0].stake - a[0].stake || a[1] - b[1]).slice(0, 8);
  if (stakes.length) made.append(el('h3', {}, 'Worth rehearsing first'), el('ul', { class: 'plain' }, stakes.map(([step, i]) => el('li', { class: 'stake' }, stepButton(x, i), el('span', { class: 'soft' }, `${minutes(step.stake)} at stake; the end hangs on it in ${chance(step.critical)} of the runs`)))));
  if (one.get_aheads) made.append(el('h3', {}, 'Get-aheads: which of them fit'), el('ul', { class: 'plain' }, one.get_aheads.each.map((extra) => el('li', {}, `${(x.tasks.find((task) => task.n === extra.task) || { t: extra.task }).t}: fits ${chance(extra.fits)}`, el('span', { class: 'soft' }, extra.any_time ? ' at any time' : extra.begin_by === null ? ', never so sure' : `, begun by ${clock(extra.begin_by)}`)))));
  return made;
}
