// Parts that several views show: a step as a button, a source line, a thing's name.
const names = (things) => things.map((one) => P.things[one].t).join(', ').replace(/, ([^,]*)$/, ' and $1');
const who = (step) => names(step.w);
const whenWords = (step) => `${clock(step.s, step.o & 1)}–${clock(step.e, step.o & 2)}`;

function stepWords(step) {
  return `${who(step)}: ${word(step.x)}, ${whenWords(step)}${step.n ? ', inserted' : ''}${step.c ? ', on the critical chain' : ''}`;
}
function stepButton(x, i, extra = '') {
  const step = x.steps[i];
  return el('button', { type: 'button', class: `step ${extra}${step.n ? ' added' : ''}`, data: { s: key(x.at, i) } },
    el('span', { class: 'step-who' }, step.w.map((one) => badge(one, 15))),
    el('span', { class: 'step-when' }, clock(step.s, step.o & 1)), el('span', { class: 'step-what' }, word(step.x)));
}
function thingButton(thing, words, extra = '') {
  return el('button', { type: 'button', class: `thing ${extra}`, data: { thing } }, words || P.things[thing].t);
}
function sourceButton(at) {
  if (!at) return '';
  return el('button', { type: 'button', class: 'src', data: { src: `${at[0]}:${at[1]}` }, title: 'Show this line in its file' }, `${P.files[at[0]].path}:${at[1]}`);
}
function sourceLine(file, line) {
  const one = P.files[file];
  return one.lines ? one.lines[line - 1] : one.some[line];
}
// A line with those beside it; mark: [start, end) to underline, sign: with what.
function excerpt(at, around = 1) {
  const [file, line, start, end] = at;
  const rows = [];
  for (let n = line - around; n <= line + around; n++) {
    const text = sourceLine(file, n);
    if (text === undefined) continue;
    const hit = n === line;
    const inner = hit && end > start ? [text.slice(0, start), el('mark', {}, text.slice(start, end)), text.slice(end)] : [text || ' '];
    rows.push(el('div', { class: hit ? 'hit' : 'by' }, el('span', { class: 'no' }, String(n)), el('code', {}, inner)));
  }
  return el('div', { class: 'excerpt' }, rows);
}
function note(words) { return el('p', { class: 'note' }, words); }
function section(title, ...kids) { return el('section', { class: 'part' }, el('h3', {}, title), kids); }
// Which steps are written at a line: "file:line" -> ["x:i", …]
let linesOfSteps = null;
function stepsAt(file, line) {
  if (!linesOfSteps) {
    linesOfSteps = new Map();
    P.excursions.forEach((x, at) => (x.steps || []).forEach((step, i) => {
      if (!step.a) return;
      const name = `${step.a[0]}:${step.a[1]}`;
      if (!linesOfSteps.has(name)) linesOfSteps.set(name, []);
      linesOfSteps.get(name).push([at, i]);
    }));
  }
  const found = linesOfSteps.get(`${file}:${line}`) || [];
  return [...found].sort((a, b) => (P.excursions[a[0]].steps[a[1]].wr ? 0 : 1) - (P.excursions[b[0]].steps[b[1]].wr ? 0 : 1));
}
// A small axis: hours under a bar of so many seconds.
function hours(length, most = 12) {
  const every = [300, 900, 1800, 3600, 7200, 14400, 28800, 86400].find((one) => length / one <= most) || 86400 * Math.ceil(length / most / 86400);
  const found = [];
  for (let t = 0; t <= length; t += every) found.push(t);
  return found;
}
