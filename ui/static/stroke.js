// A stroke drawn with the pointer held down, as the few points that a line keeps of it.

import { distance } from "./geometry.js";

/** How far a point lies from the straight way between two others. */
function off([x, y], [ax, ay], [bx, by]) {
  const [dx, dy] = [bx - ax, by - ay];
  const long = Math.hypot(dx, dy);
  return long ? Math.abs((x - ax) * dy - (y - ay) * dx) / long : distance([x, y], [ax, ay]);
}

/** The points without which a stroke would leave its way by more than `most` (Douglas and Peucker, 1973). */
export function thinned(points, most) {
  if (points.length < 3) return points;
  const [first, last] = [points[0], points[points.length - 1]];
  let [worst, at] = [0, 0];
  for (let i = 1; i < points.length - 1; i += 1) {
    const far = off(points[i], first, last);
    if (far > worst) [worst, at] = [far, i];
  }
  if (worst <= most) return [first, last];
  return [...thinned(points.slice(0, at + 1), most).slice(0, -1), ...thinned(points.slice(at), most)];
}

/** Whether points lie on both sides of the body's middle, by more than a hand's tremor. */
export function crossesMiddle(view, points) {
  const { x, half } = view.body;
  const sides = points.map(([px]) => px - x).filter((d) => Math.abs(d) > 0.02 * half).map(Math.sign);
  return new Set(sides).size > 1;
}
