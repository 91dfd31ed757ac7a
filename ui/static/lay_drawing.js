// The cloth with the pieces on it, drawn to scale over its own photo; pieces are dragged and turned by pointer and keys.
// mm inside, y up; on the screen y is turned down. Widths are px of the screen.

import { angleOf, boxOf, middleOf, placed, roomiest } from "./lay_geometry.js";
import { svg } from "./make.js";

const GAP = 60;
const LETTER = 0.47; // how wide a letter is, of its size, on average
const NEAR = 60; // mm beyond a scrap's box at which a piece still counts as laid on it

/** Draws one cloth; `on.changed(done)` hears of every move, done at the end of it; `on.chosen(piece)`. */
export class LayDrawing {
  constructor(element, on) {
    this.on = on;
    this.root = svg("svg", { class: "lay-drawing", role: "group", "aria-label": "Cloth with the pieces on it, to scale" }, element);
    this.pieces = [];
    this.scraps = [];
    this.root.addEventListener("pointerdown", (e) => this.down(e));
    this.root.addEventListener("pointermove", (e) => this.move(e));
    for (const kind of ["pointerup", "pointercancel"]) this.root.addEventListener(kind, (e) => this.up(e));
    this.root.addEventListener("keydown", (e) => this.key(e));
    this.root.addEventListener("focusin", (e) => this.focused(e));
    new ResizeObserver(() => this.letters()).observe(this.root);
  }

  /** Letters keep their size on the screen, as far as their piece has room for them. */
  letters() {
    if (!this.high) return;
    const k = Math.max((this.right + 48) / Math.max(this.root.clientWidth, 1), (this.high + 58) / Math.max(this.root.clientHeight, 1));
    for (const t of this.root.querySelectorAll("text[data-px]")) {
      const size = Math.min(Number(t.dataset.px) * k, Number(t.dataset.room || Infinity));
      t.style.fontSize = `${size}px`;
      if (t.dataset.y) t.setAttribute("y", String(Number(t.dataset.y) + 0.35 * size));
      t.style.strokeWidth = `${0.22 * size}px`;
      if (t.dataset.top) this.shorten(t, size);
    }
  }

  /** A cloth's name stands clear above its edge, and ends before its neighbour's begins; the whole is in its title. */
  shorten(t, size) {
    const { top, wide, name } = t.dataset;
    const most = Math.max(2, Math.floor(Number(wide) / (LETTER * size)));
    t.setAttribute("y", String(Number(top) - 0.45 * size));
    t.textContent = name.length > most ? `${name.slice(0, most - 1).trimEnd()}…` : name;
  }

