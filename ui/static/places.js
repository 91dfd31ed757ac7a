// Where a line's ends and points are on a picture: along the garment's edges in mm, in shares of the body, in px.

import { lengthText, nearest, pointAt, snapStep } from "./geometry.js";

/** The edge that an end is on, in a pane; a line without a side is drawn from the wearer's left. */
export function edgeOf(pane, end) {
  if (!end) return null;
  const side = end.side || "left";
  return pane.edgeLines.find((e) => e.name === end.edge && (!e.side || e.side === side)) || null;
}

/** Where an end is, px; null when its edge is not on this picture. */
export function endPx(pane, end) {
  const edge = edgeOf(pane, end);
  if (!edge) return null;
  const along = end.distance_mm / pane.view.mm_per_px;
  return pointAt(edge, end.landmark === edge.end && edge.end !== edge.start ? edge.length - along : along);
}

/** Where a picture point is on the nearest edge that passes the test, as a line's end. */
export function endAt(pane, p, unit, { fits = null, landmark = null, free = false, snap = null } = {}) {
  let best = null;
  for (const edge of pane.edgeLines) {
    if (fits && !fits(edge)) continue;
    const hit = nearest(edge, p);
    if (!best || hit.gap < best.hit.gap - 0.5) best = { edge, hit };
  }
  if (!best) return null;
  const { edge, hit } = best;
  const k = pane.view.mm_per_px;
  const fromEnd = landmark ? landmark === edge.end && edge.end !== edge.start : edge.measure === "end";
  let mm = (fromEnd ? edge.length - hit.along : hit.along) * k;
  const step = snapStep(unit);
  if (!free) mm = Math.min(Math.round(mm / step) * step, edge.length * k);
  const end = { edge: edge.name, landmark: fromEnd ? edge.end : edge.start, distance_mm: Math.round(mm * 1000) / 1000, side: edge.side || null, text: "", gap: hit.gap };
  return snap && !free ? snap(end, edge, hit.along) : end;
}

/** A point in shares of the body as px. */
export function toPx(view, [u, v]) {
  const b = view.body;
  return [b.x + b.sign * u * b.half, b.bottom - v * (b.bottom - b.top)];
}

/** A point in px as shares of the body. */
export function toShare(view, [x, y]) {
  const b = view.body;
  return [(b.sign * (x - b.x)) / b.half, (b.bottom - y) / (b.bottom - b.top)];
}

/** Whether a line is a closed shape that ends on no edge. */
export const isFree = (line) => Boolean(line.start && line.start.edge === "free");

/** Start, points between and end of a line, px; of a closed shape its points and the first again. Null when an end is not on this picture. */
export function pointsOf(pane, line) {
  if (isFree(line)) {
    const ring = (line.through || []).map((p) => toPx(pane.view, p));
    return ring.length > 2 ? [...ring, ring[0]] : null;
  }
  const a = endPx(pane, line.start);
  const b = endPx(pane, line.end);
  if (!a || !b) return null;
  return [a, ...(line.through || []).map((p) => toPx(pane.view, p)), b];
}

/** The points between of a line whose ends moved since `before`: each goes along by what the two ends moved, linearly. */
export function pointsAlong(pane, line, before) {
  const old = pane && before.through && before.through.length ? pointsOf(pane, before) : null;
  const [a, b] = old ? [endPx(pane, line.start), endPx(pane, line.end)] : [];
  if (!a || !b) return before.through || [];
  const last = old[old.length - 1];
  const by = [a[0] - old[0][0], a[1] - old[0][1], b[0] - last[0], b[1] - last[1]];
  if (!by.some((d) => Math.abs(d) > 1e-9)) return before.through;
  const run = [0];
  for (let i = 1; i < old.length; i += 1) run.push(run[i - 1] + Math.hypot(old[i][0] - old[i - 1][0], old[i][1] - old[i - 1][1]));
  return before.through.map((_, i) => {
    const t = run[i + 1] / (run[run.length - 1] || 1);
    const p = old[i + 1];
    const [u, v] = toShare(pane.view, [p[0] + (1 - t) * by[0] + t * by[2], p[1] + (1 - t) * by[1] + t * by[3]]);
    return [line.symmetric ? Math.max(u, 0) : u, v];
  });
}

/** Where a closed shape lies and how large it is, mm, by the points that are drawn: {across, up, wide, high}. */
export function boxOf(pane, points) {
  const b = pane.view.body;
  const k = pane.view.mm_per_px;
  const [xs, ys] = [points.map((p) => p[0]), points.map((p) => p[1])];
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  return { across: Math.abs((x0 + x1) / 2 - b.x) * k, up: (b.bottom - (y0 + y1) / 2) * k, wide: (x1 - x0) * k, high: (y1 - y0) * k };
}

/** An end in words: 'side seam, 52 mm below the underarm'. */
export function endWords(scene, pane, end) {
  const edge = edgeOf(pane, end);
  if (!edge) return "not on this picture";
  const from = end.landmark === edge.end && edge.end !== edge.start ? edge.words_end : edge.words_start;
  const about = scene.views.some((v) => v.scale_measured === false) ? "about " : "";
  return `${edge.label}, ${about}${lengthText(end.distance_mm, scene.unit)} ${from}`;
}

const OTHER = { left: "right", right: "left" };
const acrossEnd = (end) => ({ ...end, side: OTHER[end.side] || end.side });
/** A line as its mirror image on the other side of the wearer. */
export const mirrored = (line) => ({ kind: line.kind, start: acrossEnd(line.start), end: acrossEnd(line.end), through: (line.through || []).map(([u, v]) => [-u, v]) });

/** Whether two lines are mirror images of each other, one on each side of the wearer. */
function isTwin(a, b) {
  if (a.id === b.id || a.side !== b.side || a.symmetric || b.symmetric || !a.start || isFree(a) !== isFree(b) || !(a.start.side || isFree(a)) || (a.through || []).length !== (b.through || []).length) return false;
  const m = mirrored(a);
  const same = (p, q) => p.edge === q.edge && p.landmark === q.landmark && p.side === q.side && Math.abs(p.distance_mm - q.distance_mm) < 0.01;
  return same(m.start, b.start) && same(m.end, b.end) && m.through.every(([u, v], i) => Math.hypot(u - b.through[i][0], v - b.through[i][1]) < 1e-4);
}

/**
 * Lines that move along: the one that goes on over the shared seam keeps its start at the same distance, and a mirror
 * image stays one. Each as {line, before, twin}.
 */
export function companions(lines, line) {
  const found = [];
  const add = (l, twin) => {
    if (l.id !== line.id && !found.some((f) => f.line === l)) found.push({ line: l, before: structuredClone(l), twin });
  };
  const carried = (of) => lines.filter((l) => l.id !== of.id && (l.carries === of.id || (of.carries && of.carries === l.id)));
  const twin = lines.find((l) => isTwin(line, l));
  carried(line).forEach((l) => add(l, false));
  if (twin) {
    add(twin, true);
    carried(twin).forEach((l) => add(l, false));
  }
  return found;
}
