// Pattern pieces drawn to scale: lines, marks and letters, the lines' ends that can be moved, the edges that can be
// picked. Everything is mm, y down, as Python wrote it (ui/questions/pieces_drawn.py); widths are px of the screen.

import { measured, nearest, pointAt } from "./geometry.js";
import { svg } from "./make.js";

const LIMIT = 14; // most zoom

export class PiecesDrawing {
  /** Draw in an element; `on` hears of picked edges and moved ends. */
  constructor(element, on) {
    this.on = on;
    this.root = svg("svg", { class: "pieces-drawing", role: "group", "aria-label": "Pattern pieces, to scale" }, element);
    this.zoom = 1;
    this.centre = null;
    this.picked = [];
    this.root.addEventListener("wheel", (e) => this.wheel(e), { passive: false });
    this.root.addEventListener("pointerdown", (e) => this.down(e));
    this.root.addEventListener("pointermove", (e) => this.move(e));
    for (const kind of ["pointerup", "pointercancel"]) this.root.addEventListener(kind, (e) => this.up(e));
    this.root.addEventListener("keydown", (e) => this.key(e));
    new ResizeObserver(() => this.frame()).observe(this.root);
  }

  show(sheet, { pick = "" } = {}) {
    const same = this.sheet && JSON.stringify(this.sheet.box) === JSON.stringify(sheet.box);
    this.sheet = sheet;
    this.pick = pick;
    if (!same) this.whole();
    this.draw();
  }

  whole() {
    this.zoom = 1;
    this.centre = null;
    this.frame();
  }

  /** Zoom by a factor about a place of the sheet, or about the middle. */
  nearer(factor, at) {
    const zoom = Math.min(LIMIT, Math.max(1, this.zoom * factor));
    const now = this.middle();
    const p = at || now;
    const k = this.zoom / zoom;
    this.centre = [p[0] + (now[0] - p[0]) * k, p[1] + (now[1] - p[1]) * k];
    this.zoom = zoom;
    if (zoom === 1) this.centre = null;
    this.frame();
  }

  middle() {
    const [x, y, w, h] = this.sheet ? this.sheet.box : [0, 0, 1, 1];
    return this.centre || [x + w / 2, y + h / 2];
  }

  /** mm of the sheet in one px of the screen. */
  scale() {
    const [, , w, h] = this.sheet.box;
    const { clientWidth: across, clientHeight: down } = this.root;
    return Math.max((w * 1.06) / Math.max(across, 1), (h * 1.06) / Math.max(down, 1)) / this.zoom;
  }

  frame() {
    if (!this.sheet) return;
    const k = this.scale();
    const [x, y] = this.middle();
    const w = this.root.clientWidth * k;
    const h = this.root.clientHeight * k;
    this.root.setAttribute("viewBox", `${x - w / 2} ${y - h / 2} ${w} ${h}`);
    this.root.style.setProperty("--mm", String(k)); // mm in a px: lettering and dots keep their size on the screen
    for (const e of this.root.querySelectorAll("[data-r]")) e.setAttribute("r", String(Number(e.dataset.r) * k));
    this.letters(k);
  }

  /** Words grow with the zoom, but never beyond what their piece has room for. */
  letters(k) {
    const size = (e) => Math.min(Number(e.dataset.size) * k, Number(e.dataset.room));
    for (const group of this.root.querySelectorAll("g[data-label]")) {
      const rows = [...group.querySelectorAll("[data-row]")];
      const fits = Math.min(...rows.map(size)) / k >= 8; // else the number alone
      for (const e of rows) e.style.display = fits ? "" : "none";
      const alone = group.querySelector("[data-alone]");
      alone.style.display = fits || size(alone) / k < 6 ? "none" : "";
    }
    for (const e of this.root.querySelectorAll("text[data-room]")) {
      const now = size(e);
      e.style.fontSize = `${now}px`; // of the drawing: mm
      if (e.classList.contains("letter")) e.style.display = now / k < 8 ? "none" : "";
      e.setAttribute("y", String(Number(e.dataset.y) + Number(e.dataset.rise || 0) * now));
    }
  }

