// What a dragged end or point falls into when it comes near: landmarks, level with the other end, square to an edge.
// The Alt key keeps everything free.

import { distance, nearest } from "./geometry.js";
import { endPx } from "./places.js";

const NEAR = 5; // px of the screen

/** Distances along a measured polyline at which it crosses a height. */
function crossings(line, y) {
  const found = [];
  for (let i = 1; i < line.points.length; i += 1) {
    const [a, b] = [line.points[i - 1], line.points[i]];
    if ((a[1] - y) * (b[1] - y) > 0 || a[1] === b[1]) continue;
    found.push(line.at[i - 1] + ((y - a[1]) / (b[1] - a[1])) * (line.at[i] - line.at[i - 1]));
  }
  return found;
}

const spoken = (landmark) => (landmark === "start" || landmark === "end" ? "its end" : `the ${landmark.replace(/-/g, " ")}`);

/**
 * Let an end that is on an edge fall into place: gives the end with a word for what it fell into, or as it was.
 * toward: the point next to it on its line, px; level: points that it may be level with, px.
 */
export function snapEnd(pane, end, edge, along, toward, level) {
  const { k } = pane.editor.port.place(pane);
  const tries = [
    { along: 0, word: `at ${spoken(edge.start)}` },
    { along: edge.length, word: `at ${spoken(edge.end)}` },
  ];
  for (const q of level) for (const at of crossings(edge, q[1])) tries.push({ along: at, word: "level" });
  if (toward && !edge.middle) tries.push({ along: nearest(edge, toward).along, word: `square to the ${edge.label}` });
  let best = null;
  for (const t of tries) {
    const gap = Math.abs(t.along - along) * k;
    if (gap <= NEAR && (!best || gap < best.gap)) best = { ...t, gap };
  }
  if (!best) return end;
  const mm = (end.landmark === edge.end && edge.end !== edge.start ? edge.length - best.along : best.along) * pane.view.mm_per_px;
  return { ...end, distance_mm: Math.round(mm * 1000) / 1000, snapped: best.word };
}

/** Let a point between fall level with an end of its line; gives [point, word]. */
export function snapPoint(pane, line, p) {
  const { k } = pane.editor.port.place(pane);
  for (const end of [line.end, line.start]) {
    const q = end && endPx(pane, end);
    if (q && Math.abs(q[1] - p[1]) * k <= NEAR && distance(p, q) * k > NEAR) return [[p[0], q[1]], "level with its end"];
  }
  return [p, ""];
}
