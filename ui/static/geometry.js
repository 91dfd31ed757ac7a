// Plane geometry of the line editor. Picture px, y down; a length in mm is px times the view's scale.
// The shapes drawn here while a point is dragged are for the eye: on release Python places the line exactly.

const sub = (a, b) => [a[0] - b[0], a[1] - b[1]];
const add = (a, b) => [a[0] + b[0], a[1] + b[1]];
const mul = (a, k) => [a[0] * k, a[1] * k];
export const distance = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** A polyline with the distance of every vertex from its start, px. */
export function measured(points) {
  const at = [0];
  for (let i = 1; i < points.length; i += 1) at.push(at[i - 1] + distance(points[i - 1], points[i]));
  return { points, at, length: at[at.length - 1] };
}

/** The point of a measured polyline at a distance from its start, clamped to its ends. */
export function pointAt(line, along) {
  const s = Math.min(Math.max(along, 0), line.length);
  let i = 1;
  while (i < line.at.length - 1 && line.at[i] < s) i += 1;
  const span = line.at[i] - line.at[i - 1];
  const k = span > 0 ? (s - line.at[i - 1]) / span : 0;
  return add(line.points[i - 1], mul(sub(line.points[i], line.points[i - 1]), k));
}

/** The nearest place of a measured polyline: its point, its distance along, and how far off it is. */
export function nearest(line, p) {
  let best = { point: line.points[0], along: 0, gap: distance(line.points[0], p) };
  for (let i = 1; i < line.points.length; i += 1) {
    const a = line.points[i - 1];
    const d = sub(line.points[i], a);
    const square = d[0] * d[0] + d[1] * d[1];
    if (square === 0) continue;
    const v = sub(p, a);
    const t = Math.min(1, Math.max(0, (v[0] * d[0] + v[1] * d[1]) / square));
    const point = add(a, mul(d, t));
    const gap = distance(point, p);
    if (gap < best.gap) best = { point, along: line.at[i - 1] + t * Math.sqrt(square), gap };
  }
  return best;
}

const straight = (a, b) => [a, add(a, mul(sub(b, a), 1 / 3)), add(a, mul(sub(b, a), 2 / 3)), b];

/** Straight cubics from point to point. */
export function chain(points) {
  const cubics = [];
  for (let i = 1; i < points.length; i += 1) cubics.push(straight(points[i - 1], points[i]));
  return cubics;
}

/** The circle through three points as cubics; straight when they lie in a line. */
export function arc(a, b, c) {
  const [ax, ay] = sub(a, b);
  const [cx, cy] = sub(c, b);
  const cross = 2 * (ax * cy - ay * cx);
  if (Math.abs(cross) < 1e-6 * (ax * ax + ay * ay + cx * cx + cy * cy)) return chain([a, c]);
  const a2 = ax * ax + ay * ay;
  const c2 = cx * cx + cy * cy;
  const centre = [b[0] + (cy * a2 - ay * c2) / cross, b[1] + (ax * c2 - cx * a2) / cross];
  const radius = distance(a, centre);
  const angle = (p) => Math.atan2(p[1] - centre[1], p[0] - centre[0]);
  const turn = 2 * Math.PI;
  const from = angle(a);
  const ahead = (p) => (((angle(p) - from) % turn) + turn) % turn;
  const sweep = ahead(b) <= ahead(c) ? ahead(c) : ahead(c) - turn;
  const parts = Math.max(1, Math.ceil(Math.abs(sweep) / (Math.PI / 2)));
  const step = sweep / parts;
  const k = (4 / 3) * Math.tan(step / 4) * radius;
  const cubics = [];
  for (let i = 0; i < parts; i += 1) {
    const [s, e] = [from + i * step, from + (i + 1) * step];
    const p = [centre[0] + radius * Math.cos(s), centre[1] + radius * Math.sin(s)];
    const q = [centre[0] + radius * Math.cos(e), centre[1] + radius * Math.sin(e)];
    cubics.push([p, [p[0] - k * Math.sin(s), p[1] + k * Math.cos(s)], [q[0] + k * Math.sin(e), q[1] - k * Math.cos(e)], q]);
  }
  cubics[0][0] = a;
  cubics[parts - 1][3] = c;
  return cubics;
}

/** Natural cubic spline over the chord lengths, as cubics. */
export function smooth(points) {
  const p = points.filter((q, i) => i === 0 || distance(q, points[i - 1]) > 1e-9);
  const n = p.length - 1;
  if (n < 2) return chain(p);
  const h = [];
  for (let i = 0; i < n; i += 1) h.push(distance(p[i], p[i + 1]));
  // Second derivatives by the tridiagonal system; zero at both ends.
  const m = p.map(() => [0, 0]);
  const diagonal = [];
  const right = [];
  for (let i = 1; i < n; i += 1) {
    const slope = sub(mul(sub(p[i + 1], p[i]), 1 / h[i]), mul(sub(p[i], p[i - 1]), 1 / h[i - 1]));
    let d = 2 * (h[i - 1] + h[i]);
    let r = mul(slope, 6);
    if (i > 1) {
      const w = h[i - 1] / diagonal[i - 2];
      d -= w * h[i - 1];
      r = sub(r, mul(right[i - 2], w));
    }
    diagonal.push(d);
    right.push(r);
  }
  for (let i = n - 1; i >= 1; i -= 1) m[i] = mul(sub(right[i - 1], mul(m[i + 1], i < n - 1 ? h[i] : 0)), 1 / diagonal[i - 1]);
  const cubics = [];
  for (let i = 0; i < n; i += 1) {
    const chord = mul(sub(p[i + 1], p[i]), 1 / h[i]);
    const out = sub(chord, mul(add(mul(m[i], 2), m[i + 1]), h[i] / 6));
    const into = add(chord, mul(add(m[i], mul(m[i + 1], 2)), h[i] / 6));
    cubics.push([p[i], add(p[i], mul(out, h[i] / 3)), sub(p[i + 1], mul(into, h[i] / 3)), p[i + 1]]);
  }
  return cubics;
}