  draw() {
    const focus = this.root.contains(document.activeElement) ? document.activeElement.dataset.key : null;
    this.root.replaceChildren();
    this.ends = new Map();
    this.sheet.pieces.forEach((piece, n) => this.piece(piece, n));
    this.frame();
    this.mark();
    if (focus) this.root.querySelector(`[data-key="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
  }

  piece(piece, n) {
    const g = svg("g", { class: "piece" }, this.root);
    svg("title", {}, g).textContent = `${piece.number ? `${piece.number}. ` : ""}${piece.title}, ${piece.how}`;
    svg("path", { class: "paper", d: piece.cut || piece.outline }, g);
    if (piece.cut) svg("path", { class: "cut", d: piece.cut }, g);
    for (const mark of piece.marks) svg("path", { class: "mark", d: mark }, g);
    for (const e of piece.edges) svg("path", { class: `edge ${e.kind}${piece.cut ? "" : " bare"}`, d: e.d }, g);
    for (const notch of piece.notches) svg("path", { class: "notch", d: notch }, g);
    this.grain(piece, g);
    for (const e of piece.edges) this.seam(e, g);
    this.label(piece, g);
    if (this.pick) piece.edges.forEach((e) => this.pickable(piece, e, g));
    for (const line of piece.lines || []) this.line(line, piece, n, g);
  }

  grain(piece, g) {
    if (!piece.grain.length) return;
    const [[ax, ay], [bx, by]] = piece.grain;
    const size = Math.hypot(bx - ax, by - ay) || 1;
    const [ux, uy] = [(bx - ax) / size, (by - ay) / size];
    const wing = Math.min(16, size / 5);
    const head = (x, y, s) => `M${x - s * wing * (ux + 0.4 * uy)} ${y - s * wing * (uy - 0.4 * ux)}L${x} ${y}L${x - s * wing * (ux - 0.4 * uy)} ${y - s * wing * (uy + 0.4 * ux)}`;
    svg("path", { class: "grain", d: `M${ax} ${ay}L${bx} ${by}${head(bx, by, 1)}${head(ax, ay, -1)}` }, g);
  }

  seam(e, g) {
    if (e.stroke) svg("path", { class: "bold", d: e.stroke }, g);
    if (!e.letter) return;
    const text = svg("text", { class: "letter", x: e.at[0], "data-y": e.at[1], "data-size": 13, "data-room": 34, "data-rise": 0.34 }, g);
    text.textContent = e.letter;
  }

  label(piece, g) {
    const [x, y, r] = piece.label;
    const rows = [[piece.number || "", 20, 1], [piece.title, 13, 0], [piece.cloth, 11.5, 0], [piece.how, 11.5, 0]].filter((row) => row[0]);
    const label = svg("g", { "data-label": "" }, g);
    const alone = String(piece.number || piece.title);
    svg("text", { class: "piece-words piece-number", x, "data-y": y, "data-size": 15, "data-room": Math.max(1.2 * r, 40) / Math.max(1, 0.5 * alone.length), "data-rise": 0.32, "data-alone": "" }, label).textContent = alone;
    const most = Math.max(...rows.map(([text]) => String(text).length));
    rows.forEach(([text, size, bold], i) => {
      const room = Math.min((1.9 * r) / (0.5 * most + 0.6), (1.5 * r) / rows.length);
      const rise = (i - (rows.length - 1) / 2) * 1.3 + 0.3;
      svg("text", { class: bold ? "piece-words piece-number" : "piece-words", x, "data-y": y, "data-size": bold ? 13 : size, "data-room": room, "data-rise": rise, "data-row": "" }, label).textContent = String(text);
    });
  }

  pickable(piece, e, g) {
    if (this.pick === "cut" && (e.kind === "fold" || e.kind === "hem")) return;
    const key = `${piece.name}:${e.name}`;
    const said = `${e.name.replace(/-/g, " ")} of ${piece.number ? `${piece.number} ` : ""}${piece.title}`;
    const hit = svg("path", { class: "hit", d: e.d, tabindex: 0, role: "button", "aria-label": said, "data-key": key }, g);
    svg("title", {}, hit).textContent = said;
    hit.addEventListener("click", () => { if (!this.dragged) this.choose({ key, said }); });
    hit.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      this.choose({ key, said });
    });
  }

  choose(edge) {
    const at = this.picked.findIndex((p) => p.key === edge.key);
    if (at >= 0) this.picked.splice(at, 1);
    else this.picked = [...this.picked, edge].slice(this.pick === "cut" ? -2 : -1);
    this.mark();
    this.on.picked(this.picked);
  }

  mark() {
    for (const e of this.root.querySelectorAll(".hit")) {
      const on = this.picked.some((p) => p.key === e.dataset.key);
      e.classList.toggle("picked", on);
      e.setAttribute("aria-pressed", String(on));
    }
  }

  line(line, piece, n, g) {
    svg("path", { class: "style-line", d: line.d, "data-line": line.id }, g);
    for (const end of line.ends) {
      const key = `${line.id}:${end.which}:${n}`;
      const said = `${line.name}, ${end.which} on the ${end.edge.replace(/-/g, " ")} of ${piece.title}`;
      const dot = svg("circle", { class: "end", cx: end.at[0], cy: end.at[1], "data-r": 5, tabindex: 0, role: "slider", "aria-label": said, "data-key": key, "aria-valuenow": end.distance_mm, "aria-valuetext": this.far(end) }, g);
      svg("title", {}, dot).textContent = `${said}: ${this.far(end)}. Move it along its edge.`;
      this.ends.set(dot, { line, end, along: measured(end.along), dot, at: end.distance_mm });
    }
    for (const point of line.points || []) {
      const key = `${line.id}:${point.index}:${n}`;
      const said = `${line.name}, point ${point.index + 1} on ${piece.title}`;
      const dot = svg("circle", { class: "end between", cx: point.at[0], cy: point.at[1], "data-r": 4, tabindex: 0, role: "button", "aria-label": `${said}: move it with the arrow keys`, "data-key": key }, g);
      svg("title", {}, dot).textContent = `${said}. Move it anywhere.`;
      this.ends.set(dot, { line, point, dot, at: [...point.at] });
    }
  }

  /** How far an end is from its landmark, in the person's unit. */
  far(end) {
    return `${this.on.length(end.distance_mm)} from the ${end.from.replace(/-/g, " ")}`;
  }

  // -- hands -----------------------------------------------------------------------------------------------------

  point(e) {
    const m = this.root.getScreenCTM().inverse();
    return [e.clientX * m.a + m.e, e.clientY * m.d + m.f];
  }

  wheel(e) {
    if (!this.sheet) return;
    e.preventDefault();
    this.nearer(Math.exp(-e.deltaY * 0.002), this.point(e));
  }

  down(e) {
    this.dragged = false;
    const end = this.ends && this.ends.get(e.target);
    if (!end && !this.sheet) return;
    this.hand = { end, from: [e.clientX, e.clientY], middle: this.middle(), pointer: e.pointerId };
    if (end) {
      e.preventDefault();
      end.dot.focus({ preventScroll: true });
      this.root.setPointerCapture(e.pointerId);
    }
  }

  move(e) {
    const hand = this.hand;
    if (!hand) return;
    const far = Math.hypot(e.clientX - hand.from[0], e.clientY - hand.from[1]);
    if (!this.dragged && far < 4) return;
    if (!this.dragged && !hand.end) this.root.setPointerCapture(hand.pointer);
    this.dragged = true;
    if (hand.end && hand.end.point) {
      this.toSpot(hand.end, this.point(e));
    } else if (hand.end) {
      this.toPlace(hand.end, nearest(hand.end.along, this.point(e)).along);
    } else if (this.zoom > 1) {
      const k = this.scale();
      this.centre = [hand.middle[0] - (e.clientX - hand.from[0]) * k, hand.middle[1] - (e.clientY - hand.from[1]) * k];
      this.frame();
    }
  }

  up() {
    const hand = this.hand;
    this.hand = null;
    if (hand && hand.end && this.dragged) this.tell(hand.end, true);
  }

  /** Say where an end, or a point between, is now. */
  tell(held, done) {
    if (!held.point) { this.on.moved(held.line.id, held.end.which, held.at, done); return; }
    const { at, per_mm: [u, v] } = held.point;
    const [dx, dy] = [held.at[0] - at[0], held.at[1] - at[1]];
    this.on.bent(held.line.id, held.point, [u[0] * dx + u[1] * dy, v[0] * dx + v[1] * dy], done);
  }

  /** A point between goes where the pointer is. */
  toSpot(held, at) {
    held.at = at;
    held.dot.setAttribute("cx", String(at[0]));
    held.dot.setAttribute("cy", String(at[1]));
    this.tell(held, false);
  }

  toPlace(end, along) {
    const total = end.along.length;
    end.at = Math.round(Math.min(total, Math.max(0, along)) * 10) / 10;
    const [x, y] = pointAt(end.along, end.at);
    end.dot.setAttribute("cx", String(x));
    end.dot.setAttribute("cy", String(y));
    end.dot.setAttribute("aria-valuenow", String(end.at));
    this.tell(end, false);
  }

  key(e) {
    const end = this.ends && this.ends.get(e.target);
    const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[e.key];
    if (!end || !step) return;
    e.preventDefault();
    const by = step * (e.shiftKey ? 10 : 1);
    const upright = e.key === "ArrowUp" || e.key === "ArrowDown";
    if (end.point) this.toSpot(end, upright ? [end.at[0], end.at[1] - by] : [end.at[0] + by, end.at[1]]);
    else this.toPlace(end, end.at + by);
    clearTimeout(this.rest);
    this.rest = setTimeout(() => this.tell(end, true), 350);
  }
}
