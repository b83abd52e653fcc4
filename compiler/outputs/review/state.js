// The plan, what is chosen, and where everything is at a moment.
const P = JSON.parse(byId('plan').textContent);
const word = (number) => P.words[number];
const S = { tab: 'overview', x: 0, step: -1, thing: -1, actor: -1, t: 0, line: null, printing: false };
const VIEWS = [];
const view = (one) => VIEWS.push(one);

// An excursion with what is worked out of it once: each one's own steps, what comes after each, the order of ends.
const ready = new Map();
function excursion(at) {
  if (ready.has(at)) return ready.get(at);
  const x = P.excursions[at];
  const own = new Map(x.crew.map(([actor]) => [actor, []]));
  const steps = x.steps || [];
  const after = steps.map(() => []);
  steps.forEach((step, i) => {
    for (const actor of step.w) { if (!own.has(actor)) own.set(actor, []); own.get(actor).push(i); }
    for (const before of step.p || []) after[before].push(i);
  });
  const ends = steps.map((_, i) => i).sort((a, b) => steps[a].e - steps[b].e || a - b);
  const node = new Map();
  for (const [index, , before, behind] of x.nodes || []) for (const one of [index, ...before, ...behind]) node.set(one, index);
  const delays = new Map();
  for (const delay of x.delays || []) delays.set(`${delay[0]}/${delay[1]}`, delay);
  const found = { ...x, at, steps, own, after, ends, node, delays, length: Math.max(1, ...(x.clock ? [x.clock.end] : [1])) };
  ready.set(at, found);
  return found;
}
const here = () => excursion(S.x);
const chosen = () => (S.step >= 0 ? here().steps[S.step] : null);
const key = (x, step) => `${x}:${step}`;

// How everything hangs at a moment: by the usual times, steps that are over then have done what they do.
function hangsAt(x, t) {
  const hangs = new Map(x.start || []);
  for (const i of x.ends) {
    if (x.steps[i].e > t) break;
    for (const [thing, how] of x.steps[i].g || []) hangs.set(thing, how);
  }
  return hangs;
}
function up(hangs, thing) {
  const how = hangs.get(thing);
  if (how === undefined) return -1;
  if (typeof how === 'number') return how;
  if (how[0].length) return how[0][0][1];
  if (how.length > 1) return how[2] >= 0 ? how[2] : how[1];
  return -1;
}
function placeOf(hangs, thing) {
  for (let guard = 0; thing >= 0 && guard < 64; guard++) {
    const one = P.things[thing];
    if (one.s === 'location') return one.near ? one.near[0] : thing;
    thing = up(hangs, thing);
  }
  return -1;
}
// What hangs on each thing: holder -> [thing, manner]. A line that hangs nowhere goes with its far end.
function heldBy(hangs) {
  const held = new Map();
  const add = (holder, thing, manner) => { if (holder >= 0) held.set(holder, [...(held.get(holder) || []), [thing, manner]]); };
  for (const [thing, how] of hangs) {
    if (typeof how === 'number') { if (P.things[how] && P.things[how].s !== 'location') add(how, thing, ''); continue; }
    for (const [manner, holder] of how[0]) add(holder, thing, manner);
    if (!how[0].length && how.length > 1) add(up(hangs, thing), thing, how[1] >= 0 && how[2] >= 0 ? `from ${P.things[how[1]].t}` : '');
  }
  return held;
}
function hangWords(how) {
  if (how === undefined) return 'nowhere stated';
  if (typeof how === 'number') return how >= 0 ? P.things[how].t : 'nowhere stated';
  const parts = how[0].map(([manner, holder]) => `${P.things[holder].t}${manner ? ` (by ${manner})` : ''}`);
  if (how.length > 1) {
    const end = (thing) => (thing >= 0 ? P.things[thing].t : 'a free end');
    parts.push(`from ${end(how[1])} to ${end(how[2])}`);
  }
  return parts.join(' and ') || 'on nothing';
}

// Choosing. What is not named stays as it is; the clock goes to where a chosen step begins.
const watchers = [];
function choose(change, how = {}) {
  const before = { ...S };
  if (change.x !== undefined && change.x !== S.x) Object.assign(S, { step: -1, actor: -1, t: 0 });
  if (change.step !== undefined && change.step >= 0) {
    const x = excursion(change.x !== undefined ? change.x : S.x);
    const step = x.steps[change.step];
    S.thing = -1;
    S.t = step.s;
    if (change.actor === undefined && !step.w.includes(S.actor)) S.actor = step.w[0];
  }
  if (change.thing !== undefined && change.thing >= 0) S.step = -1;
  Object.assign(S, change);
  S.t = clamp(S.t, 0, here().length);
  for (const act of watchers) act(before, how);
}
function parse(name) {
  const [x, step] = name.split(':').map(Number);
  return { x, step };
}
