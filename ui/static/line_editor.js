// The line editor: front and back side by side, style lines over them, panels under them.
//
// mount(element, props, trigger, watch) draws props.value, the scene that ui/parts/scene.py describes, and tells what
// the person did: trigger('commit', {edit, changes: [{id, kind, start, end, through}]}) on release of a line,
// trigger('outline', {do, view, points}) for what is drawn on a photo, and trigger('act', {do, …}) for the rest. Words of
// the person are only ever set as text, never as markup.

import { Drawing } from "./drawing_mode.js";
import { measured, nearest } from "./geometry.js";
import { Keys } from "./keys.js";
import { make } from "./make.js";
import { Marks } from "./marks.js";
import { showOtherSide } from "./other_side.js";
import { Pane } from "./pane.js";
import { isFree, mirrored, pointsAlong, toShare } from "./places.js";
import { Pointer } from "./pointer.js";
import { Viewport } from "./viewport.js";

class Editor {
  constructor(element, trigger) {
    this.trigger = trigger;
    this.port = new Viewport();
    this.panes = [];
    this.edit = 0;
    this.pending = new Map(); // line id → number of the local edit that Python has not answered yet
    this.selected = null;
    this.cloth = null; // id of the cloth in hand
    this.frame = 0;
    this.root = make("div", { class: "editor" }, element);
    this.views = make("div", { class: "views" }, this.root);
    this.measure = make("output", { class: "measure", hidden: "" }, this.root);
    this.say = make("div", { class: "for-ears", "aria-live": "polite" }, this.root);
    this.bar = make("div", { class: "sight" }, this.root);
    for (const [text, label, act] of [
      ["−", "Further away", () => this.port.zoomAt(null, 1 / 1.4, 0, 0)],
      ["Whole garment", "Whole garment in sight", () => this.port.fit()],
      ["+", "Closer", () => this.port.zoomAt(null, 1.4, 0, 0)],
    ]) {
      make("button", { class: "quiet", type: "button", "aria-label": label }, this.bar, text).addEventListener("click", act);
    }
    this.marks = new Marks(this);
    this.drawing = new Drawing(this);
    this.pointer = new Pointer(this);
    this.keys = new Keys(this);
    this.port.changed = () => this.later();
    this.sizes = new ResizeObserver(() => this.resized());
  }

  line(id) {
    return this.scene.lines.find((l) => l.id === id);
  }

  /** Take a scene from Python; lines that were edited since it was asked for keep the newer, local shape. */
  take(scene) {
    if (!scene || typeof scene !== "object") return;
    if (this.pointer.drag && this.pointer.drag.line) {
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
    this.marks.take();
    this.drawing.answered(scene.said);
  }

  /** Which views stand side by side: one for each side of the garment, the drawing unless the photo was asked for. */
  shown() {
    const views = this.scene.views;
    const wanted = this.wanted || {};
    const sides = [...new Set(views.map((v) => v.side))];
    return sides.map((side) => views.find((v) => v.name === wanted[side] && v.side === side) || views.find((v) => v.side === side));
  }

  /** Draw the scene; what has the focus keeps it. */
  draw() {
    const focus = document.activeElement && this.root.contains(document.activeElement) ? document.activeElement.dataset.key : null;
    const shown = this.shown();
    const same = shown.length === this.panes.length && shown.every((v, i) => this.panes[i].view.name === v.name);
    if (!same) this.layOut(shown);
    this.panes.forEach((pane, i) => {
      pane.fill(shown[i]);
      this.marks.fill(pane);
    });
    this.bar.hidden = shown.length === 0;
    this.apply();
    if (focus) this.root.querySelector(`[data-key="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
    this.root.dataset.ready = String(this.scene.revision ?? 0);
    this.root.dataset.edit = String(this.scene.edit ?? 0);
  }

  /** Show new pictures of views, address by name, before the rest of their scene is there. */
  showPictures(pictures) {
    for (const pane of this.panes) if (pictures[pane.view.name] && !(this.plain && pane.view.plain)) pane.showAlso(pictures[pane.view.name]);
  }

  /** Show photos as they were taken, with nothing over them, or painted. */
  showPlain(plain) {
    this.plain = plain;
    for (const pane of this.panes) pane.showNow();
  }

  /** Lay the sheets out anew. */
  layOut(shown) {
    this.sizes.disconnect();
    this.views.replaceChildren();
    this.panes = shown.map((view) => new Pane(this, view, this.views));
    showOtherSide(this.views, shown.map((v) => v.side));
    for (const pane of this.panes) this.sizes.observe(pane.sheet);
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

  /** Do what is waiting in the next frame. */
  later() {
    if (!this.frame) this.frame = requestAnimationFrame(() => this.tick());
  }

  tick() {
    this.frame = 0;
    const began = performance.now();
    if (this.pointer.drag && this.pointer.drag.pointer) this.pointer.dragTo();
    if (!this.pointer.drag || !this.pointer.drag.line) this.apply();
    this.lastFrame = performance.now() - began;
    if (this.pointer.drag) this.pointer.drag.frames.push(this.lastFrame);
  }

  /** Put everything where the viewport says. */
  apply() {
    for (const pane of this.panes) {
      pane.place();
      this.drawing.redraw(pane);
    }
    this.marks.place();
    this.mark();
  }

  /** Show which line is chosen. */
  mark() {
    for (const pane of this.panes) {
      for (const [id, parts] of pane.parts) {
        const on = this.selected && this.selected.line === id;
        parts.own.classList.toggle("chosen", Boolean(on));
        for (const { node } of parts.dots) node.classList.toggle("chosen", Boolean(on));
        if (parts.v) parts.v.classList.toggle("chosen", Boolean(on));
      }
    }
  }

  /** Choose a line, or none. */
  select(line, at = "whole") {
    const before = this.selected && this.selected.line;
    this.selected = line ? { line, at } : null;
    this.mark();
    if (before !== line) this.root.dispatchEvent(new CustomEvent("line-chosen", { bubbles: true, detail: { line } }));
  }

  paneOf(target) {
    return this.panes.find((p) => p.figure.contains(target));
  }

  /** Let the partners keep up: a twin as the mirror image, a line that goes on by the distance of its start. */
  follow(line, partners) {
    for (const { line: p, before, twin } of partners) {
      if (twin) Object.assign(p, mirrored(line));
      else {
        p.start = { ...line.start, side: before.start.side };
        p.through = pointsAlong(this.panes.find((pane) => pane.view.side === p.side && !pane.view.carried), p, before);
      }
      this.redrawLine(p);
    }
  }

  /** Draw one line where it is now, on every picture of its side. */
  redrawLine(line) {
    for (const pane of this.panes) if (pane.view.side === line.side) pane.shapeLine(line, false);
  }

  /** Take the scene that came during a drag. */
  release() {
    if (this.waiting) {
      const scene = this.waiting;
      this.waiting = null;
      this.take(scene);
    }
  }

  /** Give a panel the cloth in hand; without one, just say which panel it is. */
  give(panel) {
    this.select(null);
    this.root.dispatchEvent(new CustomEvent("panel-chosen", { bubbles: true, detail: { panel } }));
    if (this.cloth) this.trigger("act", { do: "assign", panel, cloth: this.cloth });
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
    line.through.splice(isFree(line) ? best.i + 1 : best.i, 0, toShare(pane.view, p));
    if (line.kind !== "polyline") line.kind = "curve";
    this.commit(id);
    this.draw();
  }

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
  const editor = new Editor(element, trigger);
  if (watch) watch("value", () => editor.take(props.value));
  editor.take(props.value);
  return editor;
}
