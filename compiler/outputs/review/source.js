// The files, with the lines that steps are written at.
view({
  name: 'source', title: 'Source', whole: true,
  render(box) {
    const own = P.files.map((file, at) => [file, at]).filter(([file]) => file.lines);
    box.append(el('div', { class: 'bar', role: 'group', 'aria-label': 'File' }, own.map(([file, at]) => el('button', { type: 'button', class: 'small', data: { file: at }, on: { click: () => { S.line = [at, 0]; this.update(box); } } }, file.path))), el('div', { class: 'code', tabindex: '0', role: 'group', 'aria-label': 'Lines of the file' }));
    this.update(box);
  },
  update(box) {
    const step = chosen();
    const want = S.line || (step && step.a) || [P.files.findIndex((file) => file.lines), 0];
    const file = P.files[want[0]];
    const code = box.querySelector('.code');
    for (const tab of box.querySelectorAll('[data-file]')) tab.setAttribute('aria-pressed', String(Number(tab.dataset.file) === want[0]));
    if (!file) return;
    if (box.file !== want[0]) {
      box.file = want[0];
      const lines = file.lines ? file.lines.map((text, n) => [n + 1, text]) : Object.entries(file.some).map(([n, text]) => [Number(n), text]);
      code.replaceChildren(...lines.map(([n, text]) => {
        const steps = stepsAt(want[0], n);
        const first = steps[0];
        return el('div', { class: 'ln', data: { ln: n } }, el('span', { class: 'no' }, String(n)), first ? el('button', { type: 'button', class: 'ln-step', data: { s: key(first[0], first[1]), also: steps.map(([x, i]) => key(x, i)).join(' ') } }, text || ' ') : el('code', {}, text || ' '));
      }));
    }
    for (const old of code.querySelectorAll('.hit')) old.classList.remove('hit');
    const hit = want[1] && code.querySelector(`[data-ln="${want[1]}"]`);
    if (hit) { hit.classList.add('hit'); if (!S.printing) hit.scrollIntoView({ block: 'center' }); }
    mark(box);
  },
});
