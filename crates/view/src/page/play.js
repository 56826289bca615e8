// Time, view and controls.

const sewnCanvas = byId('sewn');
const overCanvas = byId('over');
const timeInput = byId('time');
const speedInput = byId('speed');
const calm = matchMedia('(prefers-reduced-motion: reduce)');

let now = total; // stitches sewn; fractions while playing
let playing = false;
let found = null; // the piece that was asked for
let fabric = design.fabric;
let view = { x: 0, y: 0, k: 1 };
let whole = true; // the view shows all and follows the window
let front = null; // the sheet that is seen
let next = null; // the sheet being sewn for a new view
let settled = 0; // when the view last moved
let glide = null; // a view on its way: {from, to, start}
let asked = false;
let lastFrame = 0;
let toldPiece = -1;

const pixel = () => Math.min(window.devicePixelRatio || 1, 2);
const sewn = () => Math.floor(now);

function redraw() {
  if (asked) return;
  asked = true;
  requestAnimationFrame(frame);
}

function frame(time) {
  asked = false;
  const passed = Math.max(0, Math.min(100, time - lastFrame));
  lastFrame = time;
  if (playing) {
    now = Math.min(total, now + passed / 60000 * design.pace.stitches * speed());
    if (now >= total) setPlaying(false);
    else redraw();
  }
  if (glide) moveGlide(time);
  const sewing = sewSheets(time);
  paint();
  tell();
  if (sewing || glide) redraw();
}

// Brings the sheets up to date; true while there is more to do.
function sewSheets(time) {
  const { width, height } = sewnCanvas;
  const same = (sheet) => sheet && sheet.canvas.width === width && sheet.canvas.height === height &&
    sheet.view.x === view.x && sheet.view.y === view.y && sheet.view.k === view.k;
  if (same(front)) {
    next = null;
    return !front.sewTo(sewn(), 14);
  }
  if (front && time - settled < 90) return true; // wait until the view rests
  if (!same(next)) next = new Sheet(width, height, view);
  if (!next.sewTo(sewn(), 14)) return true;
  front = next;
  next = null;
  return false;
}

function paint() {
  const context = sewnCanvas.getContext('2d');
  drawFabric(context, view, fabric);
  if (front) {
    // The sheet may still be of an older view: move and stretch it into this one.
    const stretch = view.k / front.view.k;
    const [w, h] = [front.canvas.width * stretch, front.canvas.height * stretch];
    const x = sewnCanvas.width / 2 + (front.view.x - view.x) * view.k - w / 2;
    const y = sewnCanvas.height / 2 + (front.view.y - view.y) * view.k - h / 2;
    context.drawImage(front.canvas, x, y, w, h);
  }
  const over = overCanvas.getContext('2d');
  const { width, height } = overCanvas;
  over.clearRect(0, 0, width, height);
  const place = { k: view.k, left: width / 2 - view.x * view.k, top: height / 2 - view.y * view.k, pixel: pixel() };
  if (byId('density').checked) drawDensity(over, place);
  if (byId('points').checked) drawPoints(over, place, sewn());
  if (byId('jumps').checked) drawJumps(over, place, sewn());
  if (byId('trims').checked) drawTrims(over, place, sewn());
  drawFound(over, place, found);
  drawNeedle(over, place, sewn());
}

// Words and figures beside the picture.
function tell() {
  const at = sewn();
  const number = total ? pieceOf[Math.max(0, Math.min(total - 1, at - 1))] : -1;
  const piece = pieces[number];
  timeInput.value = at;
  byId('count').textContent = numberText.format(at);
  byId('left').textContent = at >= total ? 'done' : timeText(clock[total] - clock[at]);
  byId('place').textContent = at ? `${X[at - 1].toFixed(1)}, ${Y[at - 1].toFixed(1)}\u00a0mm` : '–';
  document.body.dataset.state = playing ? 'playing' : at >= total ? 'finished' : 'paused';
  if (number === toldPiece) return;
  pieceButtons[toldPiece]?.removeAttribute('aria-current');
  toldPiece = number;
  if (!piece) return;
  pieceButtons[number]?.setAttribute('aria-current', 'true');
  byId('spool').style.backgroundColor = threadOf(piece).color;
  byId('thread').textContent = threadName(piece);
  byId('piece').textContent = `${number + 1} of ${pieces.length}: ${piece.name}`;
  timeInput.setAttribute('aria-valuetext', `stitch ${at} of ${total}, piece ${number + 1}, ${piece.name}`);
  // Scroll the list only, never the page.
  const list = byId('pieces');
  const item = pieceButtons[number]?.parentElement;
  if (item && list.scrollHeight > list.clientHeight + 4 && !list.matches(':hover') && !list.contains(document.activeElement)) {
    list.scrollTop = item.offsetTop - list.offsetTop - list.clientHeight / 2;
  }
}

