// Where a piece lies on cloth, in mm, y up: what a placement means, and what is wrong with it. Outlines are lists of
// points, closed without repeating the first. The exact word is Python's; this is for while a piece is in the hand.

const RAD = Math.PI / 180;
const LEVELS = 24;

/** Mirror about the outline's own y axis if mirrored, turn counter-clockwise by the angle, move. */
export function placed(outline, p) {
  const c = Math.cos(p.angle * RAD);
  const s = Math.sin(p.angle * RAD);
  return outline.map(([x0, y]) => {
    const x = p.mirrored ? -x0 : x0;
    return [c * x - s * y + p.x, s * x + c * y + p.y];
  });
}

export function boxOf(points) {
  const xs = points.map((p) => p[0]);
  const ys = points.map((p) => p[1]);
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

export function middleOf(points) {
  let area = 0;
  let cx = 0;
  let cy = 0;
  for (let i = 0; i < points.length; i += 1) {
    const [x0, y0] = points[i];
    const [x1, y1] = points[(i + 1) % points.length];
    const k = x0 * y1 - x1 * y0;
    area += k;
    cx += (x0 + x1) * k;
    cy += (y0 + y1) * k;
  }
  return area ? [cx / (3 * area), cy / (3 * area)] : points[0];
}

export function inside(ring, [x, y]) {
  let odd = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i, i += 1) {
    const [xi, yi] = ring[i];
    const [xj, yj] = ring[j];
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) odd = !odd;
  }
  return odd;
}

/** A point well inside an outline and its distance from the edge: the middle of a hollow piece lies outside of it. */
export function roomiest(ring) {
  const [, y0, , y1] = boxOf(ring);
  let best = { point: middleOf(ring), room: 0 };
  for (let k = 1; k < LEVELS; k += 1) {
    const y = y0 + ((y1 - y0) * k) / LEVELS;
    const xs = [];
    ring.forEach((a, i) => {
      const b = ring[(i + 1) % ring.length];
      if (a[1] > y !== b[1] > y) xs.push(a[0] + ((b[0] - a[0]) * (y - a[1])) / (b[1] - a[1]));
    });
    xs.sort((p, q) => p - q);
    for (let i = 0; i + 1 < xs.length; i += 2) {
      const point = [(xs[i] + xs[i + 1]) / 2, y];
      const room = away(ring, point);
      if (room > best.room + 1e-9) best = { point, room };
    }
  }
  return best;
}

function side(a, b, p) {
  return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
}

function crossing(a, b, c, d) {
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

/** Whether two outlines cross each other. */
export function cross(one, other) {
  const [x0, y0, x1, y1] = boxOf(other);
  for (let i = 0; i < one.length; i += 1) {
    const a = one[i];
    const b = one[(i + 1) % one.length];
    if (Math.max(a[0], b[0]) < x0 || Math.min(a[0], b[0]) > x1 || Math.max(a[1], b[1]) < y0 || Math.min(a[1], b[1]) > y1) continue;
    for (let j = 0; j < other.length; j += 1) if (crossing(a, b, other[j], other[(j + 1) % other.length])) return true;
  }
  return false;
}

/** Whether two outlines have cloth in common. */
export function overlap(one, other) {
  const a = boxOf(one);
  const b = boxOf(other);
  if (a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1]) return false;
  return cross(one, other) || inside(other, middleOf(one)) || inside(one, middleOf(other));
}

/** Whether an outline lies wholly on cloth with holes and flaws. */
export function onCloth(shape, scrap) {
  const ring = scrap.outline[0];
  if (!inside(ring, middleOf(shape)) || cross(shape, ring)) return false;
  if (shape.some((p) => !inside(ring, p) && away(ring, p) > 0.05)) return false;
  return !scrap.holes.some((hole) => overlap(shape, hole));
}

function away(ring, p) {
  let least = Infinity;
  for (let i = 0; i < ring.length; i += 1) {
    const a = ring[i];
    const b = ring[(i + 1) % ring.length];
    const d = [b[0] - a[0], b[1] - a[1]];
    const t = Math.max(0, Math.min(1, ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / (d[0] * d[0] + d[1] * d[1] || 1)));
    least = Math.min(least, Math.hypot(a[0] + t * d[0] - p[0], a[1] + t * d[1] - p[1]));
  }
  return least;
}

/** The angle at which a piece lies along the grain of a scrap, plus a turn. */
export function angleOf(piece, scrap, turn) {
  return (((scrap.grain - (piece.mirrored ? -piece.grain : piece.grain) + turn) % 360) + 360) % 360;
}

/** How a piece is turned from the grain, −180 to 180. */
function turnOf(piece, scrap, angle) {
  const t = angle - scrap.grain + (piece.mirrored ? -piece.grain : piece.grain);
  return ((((t + 180) % 360) + 360) % 360) - 180;
}

/** What is wrong with the grain, in words, or an empty text. */
export function grainTrouble(piece, scrap, angle) {
  const turn = turnOf(piece, scrap, angle);
  const allowed = piece.turns[scrap.name] || [0];
  if (allowed.some((t) => Math.abs(((((turn - t + 180) % 360) + 360) % 360) - 180) < 0.05)) return "";
  const off = Math.abs(((((turn + 90) % 180) + 180) % 180) - 90);
  if (off < 0.05) return "points the other way on one-way cloth";
  if (off > 89.9) return "lies across the grain";
  return `lies ${off < 10 ? off.toFixed(1) : Math.round(off)}° off the grain`;
}
