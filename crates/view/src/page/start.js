// Hands, and the start.

(function listen() {
  byId('play').addEventListener('click', () => setPlaying(!playing));
  byId('back').addEventListener('click', () => stepPiece(-1));
  byId('ahead').addEventListener('click', () => stepPiece(1));
  byId('nearer').addEventListener('click', () => zoom(1.5));
  byId('farther').addEventListener('click', () => zoom(1 / 1.5));
  byId('whole').addEventListener('click', () => glideTo(fitting(room()), true));
  timeInput.addEventListener('input', () => {
    setPlaying(false);
    seek(Number(timeInput.value));
  });
  const tellSpeed = () => {
    const times = speed();
    const text = times < 10 ? times.toFixed(1) : Math.round(times);
    byId('speed-text').textContent = times < 1.05 ? 'as the machine sews' : `${text} times a machine`;
  };
  speedInput.addEventListener('input', tellSpeed);
  tellSpeed();
  for (const id of ['jumps', 'trims', 'points']) byId(id).addEventListener('change', redraw);
  byId('density').addEventListener('change', (event) => {
    const shown = event.target.checked;
    byId('density-key').hidden = !shown;
    if (shown) {
      const most = density().reduce((most, [, , amount]) => Math.max(most, amount), 0);
      byId('density-most').textContent = `– most ${most.toFixed(1)}`;
      say(`density: at most ${most.toFixed(1)} millimetres of thread per square millimetre`);
    }
    redraw();
  });
  byId('fabric').addEventListener('input', (event) => {
    fabric = event.target.value;
    redraw();
  });

  // Fingers and mouse on the fabric: drag moves, two fingers or the wheel zoom, a tap finds the piece.
  const held = new Map();
  let moved = 0;
  const place = (event) => {
    const box = overCanvas.getBoundingClientRect();
    return [(event.clientX - box.left) * overCanvas.width / box.width, (event.clientY - box.top) * overCanvas.height / box.height];
  };
  overCanvas.addEventListener('pointerdown', (event) => {
    overCanvas.setPointerCapture(event.pointerId);
    held.set(event.pointerId, place(event));
    if (held.size === 1) moved = 0;
  });
  overCanvas.addEventListener('pointermove', (event) => {
    const before = held.get(event.pointerId);
    if (!before) return;
    const after = place(event);
    moved += Math.hypot(after[0] - before[0], after[1] - before[1]);
    if (held.size === 1 && moved > 4 * pixel()) {
      move(after[0] - before[0], after[1] - before[1]);
    } else if (held.size === 2) {
      const other = [...held].find(([id]) => id !== event.pointerId)[1];
      const wide = (a) => Math.max(8, Math.hypot(a[0] - other[0], a[1] - other[1]));
      zoom(wide(after) / wide(before), (after[0] + other[0]) / 2, (after[1] + other[1]) / 2);
      move((after[0] - before[0]) / 2, (after[1] - before[1]) / 2);
    }
    held.set(event.pointerId, after);
  });
  const release = (event) => {
    const last = held.get(event.pointerId);
    held.delete(event.pointerId);
    if (!last || event.type !== 'pointerup' || held.size || moved > 4 * pixel()) return;
    const number = pieceAt(view.x + (last[0] - overCanvas.width / 2) / view.k, view.y + (last[1] - overCanvas.height / 2) / view.k);
    if (number >= 0) find(number, 'cloth');
    else lose();
  };
  overCanvas.addEventListener('pointerup', release);
  overCanvas.addEventListener('pointercancel', release);
  overCanvas.addEventListener('wheel', (event) => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0016)), ...place(event));
  }, { passive: false });

  const arrows = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] };
  document.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const on = event.target;
    const onCloth = on === overCanvas || on === document.body;
    if (onCloth && arrows[event.key]) {
      move(...arrows[event.key].map((step) => step * pixel()));
    } else if (event.key === ' ' && (onCloth || on === timeInput)) {
      setPlaying(!playing);
    } else if (event.key === ',' || event.key === '.') {
      setPlaying(false);
      seek(sewn() + (event.key === '.' ? 1 : -1));
    } else if (event.key === 'p' || event.key === 'n') {
      stepPiece(event.key === 'n' ? 1 : -1);
    } else if (onCloth && (event.key === 'Home' || event.key === 'End')) {
      setPlaying(false);
      seek(event.key === 'End' ? total : 0);
    } else if (event.key === '+' || event.key === '=') zoom(1.3);
    else if (event.key === '-') zoom(1 / 1.3);
    else if (event.key === '0') glideTo(fitting(room()), true);
    else return;
    event.preventDefault();
  });
  addEventListener('beforeprint', () => {
    setView(fitting(room()), true);
    while (sewSheets(Infinity));
    paint();
    sewnCanvas.getContext('2d').drawImage(overCanvas, 0, 0); // one picture goes to paper
  });
  addEventListener('afterprint', redraw);
})();

(function start() {
  const title = design.title ?? 'Design';
  const size = `${(bounds[2] - bounds[0]).toFixed(1)} × ${(bounds[3] - bounds[1]).toFixed(1)} mm`;
  const several = (count, one, many) => `${numberText.format(count)} ${count === 1 ? one : many}`;
  byId('title').textContent = title;
  document.title = title;
  byId('summary').textContent = [size, several(total, 'stitch', 'stitches'), several(pieces.length, 'piece', 'pieces'),
    several(design.threads.length, 'thread', 'threads'), `about ${timeText(clock[total])} on the machine`].join(', ');
  overCanvas.setAttribute('aria-label', `${title}, sewn`);
  byId('total').textContent = numberText.format(total);
  byId('fabric').value = design.fabric;
  timeInput.max = total;
  timeInput.value = total;
  // Begin with a speed that sews the whole design in about half a minute.
  const wanted = Math.max(1, total * 2 / design.pace.stitches);
  speedInput.value = Math.round(100 * Math.log(Math.min(wanted, fastest)) / Math.log(fastest));
  speedInput.dispatchEvent(new Event('input'));
  listPieces();
  new ResizeObserver(resize).observe(byId('cloth'));
  resize();
  if (!pieces.length) byId('thread').textContent = 'nothing to sew';
})();