const say = (words) => { byId('said').textContent = words; };

// ---- time

// The slider runs from the machine's own speed to the whole design in five seconds.
const fastest = Math.max(20, total * 12 / design.pace.stitches);
const speed = () => fastest ** (speedInput.value / 100);

function setPlaying(on) {
  if (on && now >= total) now = 0;
  if (on) lose();
  playing = on && total > 0;
  byId('play').textContent = playing ? 'Pause' : 'Sew';
  lastFrame = performance.now();
  redraw();
}

function seek(stitch) {
  now = Math.max(0, Math.min(total, Math.round(stitch)));
  redraw();
}

function stepPiece(by) {
  setPlaying(false);
  const at = sewn();
  const ends = pieces.map((piece) => piece.end);
  const stop = by > 0 ? ends.find((end) => end > at) : ends.findLast((end) => end < at);
  seek(stop ?? (by > 0 ? total : 0));
  const number = ends.indexOf(sewn());
  say(number < 0 ? 'bare fabric' : `sewn up to piece ${number + 1}, ${pieces[number].name}, in ${threadName(pieces[number])}`);
}

// ---- view

const room = () => {
  const air = 3;
  return [bounds[0] - air, bounds[1] - air, bounds[2] + air, bounds[3] + air];
};
function fitting([x0, y0, x1, y1]) {
  const k = Math.min(overCanvas.width / Math.max(x1 - x0, 0.1), overCanvas.height / Math.max(y1 - y0, 0.1));
  return { x: (x0 + x1) / 2, y: (y0 + y1) / 2, k: Math.min(k, 120 * pixel()) };
}

function setView(to, followsWindow = false) {
  glide = null;
  whole = followsWindow;
  const least = fitting(room()).k / 4;
  view = { x: to.x, y: to.y, k: Math.max(least, Math.min(200 * pixel(), to.k)) };
  settled = performance.now();
  showScale();
  redraw();
}

function glideTo(to, followsWindow = false) {
  if (calm.matches) return setView(to, followsWindow);
  glide = { from: { ...view }, to, start: performance.now(), followsWindow };
  redraw();
}

function moveGlide(time) {
  const { from, to, start, followsWindow } = glide;
  const t = Math.max(0, Math.min(1, (time - start) / 350));
  const ease = t * t * (3 - 2 * t);
  const mix = (a, b) => a + (b - a) * ease;
  const going = glide;
  setView({ x: mix(from.x, to.x), y: mix(from.y, to.y), k: from.k * (to.k / from.k) ** ease });
  if (t < 1) glide = going;
  else setView(to, followsWindow);
}

// Zooms by `by` and keeps the place under the pointer (pixels of the canvas) where it is.
function zoom(by, px = overCanvas.width / 2, py = overCanvas.height / 2) {
  const [dx, dy] = [px - overCanvas.width / 2, py - overCanvas.height / 2];
  const before = { ...view };
  setView({ ...view, k: view.k * by });
  setView({ x: before.x + dx / before.k - dx / view.k, y: before.y + dy / before.k - dy / view.k, k: view.k });
}

const move = (dx, dy) => setView({ x: view.x - dx / view.k, y: view.y - dy / view.k, k: view.k });

function showScale() {
  const wanted = 90 * pixel() / view.k;
  const mm = [0.5, 1, 2, 5, 10, 20, 50, 100, 200].findLast((length) => length <= wanted) ?? 0.5;
  byId('scale').style.width = `${mm * view.k / pixel()}px`;
  byId('scale-text').textContent = `${mm} mm`;
}

