// Thread on canvas: each stitch a dark rim, its colour, and a line of sheen that depends on its direction.

const LIGHT = [-0.43, -0.52]; // the way to the light over the fabric, as in the pictures
const SHADES = 12;

const channels = (color) => [1, 3, 5].map((at) => parseInt(color.slice(at, at + 2), 16));
const toColor = (rgb) => `rgb(${rgb.map((value) => Math.round(Math.min(255, Math.max(0, value)))).join(' ')})`;

// Colours of each thread by how it takes the light: [rim, body, sheen].
const inks = design.threads.map(({ color }) => {
  const rgb = channels(color);
  return Array.from({ length: SHADES + 1 }, (_, shade) => {
    const bright = shade / SHADES;
    return [
      toColor(rgb.map((value) => value * 0.66)),
      toColor(rgb.map((value) => value * (0.99 + 0.05 * bright) + 6 * bright)),
      toColor(rgb.map((value) => value * (1 + 0.08 * bright) + (255 - value) * (0.06 + 0.26 * bright) + 4)),
    ];
  });
});
const unknownInk = [['#555', '#808080', '#999']];

// The mean colour of sewn thread, for when single stitches are too fine to see.
const plainInk = design.threads.map(({ color }) => toColor(channels(color).map((value) => value * 0.95 + 3)));

const shadeOf = new Uint8Array(total);
for (let i = 1; i < total; i++) {
  if (!joined[i]) continue;
  const [dx, dy] = [X[i] - X[i - 1], Y[i] - Y[i - 1]];
  const length = Math.hypot(dx, dy);
  const along = length ? (dx * LIGHT[0] + dy * LIGHT[1]) / length : 1;
  shadeOf[i] = Math.round(SHADES * (1 - along * along / 0.4553) ** 2 || 0);
}

// Draws stitches `from` to `to` (not counted) as seen through `view` = {x, y, k}: the middle in mm and pixels per mm.
function drawStitches(context, view, from, to) {
  const { k } = view;
  const left = context.canvas.width / 2 - view.x * k;
  const top = context.canvas.height / 2 - view.y * k;
  const width = design.threadWidth * k;
  context.lineCap = 'round';
  context.lineJoin = 'round';
  if (width < 1.4) drawFine(context, { k, left, top, width }, from, to);
  else drawLit(context, { k, left, top, width }, from, to);
}

function drawFine(context, { k, left, top, width }, from, to) {
  context.lineWidth = Math.max(width, 0.7);
  let last = -1;
  for (let i = from; i < to; i++) {
    if (!joined[i]) continue;
    const thread = pieces[pieceOf[i]].thread;
    if (thread !== last) {
      if (last >= 0) context.stroke();
      context.strokeStyle = plainInk[thread] ?? unknownInk[0][1];
      context.beginPath();
      last = thread;
    }
    context.moveTo(left + X[i - 1] * k, top + Y[i - 1] * k);
    context.lineTo(left + X[i] * k, top + Y[i] * k);
  }
  if (last >= 0) context.stroke();
}

function drawLit(context, { k, left, top, width }, from, to) {
  const [w, h] = [context.canvas.width + width, context.canvas.height + width];
  const sheen = width >= 2.4;
  for (let i = from; i < to; i++) {
    if (!joined[i]) continue;
    const [ax, ay, bx, by] = [left + X[i - 1] * k, top + Y[i - 1] * k, left + X[i] * k, top + Y[i] * k];
    if ((ax < -width && bx < -width) || (ay < -width && by < -width) || (ax > w && bx > w) || (ay > h && by > h)) continue;
    const ink = (inks[pieces[pieceOf[i]].thread] ?? unknownInk)[shadeOf[i]] ?? unknownInk[0];
    context.beginPath();
    context.moveTo(ax, ay);
    if (joined[i] === 2) {
      const [sx, sy] = [(by - ay) * 0.05, (ax - bx) * 0.05];
      context.bezierCurveTo(ax + (bx - ax) / 3 - sx, ay + (by - ay) / 3 - sy,
        ax + (bx - ax) * 0.67 + sx * 0.4, ay + (by - ay) * 0.67 + sy * 0.4, bx, by);
    } else {
      context.lineTo(bx, by);
    }
    context.strokeStyle = ink[0];
    context.lineWidth = width;
    context.stroke();
    context.strokeStyle = ink[1];
    context.lineWidth = width * 0.74;
    context.stroke();
    if (!sheen) continue;
    context.beginPath();
    context.moveTo(ax + (bx - ax) * 0.16, ay + (by - ay) * 0.16);
    context.lineTo(ax + (bx - ax) * 0.84, ay + (by - ay) * 0.84);
    context.strokeStyle = ink[2];
    context.lineWidth = width * 0.3;
    context.stroke();
  }
}

