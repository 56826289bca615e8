// What the page knows: the packed plan, unpacked into flat arrays.
const byId = (id) => document.getElementById(id);
const design = JSON.parse(byId('design').textContent);

// One entry a needle point. joined: 1 thread comes from the point before, 2 it is dragged loosely.
const total = design.stitches;
const X = new Float64Array(total);
const Y = new Float64Array(total);
const kindOf = new Uint8Array(total);
const joined = new Uint8Array(total);
const pieceOf = new Uint32Array(total);
const cutAfter = new Uint8Array(total);
const jumps = []; // {at, line: [x, y, ...]}: the way of the frame before needle point `at`
const pieces = design.pieces.map((piece) => ({ ...piece, first: 0, end: 0, mm: 0, trims: 0, box: null }));
const KINDS = ['underlay', 'top', 'travel', 'tie'];

(function unpack() {
  const bytes = Uint8Array.from(atob(design.passes), (letter) => letter.charCodeAt(0));
  let place = 0;
  const whole = () => {
    let value = 0;
    let unit = 1;
    for (;;) {
      const byte = bytes[place++];
      value += (byte & 127) * unit;
      if (byte < 128) return value;
      unit *= 128;
    }
  };
  const signed = () => {
    const value = whole();
    return value % 2 ? -(value + 1) / 2 : value / 2;
  };
  let x = 0;
  let y = 0;
  let i = 0;
  let thread = false; // thread hangs from the needle to the fabric
  pieces.forEach((piece, number) => {
    piece.first = i;
    for (let pass = 0; pass < piece.passes; pass++) {
      const head = whole();
      const count = whole();
      const ways = whole();
      const line = [x / 100, y / 100];
      for (let jump = 0; jump < ways; jump++) {
        x += signed();
        y += signed();
        line.push(x / 100, y / 100);
      }
      for (let point = 0; point < count; point++, i++) {
        x += signed();
        y += signed();
        X[i] = x / 100;
        Y[i] = y / 100;
        kindOf[i] = head & 3;
        pieceOf[i] = number;
        if (thread) {
          joined[i] = point === 0 && ways ? 2 : 1;
          piece.mm += Math.hypot(X[i] - X[i - 1], Y[i] - Y[i - 1]);
        }
        if (point === 0 && ways) jumps.push({ at: i, line: i ? [...line, X[i], Y[i]] : [] });
        thread = true;
        const box = piece.box ??= [X[i], Y[i], X[i], Y[i]];
        box[0] = Math.min(box[0], X[i]);
        box[1] = Math.min(box[1], Y[i]);
        box[2] = Math.max(box[2], X[i]);
        box[3] = Math.max(box[3], Y[i]);
      }
      if (head & 4) {
        thread = false;
        piece.trims++;
        if (i) cutAfter[i - 1] = 1;
      }
    }
    piece.end = i;
  });
})();

const bounds = pieces.reduce((all, { box }) => !box ? all : !all ? [...box] :
  [Math.min(all[0], box[0]), Math.min(all[1], box[1]), Math.max(all[2], box[2]), Math.max(all[3], box[3])], null)
  ?? [-5, -5, 5, 5];

// Seconds of sewing from the first stitch up to each one.
const clock = new Float64Array(total + 1);
for (let i = 0; i < total; i++) {
  const piece = pieces[pieceOf[i]];
  const before = i > 0 ? pieces[pieceOf[i - 1]] : piece;
  const change = piece.thread !== before.thread ? design.pace.change : 0;
  clock[i + 1] = clock[i] + 60 / design.pace.stitches + change + (cutAfter[i] ? design.pace.trim : 0);
}

const numberText = new Intl.NumberFormat('en-GB');
const timeText = (seconds) => {
  const minutes = Math.max(1, Math.round(seconds / 60));
  if (seconds < 59) return `${Math.ceil(seconds)} s`;
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')} min`;
};
const threadOf = (piece) => design.threads[piece?.thread] ?? { color: '#808080', name: null };
const threadName = (piece) => {
  const thread = threadOf(piece);
  return thread.name ?? `Thread ${(piece?.thread ?? 0) + 1}, ${thread.color}`;
};
