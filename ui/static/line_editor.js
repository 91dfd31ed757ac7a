// The line editor: front and back side by side, style lines over them, panels under them.
//
// mount(element, props, trigger, watch) draws props.value, the scene that ui/parts/scene.py describes, and tells what
// the person did: trigger('commit', {edit, changes: [{id, kind, start, end, through}]}) on release of a line, and
// trigger('act', {do, …}) for the rest. Words of the person are only ever set as text, never as markup.

import { lengthText, measured, nearest, pathData, pointAt, snapStep, whole } from "./geometry.js";
import { Drawing } from "./drawing_mode.js";
import { Viewport } from "./viewport.js";

const SVG = "http://www.w3.org/2000/svg";
const KEY_PAUSE = 300; // ms after the last arrow key until the move is committed
const CLICK = 5; // px a press may wander and still be a click

/** Make an SVG element in a parent. */
export function svg(name, attributes, parent) {
  const e = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) if (value != null) e.setAttribute(key, value);
  if (parent) parent.append(e);
  return e;
}

function html(name, className, parent, text) {
  const e = document.createElement(name);
  if (className) e.className = className;
  if (text != null) e.textContent = text;
  if (parent) parent.append(e);
  return e;
}

const OTHER = { left: "right", right: "left" };
const acrossEnd = (end) => ({ ...end, side: OTHER[end.side] || end.side });
const mirrored = (line) => ({ kind: line.kind, start: acrossEnd(line.start), end: acrossEnd(line.end), through: (line.through || []).map(([u, v]) => [-u, v]) });

/** Whether two lines are mirror images of each other, one on each side of the wearer. */
function isTwin(a, b) {
  if (a.id === b.id || a.side !== b.side || a.symmetric || b.symmetric || !a.start || !a.start.side || (a.through || []).length !== (b.through || []).length) return false;
  const m = mirrored(a);
  const same = (p, q) => p.edge === q.edge && p.landmark === q.landmark && p.side === q.side && Math.abs(p.distance_mm - q.distance_mm) < 0.01;
  return same(m.start, b.start) && same(m.end, b.end) && m.through.every(([u, v], i) => Math.hypot(u - b.through[i][0], v - b.through[i][1]) < 1e-4);
}

class Editor {
  constructor(element, props, trigger) {
    this.trigger = trigger;
    this.port = new Viewport();
    this.panes = [];
    this.edit = 0;
    this.pending = new Map(); // line id → number of the local edit that Python has not answered yet
    this.selected = null;
    this.cloth = null;
    this.drag = null;
    this.frame = 0;
    this.root = html("div", "editor", element);
    this.views = html("div", "views", this.root);
    this.measure = html("output", "measure", this.root);
    this.measure.hidden = true;
    this.say = html("div", "for-ears", this.root);
    this.say.setAttribute("aria-live", "polite");
    this.bar = html("div", "sight", this.root);
    for (const [text, label, act] of [
      ["−", "Further away", () => this.port.zoomAt(null, 1 / 1.4, 0, 0)],
      ["Whole garment", "Show the whole garment", () => this.port.fit()],
      ["+", "Closer", () => this.port.zoomAt(null, 1.4, 0, 0)],
    ]) {
      const b = html("button", "quiet", this.bar, text);
      b.type = "button";
      b.setAttribute("aria-label", label);
      b.addEventListener("click", act);
    }
    this.drawing = new Drawing(this);
    this.port.changed = () => this.later();
    this.sizes = new ResizeObserver(() => this.resized());
    this.views.addEventListener("pointerdown", (e) => this.down(e));
    this.views.addEventListener("pointermove", (e) => this.moved(e));
    this.views.addEventListener("pointerup", (e) => this.up(e));
    this.views.addEventListener("pointercancel", () => this.abandon());
    this.views.addEventListener("wheel", (e) => this.wheel(e), { passive: false });
    this.views.addEventListener("dblclick", (e) => this.doubled(e));
    this.root.addEventListener("keydown", (e) => this.key(e));
    this.root.addEventListener("focusin", (e) => this.focused(e));
    this.root.addEventListener("focusout", () => this.flushKeys());
  }

  // -- the scene ---------------------------------------------------------------------------------------------------