// A sheet of sewn stitches for one view, with copies kept on the way so that time runs back quickly.
class Sheet {
  constructor(width, height, view) {
    this.view = { ...view };
    this.canvas = Object.assign(document.createElement('canvas'), { width, height });
    this.context = this.canvas.getContext('2d');
    this.done = 0;
    const copies = Math.max(4, Math.min(24, Math.floor(2.4e7 / (width * height))));
    this.every = Math.max(400, Math.ceil(total / copies));
    this.copies = [];
  }

  // Draws on towards stitch `to` for at most `ms`; true when it is there.
  sewTo(to, ms) {
    if (to < this.done) this.rewind(to);
    const until = performance.now() + ms;
    while (this.done < to) {
      const border = (Math.floor(this.done / this.every) + 1) * this.every;
      const next = Math.min(to, border, this.done + 400);
      drawStitches(this.context, this.view, this.done, next);
      this.done = next;
      if (next === border) this.keep(next / this.every);
      if (performance.now() > until) return this.done >= to;
    }
    return true;
  }

  keep(number) {
    if (this.copies[number]) return;
    const copy = Object.assign(document.createElement('canvas'), { width: this.canvas.width, height: this.canvas.height });
    copy.getContext('2d').drawImage(this.canvas, 0, 0);
    this.copies[number] = copy;
  }

  rewind(to) {
    const number = Math.floor(to / this.every);
    const copy = this.copies[number];
    this.context.clearRect(0, 0, this.canvas.width, this.canvas.height);
    if (copy) this.context.drawImage(copy, 0, 0);
    this.done = copy ? number * this.every : 0;
  }
}

// Plain weave as a pattern of light and shade; its pitch follows the view.
const weave = (() => {
  const size = 32;
  const tile = Object.assign(document.createElement('canvas'), { width: size, height: size });
  const context = tile.getContext('2d');
  const half = size / 2;
  for (const [column, row] of [[0, 0], [1, 0], [0, 1], [1, 1]]) {
    const upright = column === row;
    const [x, y] = [column * half, row * half];
    const shade = upright ? context.createLinearGradient(x, 0, x + half, 0) : context.createLinearGradient(0, y, 0, y + half);
    shade.addColorStop(0, 'rgb(0 0 0 / 0.09)');
    shade.addColorStop(0.5, upright ? 'rgb(255 255 255 / 0.16)' : 'rgb(255 255 255 / 0.05)');
    shade.addColorStop(1, 'rgb(0 0 0 / 0.09)');
    context.fillStyle = shade;
    context.fillRect(x, y, half, half);
  }
  return tile;
})();

function drawFabric(context, view, color) {
  const { width, height } = context.canvas;
  context.fillStyle = color;
  context.fillRect(0, 0, width, height);
  const scale = 0.84 * view.k / weave.width;
  if (!design.woven || scale < 0.12) return;
  const pattern = context.createPattern(weave, 'repeat');
  pattern.setTransform(new DOMMatrix([scale, 0, 0, scale, width / 2 - view.x * view.k, height / 2 - view.y * view.k]));
  context.fillStyle = pattern;
  context.fillRect(0, 0, width, height);
}
