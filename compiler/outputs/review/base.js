// Elements, words and numbers. Words of the plan are only ever set as text.
const SVG = 'http://www.w3.org/2000/svg';
const FREE = new Set(['class', 'title', 'role', 'id', 'type', 'tabindex', 'for', 'href', 'scope', 'colspan']);

function put(node, props, kids) {
  for (const [key, value] of Object.entries(props || {})) {
    if (value === undefined || value === null || value === false) continue;
    if (key === 'on') for (const [name, act] of Object.entries(value)) node.addEventListener(name, act);
    else if (key === 'css') for (const [name, one] of Object.entries(value)) node.style.setProperty(name, one);
    else if (key === 'data') Object.assign(node.dataset, value);
    else node.setAttribute(key, value === true ? '' : value);
  }
  node.append(...kids.flat(3).filter((kid) => kid !== undefined && kid !== null && kid !== false && kid !== ''));
  return node;
}
const el = (tag, props, ...kids) => put(document.createElement(tag), props, kids);
const draw = (tag, props, ...kids) => put(document.createElementNS(SVG, tag), props, kids);
const byId = (id) => document.getElementById(id);

function clock(seconds, open) {
  const minutes = Math.floor(seconds / 60 + 1e-6);
  return `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, '0')}${open ? '+' : ''}`;
}
function minutes(seconds) {
  if (seconds === undefined || seconds === null) return 'no duration';
  return `${Math.round(seconds / 6) / 10} min`;
}
const many = (count, word) => `${count} ${word}${count === 1 ? '' : 's'}`;
const clamp = (value, low, high) => Math.max(low, Math.min(high, value));

// What a badge's outline is about 0,0, of about the same area whatever its shape; as on the printed sheets.
const SIDES = { square: [4, 45, 1.28], triangle: [3, -90, 1.6], hexagon: [6, 0, 1.12], diamond: [4, 0, 1.3], pentagon: [5, -90, 1.18] };
function outline(shape, r) {
  if (shape === 'circle') return `M${-r} 0a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`;
  const [sides, turn, size] = SIDES[shape];
  const low = shape === 'triangle' ? 0.25 * r : 0;
  const corners = [];
  for (let at = 0; at < sides; at++) {
    const a = ((turn + (360 * at) / sides) * Math.PI) / 180;
    corners.push(`${(r * size * Math.cos(a)).toFixed(2)} ${(low + r * size * Math.sin(a)).toFixed(2)}`);
  }
  return `M${corners.join('L')}Z`;
}
function badge(actor, size = 18) {
  const thing = P.things[actor];
  const [letter, hue, shape, , rings] = thing.style || [thing.t.slice(0, 1).toUpperCase(), 0, 'circle', '', 0];
  const made = draw('svg', { class: 'badge', viewBox: '-9 -9 18 18', width: size, height: size, role: 'img', 'aria-label': thing.t },
    draw('title', {}, thing.t), draw('path', { d: outline(shape, 6.2), class: `fill-${hue}` }));
  for (let ring = 0; ring < rings; ring++) made.append(draw('path', { d: outline(shape, 7.6), class: 'ring' }));
  made.append(draw('text', { x: 0, y: shape === 'triangle' ? 4.4 : 3, class: `on-${hue}` }, letter));
  return made;
}

function keep(name, value) {
  try {
    if (value === undefined) return localStorage.getItem(`jackstay-${name}`);
    localStorage.setItem(`jackstay-${name}`, value);
  } catch (blocked) { /* a page opened from a file may have nowhere to keep things */ }
  return null;
}

// Draws what is in sight, and a margin on both sides; again once the reader has scrolled out of it.
// fill(from, to): pixels along the axis. Gives a function that draws anew.
function windowed(scroller, axis, layer, fill) {
  let from = 0, to = -1, asked = 0;
  const look = (anew) => {
    asked = 0;
    if (S.printing) { if (anew === true) again(-Infinity, Infinity); return; }
    const at = axis === 'x' ? scroller.scrollLeft : scroller.scrollTop;
    const size = (axis === 'x' ? scroller.clientWidth : scroller.clientHeight) || 1000;
    if (anew !== true && at >= from && at + size <= to) return;
    from = at - size; to = at + 2 * size;
    again(from, to);
  };
  const again = (a, b) => {
    const held = layer.contains(document.activeElement) ? document.activeElement.dataset.s : null;
    fill(a, b);
    if (held) { const same = layer.querySelector(`[data-s="${held}"]`); if (same) same.focus({ preventScroll: true }); }
  };
  scroller.addEventListener('scroll', () => { asked = asked || requestAnimationFrame(look); }, { passive: true });
  if (window.ResizeObserver) new ResizeObserver(() => { asked = asked || requestAnimationFrame(look); }).observe(scroller);
  return () => look(true);
}
