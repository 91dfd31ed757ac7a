// Numbered flags: a pole that stands on its place, and a cloth that flies to the side where it hides least.

import { svg } from "./make.js";
import { filled, roomiest } from "./room.js";

const TURNS = [[1, 1], [-1, 1], [1, -1], [-1, -1]]; // to the right, to the left, and the same hanging down
const SMALL = 480; // px: on an editor this narrow flags are drawn smaller

/** Draw a flag; it is put up by flyFlags. */
export function drawFlag(parent, attributes, number) {
  const g = svg("g", attributes, parent);
  svg("path", { d: "M0 0V-30H24L18 -21L24 -12H0" }, g);
  svg("text", { x: 9, y: -16.5, "text-anchor": "middle" }, g).textContent = String(number);
  return g;
}

/** The number's box of a flag that stands at a point of the sheet, px. */
function box([x, y], [across, up], size) {
  return { left: x + (across > 0 ? -2 : -26) * size, top: y + (up > 0 ? -32 : 10) * size, width: 28 * size, height: 22 * size };
}

/** Put the flags {node, at} of a pane up where the viewport says, clear of its points, numbers and lines if they can be. */
export function flyFlags(pane, flags, { k, dx, dy }) {
  if (!flags.length) return;
  const size = pane.editor.root.clientWidth < SMALL ? 0.8 : 1;
  const taken = [...pane.inSight(), ...flags.map(({ at }) => [at[0] * k + dx, at[1] * k + dy])];
  for (const { node, at } of flags) {
    const p = [at[0] * k + dx, at[1] * k + dy];
    const boxes = TURNS.map((turn) => ({ ...box(p, turn, size), turn }));
    const whole = boxes.filter((b) => b.left >= 0 && b.top >= 0 && b.left + b.width <= pane.box.width && b.top + b.height <= pane.box.height);
    const found = roomiest(whole.length ? whole : boxes, taken);
    const [across, up] = found.turn;
    node.setAttribute("transform", `translate(${p[0]} ${p[1]}) scale(${size})`);
    node.firstChild.setAttribute("transform", `scale(${across} ${up})`);
    node.lastChild.setAttribute("x", across * 9);
    node.lastChild.setAttribute("y", up > 0 ? -16.5 : 25.5);
    node.place = found;
    taken.push(...filled(found));
  }
}
