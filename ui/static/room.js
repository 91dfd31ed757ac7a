// Where there is room over the garment: of several places for a label, the one that hides least.

const inside = ({ left, top, width, height }, [x, y]) => x > left && x < left + width && y > top && y < top + height;

/** Of several boxes {left, top, width, height} the one that hides the fewest of the points; the earlier one where as many. */
export function roomiest(boxes, points) {
  let best = null;
  for (const box of boxes) {
    let hidden = 0;
    for (const p of points) if (inside(box, p)) hidden += 1;
    if (!best || hidden < best.hidden) best = { box, hidden };
    if (!hidden) break;
  }
  return best.box;
}

/** The same size of box beside, above and below a box, kept inside a room of {width, height}. */
export function around(what, { width, height }, room, gap, below = true) {
  const [cx, cy] = [what.left + what.width / 2, what.top + what.height / 2];
  const at = (left, top) => ({ left: Math.round(Math.max(4, Math.min(room.width - width - 4, left))), top: Math.round(Math.max(4, Math.min(room.height - height - 4, top))), width, height });
  const [right, left] = [what.left + what.width + gap, what.left - width - gap];
  const above = what.top - height - gap;
  const boxes = [at(right, cy - height / 2), at(left, cy - height / 2), at(cx - width / 2, above), at(right, above), at(left, above)];
  if (below) {
    const under = what.top + what.height + gap;
    boxes.push(at(cx - width / 2, under), at(right, under), at(left, under));
  }
  return boxes;
}

/** Points every few px round a box: whoever hides one of them hides some of the box. */
export function filled({ left, top, width, height }) {
  const points = [];
  for (let i = 0; i <= 4; i += 1) for (let j = 0; j <= 4; j += 1) points.push([left + (width * i) / 4, top + (height * j) / 4]);
  return points;
}