  /** Take a scene from Python; lines that were edited since it was asked for keep the newer, local shape. */
  take(scene) {
    if (!scene || typeof scene !== "object") return;
    if (this.drag && this.drag.line) {
      this.waiting = scene;
      return;
    }
    const mine = new Map();
    for (const line of this.scene ? this.scene.lines : []) {
      const edit = this.pending.get(line.id);
      if (edit > (scene.edit || 0)) mine.set(line.id, line);
      else this.pending.delete(line.id);
    }
    const had = this.scene ? this.scene.views.map((v) => v.name) : null;
    for (const v of scene.views || []) if (had && had.length && v.kind === "photo" && !had.includes(v.name)) this.wanted = { ...this.wanted, [v.side]: v.name };
    this.scene = { lines: [], views: [], unit: "mm", ...scene };
    this.scene.lines = this.scene.lines.map((line) => ({ ...line, ...(mine.get(line.id) || {}) }));
    this.draw();
  }

  line(id) {
    return this.scene.lines.find((l) => l.id === id);
  }

  /**
   * Lines that move along: the one that goes on over the shared seam keeps its start at the same distance, and a mirror
   * image stays one. Each as {line, before, twin}.
   */
  partners(line) {
    const found = [];
    const add = (l, twin) => {
      if (l.id !== line.id && !found.some((f) => f.line === l)) found.push({ line: l, before: structuredClone(l), twin });
    };
    const carried = (of) => this.scene.lines.filter((l) => l.id !== of.id && (l.carries === of.id || (of.carries && of.carries === l.id)));
    const twin = this.scene.lines.find((l) => isTwin(line, l));
    carried(line).forEach((l) => add(l, false));
    if (twin) {
      add(twin, true);
      carried(twin).forEach((l) => add(l, false));
    }
    return found;
  }

  /** Which views stand side by side: one for each side of the garment, the drawing unless the photo was asked for. */
  shown() {
    const views = this.scene.views;
    const wanted = this.wanted || {};
    const sides = [...new Set(views.map((v) => v.side))];
    return sides.map((side) => views.find((v) => v.name === wanted[side] && v.side === side) || views.find((v) => v.side === side));
  }