  /** Show a cloth: its scraps side by side, and beside them what does not lie yet. */
  show(cloth) {
    const focus = this.root.contains(document.activeElement) ? document.activeElement.dataset.key : null;
    this.scraps = [];
    let x = 0;
    for (const scrap of cloth.scraps) {
      const [x0, y0, x1, y1] = boxOf(scrap.outline[0]);
      this.scraps.push({ ...scrap, dx: x - x0, dy: -y0, box: [x0, y0, x1, y1] });
      x += x1 - x0 + GAP;
    }
    this.high = Math.max(200, ...this.scraps.map((s) => s.box[3] - s.box[1]));
    this.tray = x;
    const left = cloth.placements.map((p) => ({ ...p }));
    this.pieces = cloth.pieces.map((piece) => {
      const i = left.findIndex((p) => p.piece === piece.piece && p.mirrored === piece.mirrored);
      const lies = i < 0 ? null : left.splice(i, 1)[0];
      return { ...piece, key: `${piece.piece}#${piece.copy}`, lies };
    });
    for (const p of left) { // laid with the other face up
      const free = this.pieces.find((q) => q.piece === p.piece && !q.lies);
      if (free) Object.assign(free, { lies: p, mirrored: p.mirrored });
    }
    this.setAside();
    this.draw();
    if (focus) this.root.querySelector(`[data-key="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
  }

  /** Give every piece that does not lie a place in the tray. */
  setAside() {
    let x = this.tray;
    let y = 0;
    let wide = 0;
    for (const piece of this.pieces.filter((p) => !p.lies)) {
      const scrap = this.scraps[0] || { grain: 0 };
      piece.aside = { mirrored: piece.mirrored, angle: angleOf(piece, { ...scrap, grain: 0 }, 0), x: 0, y: 0 };
      const [x0, y0, x1, y1] = boxOf(placed(piece.outline, piece.aside));
      if (y > 0 && y + y1 - y0 > this.high) { x += wide + 20; y = 0; wide = 0; }
      piece.aside.x = x - x0;
      piece.aside.y = y - y0;
      y += y1 - y0 + 20;
      wide = Math.max(wide, x1 - x0);
    }
    this.right = Math.max(this.tray, x + wide);
  }

  scrap(name) {
    return this.scraps.find((s) => s.name === name);
  }

  /** A piece's outline on the board, mm. */
  shape(piece) {
    if (!piece.lies) return placed(piece.outline, piece.aside);
    const s = this.scrap(piece.lies.remnant);
    return placed(piece.outline, { ...piece.lies, x: piece.lies.x + s.dx, y: piece.lies.y + s.dy });
  }

  draw() {
    this.root.replaceChildren();
    const pad = 24;
    const top = this.high + pad;
    this.root.setAttribute("viewBox", `${-pad} ${-top} ${this.right + 2 * pad} ${this.high + 2 * pad + 10}`);
    const defs = svg("defs", {}, this.root);
    this.scraps.forEach((s, n) => this.cloth(s, n, defs));
    for (const piece of this.pieces) this.piece(piece);
    this.mark(this.chosen);
    this.letters();
  }

  d(points, dx = 0, dy = 0) {
    return `M${points.map(([x, y]) => `${(x + dx).toFixed(2)} ${(-(y + dy)).toFixed(2)}`).join("L")}Z`;
  }

  cloth(s, n, defs) {
    const rings = [...s.outline, ...s.holes].map((r) => this.d(r, s.dx, s.dy)).join("");
    const g = svg("g", { class: "cloth" }, this.root);
    svg("title", {}, g).textContent = s.name;
    if (s.picture) {
      const clip = svg("clipPath", { id: `lay-cloth-${n}` }, defs);
      svg("path", { d: rings, "clip-rule": "evenodd" }, clip);
      const [x0, y0, x1, y1] = s.picture.box;
      svg("image", { href: s.picture.href, x: x0 + s.dx, y: -(y1 + s.dy), width: x1 - x0, height: y1 - y0, preserveAspectRatio: "none", "clip-path": `url(#lay-cloth-${n})` }, g);
    }
    svg("path", { class: s.picture ? "edge" : "edge plain", d: rings, "fill-rule": "evenodd" }, g);
    this.arrow(g, [s.box[0] + s.dx + 14, s.box[3] + s.dy - 40], s.grain, 30, s.nap);
    svg("text", { class: "name", x: s.box[0] + s.dx, "data-px": 14, "data-top": -(s.box[3] + s.dy), "data-wide": s.box[2] - s.box[0] + 0.8 * GAP, "data-name": s.name }, g);
  }

  arrow(parent, [x, y], degrees, reach, oneWay) {
    const a = (degrees * Math.PI) / 180;
    const way = [-Math.sin(a), Math.cos(a)];
    const across = [way[1], -way[0]];
    const tip = (sign) => {
      const e = [x + sign * way[0] * reach, y + sign * way[1] * reach];
      const h = reach * 0.24;
      const p = (k) => [e[0] - sign * way[0] * h + k * across[0] * h * 0.5, e[1] - sign * way[1] * h + k * across[1] * h * 0.5];
      return [p(1), e, p(-1)];
    };
    const line = (points) => `M${points.map((p) => `${p[0].toFixed(1)} ${(-p[1]).toFixed(1)}`).join("L")}`;
    const ends = [[x - way[0] * reach, y - way[1] * reach], [x + way[0] * reach, y + way[1] * reach]];
    svg("path", { class: "grain", d: line(ends) + line(tip(1)) + (oneWay ? "" : line(tip(-1))) }, parent);
  }

  piece(piece) {
    const g = svg("g", { class: "laid-piece", tabindex: 0, role: "button", "data-key": piece.key }, this.root);
    piece.g = g;
    this.fill(piece);
  }

  fill(piece) {
    const g = piece.g;
    g.replaceChildren();
    const shape = this.shape(piece);
    const { point: [cx, cy], room } = roomiest(shape);
    svg("path", { class: "paper", d: this.d(shape) }, g);
    const at = piece.lies || piece.aside;
    this.arrow(g, [cx, cy], at.angle + (piece.mirrored ? -piece.grain : piece.grain), 0.85 * room, false);
    const t = svg("text", { class: "number", x: cx, y: -cy, "data-y": -cy, "data-px": 17, "data-room": 1.5 * room }, g);
    t.textContent = piece.number + (piece.mirrored ? "′" : "");
    if (this.chosen) this.letters();
    g.classList.toggle("off", !piece.lies);
    this.name(piece);
  }

  /** What a piece is called, and what is wrong with it, for who cannot see it. */
  name(piece, trouble = "") {
    const where = piece.lies ? `on ${piece.lies.remnant}` : "not laid yet";
    piece.g.setAttribute("aria-label", `${piece.number} ${piece.name}${piece.mirrored ? ", mirrored" : ""}, ${where}${trouble ? `: ${trouble}` : ""}`);
  }

  trouble(troubles) {
    for (const piece of this.pieces) {
      const words = troubles.get(piece.key) || "";
      piece.g.classList.toggle("wrong", Boolean(words));
      this.name(piece, words);
    }
  }

  mark(piece) {
    this.chosen = piece ? this.pieces.find((p) => p.key === piece.key) : null;
    for (const p of this.pieces) p.g.classList.toggle("chosen", p === this.chosen);
  }

  focused(e) {
    const g = e.target.closest("[data-key]");
    if (g) this.choose(g.dataset.key);
  }

  choose(key) {
    this.mark(this.pieces.find((p) => p.key === key));
    this.on.chosen(this.chosen);
  }

  mm(e) {
    const m = this.root.getScreenCTM().inverse();
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(m);
    return [p.x, -p.y];
  }

  down(e) {
    const g = e.target.closest("[data-key]");
    if (!g || e.button > 0) return;
    e.preventDefault();
    this.choose(g.dataset.key);
    g.focus({ preventScroll: true });
    this.root.setPointerCapture(e.pointerId);
    this.drag = { from: this.mm(e), start: { ...(this.chosen.lies || this.chosen.aside) }, moved: false };
    if (this.chosen.lies) {
      const s = this.scrap(this.chosen.lies.remnant);
      this.drag.start.x += s.dx;
      this.drag.start.y += s.dy;
    }
    this.root.append(g);
  }

  move(e) {
    if (!this.drag) return;
    const [x, y] = this.mm(e);
    const { from, start } = this.drag;
    if (!this.drag.moved && Math.hypot(x - from[0], y - from[1]) < 2) return;
    this.drag.moved = true;
    this.put(this.chosen, { ...start, x: start.x + x - from[0], y: start.y + y - from[1] });
    this.on.changed(false);
  }

  up() {
    if (!this.drag) return;
    const moved = this.drag.moved;
    this.drag = null;
    if (moved) this.on.changed(true);
  }

  /** Put a piece at a place of the board: on the scrap under its middle, or aside. */
  put(piece, at) {
    const shape = placed(piece.outline, { ...at, mirrored: piece.mirrored });
    const [cx, cy] = middleOf(shape);
    const under = this.scraps.find((s) => {
      const [x0, y0, x1, y1] = s.box;
      return cx > x0 + s.dx - NEAR && cx < x1 + s.dx + NEAR && cy > y0 + s.dy - NEAR && cy < y1 + s.dy + NEAR;
    });
    const before = piece.lies && piece.lies.remnant;
    if (under) {
      let angle = at.angle;
      if (!before) angle = angleOf(piece, under, (piece.turns[under.name] || [0])[0]);
      else if (before !== under.name) angle = (angle - this.scrap(before).grain + under.grain + 360) % 360;
      const kept = angle === at.angle ? at : this.about(piece, at, angle);
      piece.lies = { piece: piece.piece, remnant: under.name, mirrored: piece.mirrored, angle, x: kept.x - under.dx, y: kept.y - under.dy };
      if (this.drag && before !== under.name) this.drag.start = { ...this.drag.start, ...this.about(piece, this.drag.start, angle) };
    } else {
      piece.lies = null;
      piece.aside = { mirrored: piece.mirrored, angle: at.angle, x: at.x, y: at.y };
    }
    this.fill(piece);
  }

  /** The place at which a piece has another angle and the same middle. */
  about(piece, at, angle) {
    const a = middleOf(placed(piece.outline, { ...at, mirrored: piece.mirrored }));
    const b = middleOf(placed(piece.outline, { ...at, angle, mirrored: piece.mirrored }));
    return { ...at, angle, x: at.x + a[0] - b[0], y: at.y + a[1] - b[1] };
  }

  /** Turn the chosen piece about its middle: to its next turn that is allowed, or by degrees. */
  turn(degrees) {
    const piece = this.chosen;
    if (!piece || !piece.lies) return;
    const scrap = this.scrap(piece.lies.remnant);
    let angle = piece.lies.angle + (degrees || 0);
    if (degrees == null) {
      const angles = (piece.turns[scrap.name] || [0]).map((t) => angleOf(piece, scrap, t));
      const now = angles.findIndex((a) => Math.abs(((a - piece.lies.angle + 540) % 360) - 180) < 0.05);
      angle = angles[(now + 1) % angles.length];
    }
    angle = ((angle % 360) + 360) % 360;
    piece.lies = { ...piece.lies, ...this.about(piece, piece.lies, angle) };
    this.fill(piece);
    this.on.changed(true);
  }

  /** Lay a piece in the middle of the next cloth, or take it off. */
  lay(piece, off = false) {
    if (off || !this.scraps.length) {
      piece.lies = null;
      this.setAside();
      this.draw();
    } else {
      const now = piece.lies ? this.scraps.findIndex((s) => s.name === piece.lies.remnant) : -1;
      const s = this.scraps[(now + 1) % this.scraps.length];
      const angle = angleOf(piece, s, (piece.turns[s.name] || [0])[0]);
      const flat = { mirrored: piece.mirrored, angle, x: 0, y: 0 };
      const [cx, cy] = middleOf(placed(piece.outline, flat));
      const [x0, y0, x1, y1] = s.box;
      piece.lies = { piece: piece.piece, remnant: s.name, mirrored: piece.mirrored, angle, x: (x0 + x1) / 2 - cx, y: (y0 + y1) / 2 - cy };
      this.fill(piece);
    }
    this.root.querySelector(`[data-key="${CSS.escape(piece.key)}"]`)?.focus({ preventScroll: true });
    this.on.changed(true);
  }

  key(e) {
    const g = e.target.closest("[data-key]");
    if (!g || !this.chosen) return;
    const piece = this.chosen;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[e.key];
    if (way && piece.lies) {
      const by = e.shiftKey ? 10 : 1;
      piece.lies = { ...piece.lies, x: piece.lies.x + way[0] * by, y: piece.lies.y + way[1] * by };
      this.fill(piece);
      this.on.changed(false);
      clearTimeout(this.rest);
      this.rest = setTimeout(() => this.on.changed(true), 500);
    } else if (e.key === "t" || e.key === "T") this.turn();
    else if (e.key === "[" || e.key === "]") this.turn(e.key === "[" ? 1 : -1);
    else if (e.key === "Enter" || e.key === " ") this.lay(piece);
    else if (e.key === "Delete" || e.key === "Backspace") this.lay(piece, true);
    else return;
    e.preventDefault();
  }

  /** What lies, as Python takes it. */
  placements() {
    return this.pieces.filter((p) => p.lies).map((p) => p.lies);
  }
}
