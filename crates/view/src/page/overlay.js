// What is laid over the sewn thread: jumps, trims, needle points, density, the found piece, the needle.

const RAMP = design.ramp; // colours from little to much
const FULL = design.limits.tooMuch * 1.25;
const rampColor = (amount) => RAMP[Math.min(RAMP.length - 1, Math.floor(amount / FULL * RAMP.length))];

// Thread in each cell, mm/mm², on the report's grid: from the design's upper left corner, without
// floats. Counted once when it is first asked for, as [x, y, amount] with the cell's corner in mm.
const CELL = design.limits.cell;
let densityCells = null;
function density() {
  if (densityCells) return densityCells;
  const [left, top, right, bottom] = bounds;
  const columns = Math.max(1, Math.ceil((right - left) / CELL - 1e-9));
  const rows = Math.max(1, Math.ceil((bottom - top) / CELL - 1e-9));
  const cells = new Map();
  const cellOf = (x, y) => {
    const column = Math.min(columns - 1, Math.max(0, Math.floor((x - left) / CELL)));
    const row = Math.min(rows - 1, Math.max(0, Math.floor((y - top) / CELL)));
    return row * columns + column;
  };
  for (let i = 1; i < total; i++) {
    if (joined[i] !== 1) continue;
    const [ax, ay, bx, by] = [X[i - 1], Y[i - 1], X[i], Y[i]];
    const length = Math.hypot(bx - ax, by - ay);
    const cuts = [0, 1];
    for (const [a, b, origin] of [[ax, bx, left], [ay, by, top]]) {
      const [from, to] = [(a - origin) / CELL, (b - origin) / CELL];
      for (let edge = Math.floor(Math.min(from, to)) + 1; edge < Math.max(from, to); edge++) cuts.push((edge - from) / (to - from));
    }
    cuts.sort((a, b) => a - b);
    for (let part = 1; part < cuts.length; part++) {
      const middle = (cuts[part] + cuts[part - 1]) / 2;
      const cell = cellOf(ax + (bx - ax) * middle, ay + (by - ay) * middle);
      cells.set(cell, (cells.get(cell) ?? 0) + (cuts[part] - cuts[part - 1]) * length);
    }
  }
  densityCells = [...cells].map(([cell, length]) =>
    [left + (cell % columns) * CELL, top + Math.floor(cell / columns) * CELL, length / (CELL * CELL)]);
  return densityCells;
}

function drawDensity(context, { k, left, top }) {
  context.globalAlpha = 0.86;
  for (const [x, y, amount] of density()) {
    context.fillStyle = rampColor(amount);
    const [px, py] = [Math.round(left + x * k), Math.round(top + y * k)];
    context.fillRect(px, py, Math.round(left + (x + CELL) * k) - px, Math.round(top + (y + CELL) * k) - py);
  }
  context.globalAlpha = 1;
  context.strokeStyle = '#fff';
  context.lineWidth = Math.max(1, k * CELL * 0.06);
  context.beginPath();
  for (const [x, y, amount] of density()) {
    const at = (dx, dy) => [left + (x + dx * CELL) * k, top + (y + dy * CELL) * k];
    if (amount > design.limits.warn) {
      context.moveTo(...at(0.3, 0.7));
      context.lineTo(...at(0.7, 0.3));
    }
    if (amount > design.limits.tooMuch) {
      context.moveTo(...at(0.3, 0.3));
      context.lineTo(...at(0.7, 0.7));
    }
  }
  context.stroke();
}

function drawJumps(context, { k, left, top, pixel }, now) {
  context.beginPath();
  for (const { at, line } of jumps) {
    if (at >= now) break;
    for (let i = 0; i < line.length; i += 2) {
      context[i ? 'lineTo' : 'moveTo'](left + line[i] * k, top + line[i + 1] * k);
    }
  }
  haloed(context, pixel, 1.5, [5, 4]);
}

function drawTrims(context, { k, left, top, pixel }, now) {
  context.beginPath();
  const arm = 5 * pixel;
  for (let i = 0; i < now; i++) {
    if (!cutAfter[i]) continue;
    const [x, y] = [left + X[i] * k, top + Y[i] * k];
    context.moveTo(x - arm, y - arm);
    context.lineTo(x + arm, y + arm);
    context.moveTo(x - arm, y + arm);
    context.lineTo(x + arm, y - arm);
  }
  haloed(context, pixel, 2);
}

function drawPoints(context, { k, left, top, pixel }, now) {
  const side = Math.max(pixel * 1.5, Math.min(k * 0.14, 4 * pixel));
  context.fillStyle = '#000';
  for (let i = 0; i < now; i++) {
    context.fillRect(left + X[i] * k - side / 2, top + Y[i] * k - side / 2, side, side);
  }
}

// A line that can be seen on any colour: dark in a light seam.
function haloed(context, pixel, width, dash = []) {
  context.lineCap = dash.length ? 'butt' : 'round';
  context.strokeStyle = 'rgb(255 255 255 / 0.8)';
  context.lineWidth = (width + 2) * pixel;
  context.stroke();
  context.setLineDash(dash.map((length) => length * pixel));
  context.strokeStyle = '#16131f';
  context.lineWidth = width * pixel;
  context.stroke();
  context.setLineDash([]);
}

function drawFound(context, { k, left, top, pixel }, piece) {
  if (!piece?.box) return;
  const air = 8 * pixel;
  const [x0, y0, x1, y1] = piece.box;
  context.beginPath();
  context.roundRect(left + x0 * k - air, top + y0 * k - air, (x1 - x0) * k + 2 * air, (y1 - y0) * k + 2 * air, 6 * pixel);
  haloed(context, pixel, 2.5, [9, 6]);
}

function drawNeedle(context, { k, left, top, pixel }, now) {
  if (now < 1 || now >= total) return;
  const [x, y] = [left + X[now - 1] * k, top + Y[now - 1] * k];
  context.beginPath();
  context.arc(x, y, 7 * pixel, 0, 2 * Math.PI);
  haloed(context, pixel, 2);
  context.beginPath();
  context.arc(x, y, 1.6 * pixel, 0, 2 * Math.PI);
  context.fillStyle = '#16131f';
  context.fill();
}

(function drawDensityBar() {
  const bar = byId('density-bar');
  const context = bar.getContext('2d');
  for (let x = 0; x < bar.width; x++) {
    context.fillStyle = rampColor(x / bar.width * FULL);
    context.fillRect(x, 0, 1, bar.height);
  }
  context.fillStyle = '#fff';
  for (const limit of [design.limits.warn, design.limits.tooMuch]) context.fillRect(limit / FULL * bar.width - 1, 0, 2, bar.height);
})();