  draw() {
    const focus = document.activeElement && this.root.contains(document.activeElement) ? document.activeElement.dataset.key : null;
    const shown = this.shown();
    const same = shown.length === this.panes.length && shown.every((v, i) => this.panes[i].view.name === v.name);
    if (!same) this.layOut(shown);
    this.panes.forEach((pane, i) => this.fill(pane, shown[i]));
    this.bar.hidden = shown.length === 0;
    this.apply();
    if (focus) this.root.querySelector(`[data-key="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
    this.root.dataset.ready = String(this.scene.revision ?? 0);
    this.root.dataset.edit = String(this.scene.edit ?? 0);
  }

  layOut(shown) {
    this.sizes.disconnect();
    this.views.replaceChildren();
    this.panes = shown.map((view) => {
      const figure = html("figure", "view", this.views);
      const box = html("div", "sheet", figure);
      const img = html("img", "picture", box);
      img.alt = "";
      img.draggable = false;
      const over = svg("svg", { class: "over", role: "group" }, box);
      const world = svg("g", {}, over);
      const pane = {
        view, figure, img, over, world, sheet: box,
        panels: svg("g", { class: "panels" }, world), edges: svg("g", { class: "edges" }, world), lines: svg("g", { class: "lines" }, world),
        labels: svg("g", { class: "labels" }, over), handles: svg("g", { class: "handles" }, over), sketch: svg("g", { class: "sketch" }, over),
        caption: html("figcaption", "", figure), box: { width: 0, height: 0 }, turn: view.side === "back" ? -1 : 1,
      };
      this.sizes.observe(box);
      return pane;
    });
    this.measureBoxes();
  }

  measureBoxes() {
    for (const pane of this.panes) pane.box = { width: pane.sheet.clientWidth, height: pane.sheet.clientHeight };
    this.port.setPanes(this.panes);
  }

  resized() {
    this.measureBoxes();
    this.later();
  }

  fill(pane, view) {
    pane.view = view;
    pane.edgeLines = view.edges.map((edge) => ({ ...edge, ...measured(edge.points) }));
    if (pane.img.dataset.src !== view.picture) {
      pane.img.dataset.src = view.picture;
      this.show(pane, view.picture);
    }
    pane.img.style.width = `${view.size[0]}px`;
    pane.img.style.height = `${view.size[1]}px`;
    pane.over.setAttribute("aria-label", view.title);
    this.caption(pane, view);
    pane.panels.replaceChildren();
    pane.labels.replaceChildren();
    pane.places = [];
    for (const panel of view.panels) this.panel(pane, panel);
    const raised = new Set(); // the first fact at a place is the most serious one there
    for (const fact of this.scene.facts || []) {
      if (!fact.flag || fact.view !== view.name || raised.has(fact.flag)) continue;
      raised.add(fact.flag);
      this.flag(pane, fact, fact.flag);
    }
    pane.edges.replaceChildren();
    pane.lines.replaceChildren();
    pane.handles.replaceChildren();
    pane.parts = new Map();
    for (const line of this.scene.lines) if (line.side === view.side) this.lineParts(pane, line);
  }

  /** Change a pane's picture when the new one is there; until then the old one stays. */
  async show(pane, address) {
    pane.sheet.dataset.painting = "yes";
    const next = new Image();
    next.src = address;
    try {
      await next.decode();
    } catch {
      this.root.dispatchEvent(new CustomEvent("picture-lost", { bubbles: true, detail: { view: pane.view.name } }));
    }
    if (pane.img.dataset.src !== address) return;
    pane.img.src = address;
    delete pane.sheet.dataset.painting;
    pane.sheet.dataset.shown = address;
  }

  caption(pane, view) {
    pane.caption.replaceChildren();
    const sides = view.side === "back" ? ["wearer’s left", "wearer’s right"] : ["wearer’s right", "wearer’s left"];
    html("span", "wearer", pane.caption, sides[0]);
    html("b", "", pane.caption, view.title);
    const others = this.scene.views.filter((v) => v.side === view.side);
    if (others.length > 1) {
      for (const v of others) {
        const b = html("button", "quiet", pane.caption, v.kind === "photo" ? "photo" : "drawing");
        b.type = "button";
        b.setAttribute("aria-pressed", String(v.name === view.name));
        b.addEventListener("click", () => {
          this.wanted = { ...this.wanted, [v.side]: v.name };
          this.draw();
        });
      }
    }
    html("span", "wearer", pane.caption, sides[1]);
  }

  panel(pane, panel) {
    const name = panel.name || `panel ${panel.number}`;
    const path = svg("path", {
      d: panel.d, class: panel.cloth ? "panel" : "panel bare", "fill-rule": "evenodd", tabindex: 0, role: "button", "data-key": `panel:${pane.view.name}:${panel.id}`,
      "data-panel": panel.id, "aria-label": `Panel ${panel.number}, ${name}: ${panel.cloth_name || "no cloth yet"}`,
    }, pane.panels);
    path.append(svg("title", {}));
    path.firstChild.textContent = `${panel.number} · ${name} · ${panel.cloth_name || "no cloth yet"}`;
    const label = svg("g", { class: "number", "data-for": panel.id, "aria-hidden": "true" }, pane.labels);
    svg("circle", { r: 11 }, label);
    svg("text", { "text-anchor": "middle", dy: "0.35em" }, label).textContent = String(panel.number);
    pane.places.push({ node: label, at: panel.label });
  }

  /** A numbered flag where a check found something. */
  flag(pane, fact, number) {
    const g = svg("g", { class: `flag ${fact.grade.replace(/ /g, "-")}`, role: "img", "aria-label": `Flag ${number}: ${fact.text}` }, pane.labels);
    svg("path", { d: "M0 0V-30H24L18 -21L24 -12H0" }, g);
    svg("text", { x: 9, y: -16.5, "text-anchor": "middle" }, g).textContent = String(number);
    pane.places.push({ node: g, at: fact.point });
  }

  lineParts(pane, line) {
    // Lines are carried from the drawing onto a photo of the same side: they are moved on the drawing.
    const carried = pane.view.carried;
    const own = svg("g", { class: carried ? "line carried" : "line", "data-line": line.id }, pane.lines);
    const grab = svg("path", { class: "grab", tabindex: 0, role: "button", "data-key": `line:${pane.view.name}:${line.id}`, "data-line": line.id, "data-at": "whole" }, own);
    grab.setAttribute("aria-label", `Line ${line.name}. ${carried ? "Move it on the drawing." : "Arrow keys move it, Delete removes it."}`);
    const parts = { own, grab, case: svg("path", { class: "case" }, own), thread: svg("path", { class: "thread" }, own), dots: [] };
    const dot = (at) => {
      const g = svg("g", { class: typeof at === "number" ? "dot" : "dot end", tabindex: at === "twin" ? -1 : 0, role: "button", "data-line": line.id, "data-at": at, "data-key": `dot:${pane.view.name}:${line.id}:${at}` }, pane.handles);
      g.setAttribute("aria-roledescription", "point");
      svg("circle", { class: "reach", r: 20 }, g);
      svg("circle", { class: "ring", r: 11 }, g);
      if (typeof at === "number") svg("circle", { class: "mark", r: 5.5 }, g);
      else svg("rect", { class: "mark", x: -5.5, y: -5.5, width: 11, height: 11, transform: "rotate(45)" }, g);
      parts.dots.push({ at, node: g });
    };
    if (carried) {
      pane.parts.set(line.id, parts);
      this.shapeLine(pane, line, true);
      return;
    }
    dot("start");
    (line.through || []).forEach((_, i) => dot(i));
    dot("end");
    if (line.symmetric && line.start) dot("twin");
    pane.parts.set(line.id, parts);
    this.shapeLine(pane, line, !this.pending.has(line.id));
  }

  // -- geometry ----------------------------------------------------------------------------------------------------

  edgeOf(pane, end) {
    if (!end) return null;
    const side = end.side || "left";
    return pane.edgeLines.find((e) => e.name === end.edge && (!e.side || e.side === side)) || null;
  }

  endPx(pane, end) {
    const edge = this.edgeOf(pane, end);
    if (!edge) return null;
    const along = end.distance_mm / pane.view.mm_per_px;
    return pointAt(edge, end.landmark === edge.end && edge.end !== edge.start ? edge.length - along : along);
  }

  /** Where a picture point is on the nearest edge that passes the test, as a line's end. */
  endAt(pane, p, fits, landmark, free) {
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
    const step = snapStep(this.scene.unit);
    if (!free) mm = Math.min(Math.round(mm / step) * step, edge.length * k);
    return { edge: edge.name, landmark: fromEnd ? edge.end : edge.start, distance_mm: Math.round(mm * 1000) / 1000, side: edge.side || null, text: "", gap: hit.gap };
  }

  toPx(view, [u, v]) {
    const b = view.body;
    return [b.x + b.sign * u * b.half, b.bottom - v * (b.bottom - b.top)];
  }

  toShare(view, [x, y]) {
    const b = view.body;
    return [(b.sign * (x - b.x)) / b.half, (b.bottom - y) / (b.bottom - b.top)];
  }

  pointsOf(pane, line) {
    const a = this.endPx(pane, line.start);
    const b = this.endPx(pane, line.end);
    if (!a || !b) return null;
    return [a, ...(line.through || []).map((p) => this.toPx(pane.view, p)), b];
  }

  shapeLine(pane, line, exact) {
    const parts = pane.parts.get(line.id);
    if (!parts) return;
    if (pane.view.carried && !exact) return;
    const points = this.pointsOf(pane, line);
    parts.points = points;
    const given = pane.view.paths ? pane.view.paths[line.id] : null;
    const d = exact && given ? given : points ? pathData(whole(line, points, pane.view.mirror_x)) : "";
    for (const path of [parts.grab, parts.case, parts.thread]) path.setAttribute("d", d);
    this.placeDots(pane, line);
    for (const { at, node } of parts.dots) if (typeof at === "string") node.setAttribute("aria-label", `${line.name}, ${at}: ${this.endWords(pane, at === "end" ? line.end : line.start)}`);
      else node.setAttribute("aria-label", `${line.name}, point ${at + 1}`);
  }

  placeDots(pane, line) {
    const parts = pane.parts.get(line.id);
    const { k, dx, dy } = this.port.place(pane);
    for (const { at, node } of parts.dots) {
      const p = parts.points && this.dotPoint(pane, parts.points, at);
      node.setAttribute("visibility", p ? "visible" : "hidden");
      if (p) node.setAttribute("transform", `translate(${(p[0] * k + dx).toFixed(2)} ${(p[1] * k + dy).toFixed(2)})`);
    }
  }

  dotPoint(pane, points, at) {
    if (at === "start") return points[0];
    if (at === "end") return points[points.length - 1];
    if (at === "twin") return pane.view.mirror_x == null ? null : [2 * pane.view.mirror_x - points[0][0], points[0][1]];
    return points[at + 1];
  }

  /** 'side seam, 52 mm below the underarm'. */
  endWords(pane, end) {
    const edge = this.edgeOf(pane, end);
    if (!edge) return "not on this picture";
    const from = end.landmark === edge.end && edge.end !== edge.start ? edge.words_end : edge.words_start;
    const about = this.scene.views.some((v) => v.scale_measured === false) ? "about " : "";
    return `${edge.label}, ${about}${lengthText(end.distance_mm, this.scene.unit)} ${from}`;
  }

  // -- showing -----------------------------------------------------------------------------------------------------

  later() {
    if (!this.frame) this.frame = requestAnimationFrame(() => this.tick());
  }

  tick() {
    this.frame = 0;
    const began = performance.now();
    if (this.drag && this.drag.pointer) this.dragTo();
    if (!this.drag || !this.drag.line) this.apply();
    this.lastFrame = performance.now() - began;
    if (this.drag) this.drag.frames.push(this.lastFrame);
  }

  apply() {
    for (const pane of this.panes) {
      const { k, dx, dy } = this.port.place(pane);
      pane.img.style.transform = `translate(${dx}px, ${dy}px) scale(${k})`;
      pane.world.setAttribute("transform", `translate(${dx} ${dy}) scale(${k})`);
      for (const { node, at } of pane.places) node.setAttribute("transform", `translate(${at[0] * k + dx} ${at[1] * k + dy})`);
      for (const line of this.scene.lines) if (pane.parts.has(line.id)) this.placeDots(pane, line);
      this.drawing.redraw(pane);
      const mm = 25 * (k / pane.view.mm_per_px);
      pane.sheet.style.setProperty("--dot", pane.view.scale_measured ? `${mm}px` : "0px");
      pane.sheet.style.setProperty("--dot-x", `${((pane.view.body ? pane.view.body.x : 0) * k + dx).toFixed(1)}px`);
      pane.sheet.style.setProperty("--dot-y", `${((pane.view.body ? pane.view.body.top : 0) * k + dy).toFixed(1)}px`);
    }
    this.mark();
  }

  mark() {
    for (const pane of this.panes) {
      for (const [id, parts] of pane.parts) {
        const on = this.selected && this.selected.line === id;
        parts.own.classList.toggle("chosen", Boolean(on));
        for (const { node } of parts.dots) node.classList.toggle("chosen", Boolean(on));
      }
    }
  }

  select(line, at = "whole") {
    const before = this.selected && this.selected.line;
    this.selected = line ? { line, at } : null;
    this.mark();
    if (before !== line) this.root.dispatchEvent(new CustomEvent("line-chosen", { bubbles: true, detail: { line } }));
  }

  // -- pointer -----------------------------------------------------------------------------------------------------

  paneOf(target) {
    return this.panes.find((p) => p.figure.contains(target));
  }

  toPicture(pane, x, y) {
    const { k, dx, dy } = this.port.place(pane);
    return [(x - dx) / k, (y - dy) / k];
  }

  down(e) {
    if (e.button > 0) return;
    const pane = this.paneOf(e.target);
    if (!pane || e.target.closest("figcaption")) return;
    const rect = pane.sheet.getBoundingClientRect();
    const at = [e.clientX - rect.left, e.clientY - rect.top];
    if (this.drag) {
      if (!this.drag.line && !this.drag.second && e.pointerId !== this.drag.pointerId) this.drag.second = { id: e.pointerId, at };
      return;
    }
    pane.sheet.setPointerCapture(e.pointerId);
    this.drag = { pane, rect, from: at, last: at, pointer: null, pointerId: e.pointerId, target: e.target, frames: [], free: e.altKey, moved: false };
    if (this.drawing.mode) {
      this.drawing.down(pane, this.toPicture(pane, ...at));
      return;
    }
    const owner = e.target.closest("[data-line]");
    if (owner) {
      e.preventDefault();
      this.select(owner.dataset.line, owner.dataset.at);
      owner.focus({ preventScroll: true });
      if (pane.view.carried) return;
      const line = this.line(owner.dataset.line);
      Object.assign(this.drag, { line: line.id, at: owner.dataset.at ?? "whole", before: structuredClone(line), start: structuredClone(pane.parts.get(line.id).points), partners: this.partners(line) });
    }
  }

  moved(e) {
    const drag = this.drag;
    if (!drag) return;
    const at = [e.clientX - drag.rect.left, e.clientY - drag.rect.top];
    if (drag.second) {
      this.pinch(e.pointerId, at);
      return;
    }
    if (e.pointerId !== drag.pointerId) return;
    if (!drag.moved && Math.hypot(at[0] - drag.from[0], at[1] - drag.from[1]) < CLICK) return;
    drag.moved = true;
    drag.free = e.altKey;
    drag.pointer = at;
    this.later();
  }

  pinch(id, at) {
    const drag = this.drag;
    const a = id === drag.second.id ? drag.second.at : drag.last;
    const b = id === drag.second.id ? drag.last : drag.second.at;
    const before = Math.hypot(a[0] - b[0], a[1] - b[1]);
    const after = Math.hypot(at[0] - b[0], at[1] - b[1]);
    if (id === drag.second.id) drag.second.at = at;
    else drag.last = at;
    drag.moved = true;
    if (before > 0) this.port.zoomAt(drag.pane, after / before, (at[0] + b[0]) / 2, (at[1] + b[1]) / 2);
  }

  dragTo() {
    const drag = this.drag;
    const at = drag.pointer;
    drag.pointer = null;
    if (this.drawing.mode) {
      this.drawing.move(drag.pane, this.toPicture(drag.pane, ...at));
      return;
    }
    if (!drag.line) {
      this.port.pan(drag.pane, at[0] - drag.last[0], at[1] - drag.last[1]);
      drag.last = at;
      return;
    }
    const p = this.toPicture(drag.pane, ...at);
    const line = this.line(drag.line);
    const q = this.toPicture(drag.pane, ...drag.from);
    this.moveLine(drag.pane, line, drag.at, p, [p[0] - q[0], p[1] - q[1]], drag.before, drag.start, drag.free);
    this.follow(line, drag.partners);
    this.redrawLine(line);
    this.showMeasure(drag.pane, line, drag.at, at);
  }

  /** Move one point of a line, or all of it, to a place in the picture. Ends stay on edges, a symmetric end on the middle. */
  moveLine(pane, line, at, p, delta, before, start, free) {
    const view = pane.view;
    const onEdge = (end, q, keep) => {
      const sided = !line.symmetric;
      const fits = (edge) => (keep ? edge.name === end.edge && (!edge.side || edge.side === (end.side || "left")) : edge.middle ? at === "end" || !line.symmetric : at !== "end" || !line.symmetric) && (sided || !edge.side || edge.side === "left");
      const found = this.endAt(pane, q, fits, keep ? end.landmark : this.keptLandmark(pane, end, q, fits), free);
      if (!found) return end;
      delete found.gap;
      if (!sided) found.side = null;
      return found;
    };
    if (at === "whole") {
      const moved = ([x, y]) => [x + (line.symmetric ? 0 : delta[0]), y + delta[1]];
      line.start = onEdge(before.start, moved(start[0]), true);
      if (!line.symmetric || before.end.edge.startsWith("centre")) line.end = onEdge(before.end, moved(start[start.length - 1]), true);
      line.through = (before.through || []).map((_, i) => this.toShare(view, moved(start[i + 1])));
    } else if (at === "start" || at === "twin") {
      const mirrored = line.symmetric && view.mirror_x != null && (view.body.sign * (p[0] - view.mirror_x) < 0);
      line.start = onEdge(before.start, mirrored ? [2 * view.mirror_x - p[0], p[1]] : p, false);
    } else if (at === "end") {
      line.end = onEdge(before.end, p, line.symmetric);
    } else {
      const i = Number(at);
      line.through = (line.through || []).map((q, j) => (j === i ? this.toShare(view, p) : q));
    }
  }

  keptLandmark(pane, end, p, fits) {
    const found = this.endAt(pane, p, fits, null, true);
    return found && found.edge === end.edge ? end.landmark : null;
  }

  /** Let the partners keep up: a twin as the mirror image, a line that goes on by the distance of its start. */
  follow(line, partners) {
    for (const { line: p, before, twin } of partners) {
      if (twin) Object.assign(p, mirrored(line));
      else p.start = { ...line.start, side: before.start.side };
      this.redrawLine(p);
    }
  }

  redrawLine(line) {
    for (const pane of this.panes) if (pane.view.side === line.side) this.shapeLine(pane, line, false);
  }

  showMeasure(pane, line, at, [x, y]) {
    const k = pane.view.mm_per_px;
    let text;
    if (at === "end") text = this.endWords(pane, line.end);
    else if (at === "start" || at === "twin" || at === "whole") text = this.endWords(pane, line.start);
    else {
      const p = this.toPx(pane.view, line.through[Number(at)]);
      const b = pane.view.body;
      text = `${lengthText(Math.abs(p[0] - b.x) * k, this.scene.unit)} from the middle, ${lengthText((b.bottom - p[1]) * k, this.scene.unit)} above the hem`;
    }
    this.measure.hidden = false;
    this.measure.textContent = text;
    const left = pane.sheet.offsetLeft + pane.figure.offsetLeft;
    this.measure.style.transform = `translate(${Math.round(left + x)}px, ${Math.round(pane.sheet.offsetTop + y - 44)}px) translateX(-50%)`;
    this.root.dispatchEvent(new CustomEvent("line-moved", { bubbles: true, detail: { line: line.id } }));
  }

  up(e) {
    const drag = this.drag;
    if (!drag) return;
    if (drag.second) {
      if (e.pointerId === drag.second.id || e.pointerId === drag.pointerId) this.drag = null;
      return;
    }
    if (e.pointerId !== drag.pointerId) return;
    if (drag.pointer) this.dragTo();
    this.drag = null;
    if (this.frame) cancelAnimationFrame(this.frame);
    this.frame = 0;
    this.measure.hidden = true;
    if (this.drawing.mode) this.drawing.up(drag.pane, this.toPicture(drag.pane, e.clientX - drag.rect.left, e.clientY - drag.rect.top), drag.moved);
    else if (drag.line && drag.moved) this.commit(drag.line, drag.partners);
    else if (!drag.line && !drag.moved) this.clicked(drag);
    if (drag.frames.length) this.root.dataset.frames = JSON.stringify(drag.frames.map((f) => Math.round(f * 100) / 100));
    this.release();
  }

  release() {
    if (this.waiting) {
      const scene = this.waiting;
      this.waiting = null;
      this.take(scene);
    }
  }

  abandon() {
    const drag = this.drag;
    this.drag = null;
    this.measure.hidden = true;
    if (drag && drag.line) {
      Object.assign(this.line(drag.line), drag.before);
      for (const { line, before } of drag.partners) Object.assign(line, before);
      this.draw();
    }
    this.release();
  }

  clicked(drag) {
    const panel = drag.target.closest("[data-panel]");
    if (panel) this.give(panel.dataset.panel);
    else this.select(null);
  }

  /** Give a panel the cloth in hand; without one, just say which panel it is. */
  give(panel) {
    this.select(null);
    this.root.dispatchEvent(new CustomEvent("panel-chosen", { bubbles: true, detail: { panel } }));
    if (this.cloth) this.trigger("act", { do: "assign", panel, cloth: this.cloth });
  }

  wheel(e) {
    const pane = this.paneOf(e.target);
    if (!pane) return;
    e.preventDefault();
    const rect = pane.sheet.getBoundingClientRect();
    this.port.zoomAt(pane, Math.exp(-e.deltaY * (e.ctrlKey ? 0.01 : 0.0015)), e.clientX - rect.left, e.clientY - rect.top);
  }

  doubled(e) {
    const owner = e.target.closest(".grab[data-line]");
    const pane = owner && this.paneOf(owner);
    if (!owner || this.drawing.mode || pane.view.carried) return;
    const rect = pane.sheet.getBoundingClientRect();
    this.addPoint(pane, owner.dataset.line, this.toPicture(pane, e.clientX - rect.left, e.clientY - rect.top));
  }

  /** Put a point into a line where it was pressed twice; the line becomes a curve. */
  addPoint(pane, id, p) {
    const line = this.line(id);
    const points = pane.parts.get(id).points;
    const middle = pane.view.mirror_x;
    if (line.symmetric && middle != null && pane.view.body.sign * (p[0] - middle) < 0) p = [2 * middle - p[0], p[1]];
    let best = { i: 0, gap: Infinity };
    for (let i = 1; i < points.length; i += 1) {
      const hit = nearest(measured([points[i - 1], points[i]]), p);
      if (hit.gap < best.gap) best = { i: i - 1, gap: hit.gap };
    }
    line.through = [...(line.through || [])];
    line.through.splice(best.i, 0, this.toShare(pane.view, p));
    if (line.kind !== "polyline") line.kind = "curve";
    this.commit(id);
    this.draw();
  }

  // -- keyboard ----------------------------------------------------------------------------------------------------

  focused(e) {
    const owner = e.target.closest?.("[data-line]");
    if (owner) this.select(owner.dataset.line, owner.dataset.at);
  }

  key(e) {
    if (e.key === "Escape") {
      if (this.drag) this.abandon();
      else if (this.drawing.mode) this.drawing.stop();
      return;
    }
    if (this.drawing.mode && e.key === "Enter") {
      this.drawing.finish();
      e.preventDefault();
      return;
    }
    const panel = e.target.closest("[data-panel]");
    if (panel && (e.key === "Enter" || e.key === " ")) {
      e.preventDefault();
      this.give(panel.dataset.panel);
      return;
    }
    const owner = e.target.closest("[data-line]");
    if (!owner) return;
    const line = this.line(owner.dataset.line);
    if (e.key === "Delete" || e.key === "Backspace") {
      e.preventDefault();
      this.removeAt(line, owner.dataset.at);
      return;
    }
    if (this.paneOf(owner).view.carried) return;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    if (!way) return;
    e.preventDefault();
    this.nudge(this.paneOf(owner), line, owner.dataset.at, way, e.shiftKey ? 10 : 1);
  }

  nudge(pane, line, at, way, mm) {
    const partners = this.keyed === line.id && this.keyedWith ? this.keyedWith : this.partners(line);
    const px = mm / pane.view.mm_per_px;
    if (at === "start" || at === "end" || at === "twin") {
      const key = at === "end" ? "end" : "start";
      line[key] = this.slide(pane, line[key], at === "twin" ? [-way[0], way[1]] : way, mm);
    } else if (at === "whole") {
      if (way[1] || !line.symmetric) {
        line.start = this.slide(pane, line.start, way, mm);
        line.end = this.slide(pane, line.end, way, mm);
        line.through = (line.through || []).map((q) => {
          const p = this.toPx(pane.view, q);
          return this.toShare(pane.view, [p[0] + (line.symmetric ? 0 : way[0] * px), p[1] + way[1] * px]);
        });
      }
    } else {
      line.through = line.through.map((q, i) => {
        if (i !== Number(at)) return q;
        const p = this.toPx(pane.view, q);
        return this.toShare(pane.view, [p[0] + way[0] * px, p[1] + way[1] * px]);
      });
    }
    this.follow(line, partners);
    this.redrawLine(line);
    const key = at === "end" ? line.end : line.start;
    if (Number.isNaN(Number(at))) this.say.textContent = this.endWords(pane, key);
    this.keyed = line.id;
    this.keyedWith = partners;
    clearTimeout(this.keyTimer);
    this.keyTimer = setTimeout(() => this.flushKeys(), KEY_PAUSE);
  }

  /** Slide an end along its edge by mm, toward where the arrow points. */
  slide(pane, end, way, mm) {
    const edge = this.edgeOf(pane, end);
    if (!edge) return end;
    const here = this.endPx(pane, end);
    const along = nearest(edge, here).along;
    const a = pointAt(edge, along - 2);
    const b = pointAt(edge, along + 2);
    const dot = (b[0] - a[0]) * way[0] + (b[1] - a[1]) * way[1];
    const fromEnd = end.landmark === edge.end && edge.end !== edge.start;
    const grow = (dot === 0 ? way[0] + way[1] : dot) > 0 !== fromEnd ? mm : -mm;
    const most = edge.length * pane.view.mm_per_px;
    return { ...end, distance_mm: Math.round(Math.min(most, Math.max(0, end.distance_mm + grow)) * 1000) / 1000, text: "" };
  }

  flushKeys() {
    clearTimeout(this.keyTimer);
    const id = this.keyed;
    const partners = this.keyedWith || [];
    this.keyed = null;
    this.keyedWith = null;
    if (id && this.line(id)) this.commit(id, partners);
  }

  removeAt(line, at) {
    if (at !== "whole" && !Number.isNaN(Number(at))) {
      line.through = line.through.filter((_, i) => i !== Number(at));
      this.commit(line.id);
      this.draw();
      return;
    }
    this.select(null);
    this.trigger("act", { do: "remove", line: line.id });
  }

  // -- telling Python ----------------------------------------------------------------------------------------------

  /** Tell a line's new place, and its partners'. */
  commit(id, partners = []) {
    const line = this.line(id);
    this.edit = Math.max(this.edit, this.scene.edit || 0) + 1;
    const changes = [line, ...partners.map((p) => p.line)].map((l) => ({
      id: l.id, kind: l.kind, start: l.start, end: l.end, through: (l.through || []).map(([u, v]) => [u, v]),
    }));
    for (const c of changes) this.pending.set(c.id, this.edit);
    this.root.dataset.sent = String(this.edit);
    this.trigger("commit", { edit: this.edit, changes });
  }
}

/** Show the scene in props.value in an element and keep it in step with what Python sends. */
export function mount(element, props, trigger, watch) {
  const editor = new Editor(element, props, trigger);
  if (watch) watch("value", () => editor.take(props.value));
  editor.take(props.value);
  return editor;
}
