(() => {
'use strict';
const $ = id => document.getElementById(id);

// What can be set: key, words, range and step, unit, and where a shape says what holds.
const KNOBS = [
  { key: 'spacing', name: 'Spacing', least: 0.12, most: 0.6, step: 0.01, unit: 'mm', now: s => s.method === 'satin' ? s.satin_spacing : s.fill_spacing, about: 'between neighbouring threads' },
  { key: 'angle', name: 'Angle', least: 0, most: 179, step: 1, unit: '°', now: s => s.angle, about: 'of the rows, clockwise; fills only' },
  { key: 'stitch_length', name: 'Stitch length', least: 1, most: 7, step: 0.1, unit: 'mm', now: s => s.method === 'run' ? s.run_stitch_length : s.fill_stitch_length, about: 'of rows and runs' },
  { key: 'pull_compensation', name: 'Pull compensation', least: 0, most: 0.8, step: 0.01, unit: 'mm', now: s => s.method === 'satin' ? s.satin_pull : s.fill_pull, about: 'added at each end of a thread' },
  { key: 'underlay', name: 'Underlay', choices: [['auto', 'as the material wants it'], ['', 'none'], ['centre-run', 'centre run'], ['edge-run', 'edge run'], ['zigzag', 'zigzag'], ['rows', 'rows'], ['edge-run rows', 'edge run, rows'], ['edge-run zigzag', 'edge run, zigzag'], ['edge-run crossing-rows', 'edge run, crossing rows']] },
  { key: 'material', name: 'Material', choices: null },
];

let design = null;
let chosen = 0;
// Each side: changes by shape and key, what was last asked for, and its place on the page.
const sides = [0, 1].map(number => ({ number, changes: new Map(), asked: 0, shown: 0, busy: false, trial: null }));
const EVERY = '';
const place = (shape, key) => JSON.stringify([shape, key]);
const listed = side => [...side.changes.values()];

function element(name, text, parent, kind) {
  const made = document.createElement(name);
  if (text !== null) made.textContent = text;
  if (kind) made.className = kind;
  if (parent) parent.append(made);
  return made;
}

async function ask(path, body) {
  const how = body === undefined ? {} : { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) };
  const answer = await fetch(path, how);
  const said = await answer.json().catch(() => ({ error: `the command says ${answer.status}` }));
  if (!answer.ok) throw new Error(said.error);
  return said;
}

// Only the latest change of a side matters: while one trial is under way, others wait as one.
async function update(side) {
  side.asked++;
  if (side.busy) return;
  side.busy = true;
  side.box.classList.add('busy');
  while (side.shown !== side.asked) {
    const wanted = side.asked;
    const start = performance.now();
    try {
      const trial = await ask('try', { changes: listed(side) });
      show(side, trial, performance.now() - start);
    } catch (error) {
      side.wrong.textContent = error.message;
    }
    side.shown = wanted;
  }
  side.busy = false;
  side.box.classList.remove('busy');
  document.body.dataset.trials = String(Number(document.body.dataset.trials || 0) + 1);
}

function show(side, trial, took) {
  side.trial = trial;
  side.wrong.textContent = '';
  for (const name of ['picture', 'density', 'bare']) side[name].src = 'data:image/png;base64,' + trial[name];
  side.took.textContent = `${Math.round(took)} ms`;
  side.took.dataset.ms = String(trial.ms);
  side.figures.replaceChildren();
  const shape = $('shape').value;
  const number = design.shapes.findIndex(s => s.name === shape);
  const rows = trial.figures.slice();
  if (number >= 0 && trial.shapes[number] !== null) rows.splice(1, 0, ['this shape', `${(trial.shapes[number] * 100).toFixed(2)} % covered`]);
  for (const [name, value] of rows) {
    element('dt', name, side.figures);
    element('dd', value, side.figures);
  }
  side.found.replaceChildren();
  for (const [verdict, what, advice] of trial.checks) {
    const item = element('li', null, side.found);
    element('b', verdict, item);
    item.append(' ' + what + '; ');
    element('small', advice, item);
  }
  for (const warning of trial.warnings) element('li', warning, side.found);
  if (side.number === chosen) tell();
}

function tell() {
  const side = sides[chosen];
  $('lines').textContent = side.trial && side.changes.size ? side.trial.lines.join('\n') : '';
  $('write').disabled = side.changes.size === 0;
}

function panel(side) {
  const box = side.box = element('section', null, $('pair'), 'side');
  const head = element('h2', side.number === 0 ? 'Left' : 'Right', box);
  box.setAttribute('aria-label', head.textContent);
  side.took = element('small', '', head);
  const pictures = element('div', null, box, 'pictures');
  for (const [name, words] of [['picture', 'as sewn'], ['density', 'thread per mm²'], ['bare', 'drawn but not covered, in orange']]) {
    const figure = element('figure', null, pictures);
    side[name] = element('img', null, figure);
    side[name].alt = words;
    side[name].id = `${name}-${side.number}`;
    element('figcaption', words, figure);
  }
  side.wrong = element('p', '', box, 'wrong');
  side.wrong.setAttribute('role', 'alert');
  side.figures = element('dl', null, box);
  side.figures.id = `figures-${side.number}`;
  side.found = element('ul', null, box, 'found');
  box.addEventListener('click', () => choose(side.number));
}

function choose(number) {
  chosen = number;
  sides.forEach(side => side.box.classList.toggle('chosen', side.number === number));
  document.querySelectorAll('[name=side]').forEach(input => { input.checked = Number(input.value) === number; });
  knobs();
  tell();
}

// What holds for the chosen shape and side: what was set for it, or for all since, else the recipe.
function holds(knob) {
  const shape = $('shape').value;
  const changes = sides[chosen].changes;
  const set = changes.get(place(shape, knob.key)) || changes.get(place(EVERY, knob.key));
  if (set) return { value: set.value, set: changes.has(place(shape, knob.key)) };
  const of = design.shapes.find(s => s.name === shape);
  if (knob.key === 'material') return { value: of ? of.material : design.material, set: false };
  if (knob.key === 'underlay') {
    const layers = (of ? [of] : design.shapes.filter(s => s.method !== 'skip')).map(s => s.underlay === null ? 'auto' : s.underlay.join(' '));
    return { value: layers.every(l => l === layers[0]) ? layers[0] : 'differs', set: false };
  }
  const values = (of ? [of] : design.shapes.filter(s => s.method !== 'skip')).map(knob.now).filter(v => v !== null);
  return { value: values.length ? values[0] : null, set: false, mixed: values.some(v => v !== values[0]) };
}

function set(knob, value) {
  const shape = $('shape').value;
  const side = sides[chosen];
  const key = place(shape, knob.key);
  side.changes.delete(key); // what is set last is written last, and wins
  side.changes.set(key, { shape: shape === EVERY ? null : shape, key: knob.key, value });
  update(side);
}

function knobs() {
  const held = document.activeElement && document.activeElement.id;
  $('knobs').replaceChildren();
  for (const knob of KNOBS) {
    const row = element('div', null, $('knobs'), 'knob');
    const label = element('label', knob.name, row);
    label.htmlFor = 'knob-' + knob.key;
    const now = holds(knob);
    row.classList.toggle('tried', now.set);
    if (knob.least === undefined) {
      const choice = element('select', null, row);
      choice.id = label.htmlFor;
      const choices = knob.choices || design.materials.map(name => [name, name]);
      for (const [value, words] of choices) element('option', words, choice).value = value;
      const held = Array.isArray(now.value) ? now.value.join(' ') : now.value;
      if (!choices.some(([value]) => value === held)) {
        const other = element('option', held.replaceAll('-', ' '), choice);
        other.value = held;
        other.disabled = held === 'differs';
      }
      choice.value = held;
      choice.addEventListener('input', () => {
        const value = choice.value;
        set(knob, knob.key === 'underlay' && value !== 'auto' ? value.split(' ').filter(Boolean) : value);
        row.classList.add('tried');
      });
      continue;
    }
    const output = element('output', '', row);
    const slider = element('input', null, row);
    Object.assign(slider, { type: 'range', id: label.htmlFor, min: knob.least, max: knob.most, step: knob.step });
    output.htmlFor = slider.id;
    slider.value = now.value === null ? knob.least : now.value;
    const words = value => `${value} ${knob.unit}`;
    output.textContent = now.value === null ? 'by the shape' : now.mixed ? 'differs' : words(Number(Number(now.value).toFixed(3)));
    slider.addEventListener('input', () => {
      output.textContent = words(slider.value);
      row.classList.add('tried');
      set(knob, Number(slider.value));
    });
    element('small', knob.about, row);
  }
  if (held && $(held)) $(held).focus();
}

async function load() {
  design = await ask('design');
  document.title = design.title + ': tune';
  $('title').textContent = design.title;
  $('recipe').textContent = design.recipe;
  const shape = $('shape').value;
  $('shape').replaceChildren();
  element('option', 'every shape', $('shape')).value = EVERY;
  for (const one of design.shapes) {
    if (one.method !== 'skip') element('option', `${one.name} (${one.method === 'auto' ? 'by its width' : one.method})`, $('shape')).value = one.name;
  }
  $('shape').value = shape || EVERY;
}

$('shape').addEventListener('input', () => {
  knobs();
  sides.forEach(side => { if (side.trial) show(side, side.trial, Number.parseFloat(side.took.textContent)); });
});
document.querySelectorAll('[name=side]').forEach(input => input.addEventListener('input', () => choose(Number(input.value))));
$('copy').addEventListener('click', () => {
  sides[chosen].changes = new Map(sides[1 - chosen].changes);
  knobs();
  update(sides[chosen]);
});
$('reset').addEventListener('click', () => {
  sides[chosen].changes.clear();
  knobs();
  update(sides[chosen]);
});
$('write').addEventListener('click', async () => {
  const side = sides[chosen];
  $('write').disabled = true;
  try {
    await ask('write', { changes: listed(side) });
    side.changes.clear();
    await load();
    $('said').textContent = `Written into ${design.recipe}.`;
    knobs();
    sides.forEach(update);
  } catch (error) {
    $('said').textContent = error.message;
  }
  tell();
});

sides.forEach(panel);
load().then(() => { choose(0); sides.forEach(update); }).catch(error => { sides[0].wrong.textContent = error.message; });
})();