function resize() {
  const { clientWidth, clientHeight } = byId('cloth');
  for (const canvas of [sewnCanvas, overCanvas]) {
    canvas.width = Math.max(1, Math.round(clientWidth * pixel()));
    canvas.height = Math.max(1, Math.round(clientHeight * pixel()));
  }
  if (whole) setView(fitting(room()), true);
  drawStrip();
  showScale();
  paint(); // at once, because a canvas is bare after a change of size
  redraw();
}

// ---- pieces

const pieceButtons = [];
function find(number, how = 'list') {
  const piece = pieces[number];
  if (!piece) return;
  found = found === piece && how === 'list' ? null : piece;
  pieceButtons.forEach((button, i) => button.setAttribute('aria-pressed', String(pieces[i] === found)));
  if (found?.box) {
    if (now < piece.end) {
      setPlaying(false);
      seek(piece.end);
    }
    const [x0, y0, x1, y1] = piece.box;
    const air = Math.max(3, 0.25 * Math.max(x1 - x0, y1 - y0));
    if (how === 'list') byId('cloth').scrollIntoView({ block: 'nearest' });
    if (how === 'list') glideTo(fitting([x0 - air, y0 - air, x1 + air, y1 + air]));
    say(`piece ${number + 1}, ${piece.name}, found`);
  }
  if (how === 'cloth') pieceButtons[number]?.scrollIntoView({ block: 'nearest' });
  redraw();
}

function lose() {
  found = null;
  pieceButtons.forEach((button) => button.setAttribute('aria-pressed', 'false'));
  redraw();
}

// The last stitch sewn within reach of a place on the fabric.
function pieceAt(x, y) {
  const reach = Math.max(design.threadWidth, 6 * pixel() / view.k);
  for (let i = sewn() - 1; i > 0; i--) {
    if (!joined[i]) continue;
    const [ax, ay, dx, dy] = [X[i - 1], Y[i - 1], X[i] - X[i - 1], Y[i] - Y[i - 1]];
    const t = Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy || 1)));
    if (Math.hypot(ax + dx * t - x, ay + dy * t - y) < reach) return pieceOf[i];
  }
  return -1;
}

// Lists the pieces from number `first` on, some hundred at a time so that long lists do not hold up the page.
function listPieces(first = 0) {
  const list = document.createDocumentFragment();
  const end = Math.min(pieces.length, first + 400);
  for (let number = first; number < end; number++) {
    const piece = pieces[number];
    const part = (kind, words) => {
      const span = document.createElement('span');
      span.className = kind;
      span.textContent = words;
      return span;
    };
    const button = document.createElement('button');
    button.type = 'button';
    button.setAttribute('aria-pressed', String(piece === found));
    if (number === toldPiece) button.setAttribute('aria-current', 'true');
    const dab = part('dab', '');
    dab.style.backgroundColor = threadOf(piece).color;
    const size = piece.box ? `${(piece.box[2] - piece.box[0]).toFixed(1)}\u00a0×\u00a0${(piece.box[3] - piece.box[1]).toFixed(1)}\u00a0mm` : '';
    const count = piece.end - piece.first;
    const figures = [piece.method, threadName(piece), `${numberText.format(count)}\u00a0stitches`,
      `${(piece.mm / 1000).toFixed(2)}\u00a0m`, size, timeText(clock[piece.end] - clock[piece.first])];
    button.append(dab, part('name', piece.name), part('turn', String(number + 1)), part('figures', figures.filter(Boolean).join(' · ')));
    button.addEventListener('click', () => find(number));
    const item = document.createElement('li');
    item.append(button);
    list.append(item);
    pieceButtons.push(button);
  }
  byId('pieces').append(list);
  if (end < pieces.length) setTimeout(listPieces, 30, end);
}

// The threads in sewing order, as a strip under the slider.
function drawStrip() {
  const strip = byId('strip');
  strip.width = Math.max(1, Math.round(strip.clientWidth * pixel()));
  strip.height = Math.max(1, Math.round(strip.clientHeight * pixel()));
  const context = strip.getContext('2d');
  pieces.forEach((piece, number) => {
    const [from, to] = [piece.first, piece.end].map((stitch) => Math.round(stitch / Math.max(1, total) * strip.width));
    context.fillStyle = threadOf(piece).color;
    context.fillRect(from, 0, to - from, strip.height);
    if (number && pieces.length < 200) {
      context.fillStyle = 'rgb(128 128 128 / 0.8)';
      context.fillRect(from, 0, 1, strip.height);
    }
  });
}