/** Join a line's points as its kind says. */
export function shape(kind, points) {
  if (points.length < 3 || kind === "straight" || kind === "polyline") return chain(points);
  if (kind === "arc" && points.length === 3) return arc(points[0], points[1], points[2]);
  return smooth(points);
}

/** A closed curve through points and back to the first, for the eye: the middle third of three rounds of a spline. */
function smoothRound(points) {
  const n = points.length;
  return smooth([...points, ...points, ...points, points[0]]).slice(n, 2 * n);
}

/** The whole circle through three points. */
function circle([a, b, c]) {
  const there = arc(a, b, c);
  if (there.length === 1) return chain([a, c, a]);
  const [p, q] = [there[0][0], there[there.length - 1][3]];
  const x = sub(b, a);
  const y = sub(c, a);
  const cross = 2 * (x[0] * y[1] - x[1] * y[0]);
  const [x2, y2] = [x[0] * x[0] + x[1] * x[1], y[0] * y[0] + y[1] * y[1]];
  const middle = add(a, [(y[1] * x2 - x[1] * y2) / cross, (x[0] * y2 - y[0] * x2) / cross]);
  const off = sub(mul(add(p, q), 0.5), middle);
  const radius = distance(a, middle);
  const size = Math.hypot(...off);
  const between = size > 1e-9 ? mul(off, radius / size) : [middle[1] - a[1], a[0] - middle[0]];
  const far = sub(b, middle)[0] * between[0] + sub(b, middle)[1] * between[1] > 0 ? sub(middle, between) : add(middle, between);
  return [...there, ...arc(q, far, p)];
}

/** A closed shape: its points, the first again at the end. */
function round(kind, points) {
  const ring = points.slice(0, -1);
  if (kind === "polyline" || kind === "straight") return chain(points);
  return kind === "arc" && ring.length === 3 ? circle(ring) : smoothRound(ring);
}

/** Bend the last leg of a half so that it meets the middle at a right angle: a mirrored line has no kink there. */
function squareAtMiddle(half) {
  const [a, , , b] = half[half.length - 1];
  const [x, y] = sub(b, a);
  const third = distance(a, b) / 3;
  if (Math.abs(y) < 1e-3 * Math.abs(x)) return;
  half[half.length - 1] = [a, add(a, [x / 3, y / 3]), sub(b, [Math.sign(x) * third, 0]), b];
}

/** The whole visible line: a half is mirrored about x = mirror and runs on without a kink unless one is wanted. */
export function whole(line, points, mirror) {
  if (line.start && line.start.edge === "free") return round(line.kind, points);
  if (!line.symmetric || mirror == null) return shape(line.kind, points);
  const twin = points.slice(0, -1).reverse().map(([x, y]) => [2 * mirror - x, y]);
  if (line.kinked || line.kind === "straight" || line.kind === "polyline") {
    const half = shape(line.kind, points);
    if (!line.kinked) squareAtMiddle(half);
    return half.concat([...half].reverse().map((c) => [...c].reverse().map(([x, y]) => [2 * mirror - x, y])));
  }
  if (line.kind === "arc" && points.length === 2) return arc(points[0], points[1], twin[0]);
  return smooth(points.concat(twin));
}

/** Points along cubics, for the eye. */
export const flat = (cubics) => cubics.flatMap(([a, b, c, d]) => [0, 0.25, 0.5, 0.75].map((t) => {
  const s = 1 - t;
  return add(add(mul(a, s * s * s), mul(b, 3 * s * s * t)), add(mul(c, 3 * s * t * t), mul(d, t * t * t)));
}));

const n = (v) => Math.round(v * 100) / 100;

/** Cubics as the d attribute of a path. */
export function pathData(cubics) {
  let d = `M${n(cubics[0][0][0])} ${n(cubics[0][0][1])}`;
  for (const c of cubics) d += `C${n(c[1][0])} ${n(c[1][1])} ${n(c[2][0])} ${n(c[2][1])} ${n(c[3][0])} ${n(c[3][1])}`;
  return d;
}

/** A length in the person's unit: '52 mm', '5.2 cm', '2 1/16 in'. */
export function lengthText(mm, unit) {
  if (unit === "cm") return `${Math.round(mm) / 10} cm`;
  if (unit !== "in") return `${Math.round(mm)} mm`;
  let sixteenths = Math.round((Math.abs(mm) / 25.4) * 16);
  const sign = mm < 0 && sixteenths ? "−" : "";
  const inches = Math.floor(sixteenths / 16);
  sixteenths -= inches * 16;
  let under = 16;
  while (sixteenths && sixteenths % 2 === 0) {
    sixteenths /= 2;
    under /= 2;
  }
  if (!sixteenths) return `${sign}${inches} in`;
  return `${sign}${inches ? `${inches} ` : ""}${sixteenths}/${under} in`;
}

/** An area in the person's unit: '148 cm²', '23 in²'. */
export const areaText = (mm2, unit) => (unit === "in" ? `${Math.round(mm2 / 645.16)} in²` : `${Math.round(mm2 / 100)} cm²`);

/** A length of seam, in whole cm or inches. */
export const seamText = (mm, unit) => (unit === "in" ? `${Math.round(mm / 25.4)} in` : `${Math.round(mm / 10)} cm`);

/** The step that a drag snaps to, mm: a whole mm, or an eighth of an inch. */
export const snapStep = (unit) => (unit === "in" ? 25.4 / 8 : 1);
