// Mouse, pen and touch over the garment: drag points and whole lines, pan, pinch, press panels.

import { flat, lengthText, whole } from "./geometry.js";
import { boxOf, companions, endAt, endPx, endWords, isFree, pointsAlong, toPx, toShare } from "./places.js";
import { around, filled, roomiest } from "./room.js";
import { snapEnd, snapPoint } from "./snap.js";

const CLICK = 5; // px a press may wander and still be a click
const CURSOR = 14; // px round the middle of what is dragged that stay free
const FINGER = 44; // the same under a finger, which hides what is below it too

/** Follows the pointers of one editor. */
export class Pointer {
  constructor(editor) {
    this.editor = editor;
    this.drag = null;
    const on = (kind, act, options) => editor.views.addEventListener(kind, act, options);
    on("pointerdown", (e) => this.down(e));
    on("pointermove", (e) => this.moved(e));
    on("pointerup", (e) => this.up(e));
    on("pointercancel", () => this.abandon());
    on("wheel", (e) => this.wheel(e), { passive: false });
    on("dblclick", (e) => this.doubled(e));
  }

  /** A press: on a line or point it may become a drag, elsewhere a pan or a click. */
  down(e) {
    if (e.button > 0) return;
    const pane = this.editor.paneOf(e.target);
    if (!pane || e.target.closest("figcaption")) return;
    const rect = pane.sheet.getBoundingClientRect();
    const at = [e.clientX - rect.left, e.clientY - rect.top];
    if (this.drag) {
      if (!this.drag.line && !this.drag.second && e.pointerId !== this.drag.pointerId) this.drag.second = { id: e.pointerId, at };
      return;
    }
    pane.sheet.setPointerCapture(e.pointerId);
    this.drag = { pane, rect, from: at, last: at, pointer: null, pointerId: e.pointerId, target: e.target, frames: [], free: e.altKey, moved: false, touch: e.pointerType === "touch" };
    if (this.editor.drawing.mode) {
      this.editor.drawing.down(pane, pane.toPicture(...at));
      return;
    }
    const owner = e.target.closest("[data-line]");
    if (owner) {
      e.preventDefault();
      this.editor.select(owner.dataset.line, owner.dataset.at);
      owner.focus({ preventScroll: true });
      if (pane.view.carried) return;
      const line = this.editor.line(owner.dataset.line);
      Object.assign(this.drag, { line: line.id, at: owner.dataset.at ?? "whole", before: structuredClone(line), start: structuredClone(pane.parts.get(line.id).points), partners: companions(this.editor.scene.lines, line) });
    }
  }

  /** Keep only the newest place; the frame does the rest. */
  moved(e) {
    const drag = this.drag;
    if (!drag) {
      if (this.editor.drawing.presses) this.hover(e);
      return;
    }
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
    this.editor.later();
  }

  hover(e) {
    const pane = this.editor.paneOf(e.target);
    if (!pane) return;
    const rect = pane.sheet.getBoundingClientRect();
    this.editor.drawing.hover(pane, pane.toPicture(e.clientX - rect.left, e.clientY - rect.top));
  }

  /** Two fingers zoom. */
  pinch(id, at) {
    const drag = this.drag;
    const a = id === drag.second.id ? drag.second.at : drag.last;
    const b = id === drag.second.id ? drag.last : drag.second.at;
    const before = Math.hypot(a[0] - b[0], a[1] - b[1]);
    const after = Math.hypot(at[0] - b[0], at[1] - b[1]);
    if (id === drag.second.id) drag.second.at = at;
    else drag.last = at;
    drag.moved = true;
    if (before > 0) this.editor.port.zoomAt(drag.pane, after / before, (at[0] + b[0]) / 2, (at[1] + b[1]) / 2);
  }

  /** Once a frame: bring what is dragged to where the pointer is. */
  dragTo() {
    const drag = this.drag;
    const at = drag.pointer;
    drag.pointer = null;
    if (this.editor.drawing.mode) {
      this.editor.drawing.move(drag.pane, drag.pane.toPicture(...at));
      return;
    }
    if (!drag.line) {
      this.editor.port.pan(drag.pane, at[0] - drag.last[0], at[1] - drag.last[1]);
      drag.last = at;
      return;
    }
    const p = drag.pane.toPicture(...at);
    const line = this.editor.line(drag.line);
    const q = drag.pane.toPicture(...drag.from);
    this.moveLine(drag.pane, line, drag.at, p, [p[0] - q[0], p[1] - q[1]], drag.before, drag.start, drag.free);
    this.editor.follow(line, drag.partners);
    this.editor.redrawLine(line);
    this.showMeasure(drag.pane, line, drag.at, at);
  }

  /** Put the measure beside the pointer, clear of the line and of the finger; where it was is kept while it is clear. */
  placeMeasure(pane, line, [x, y]) {
    const { measure, root } = this.editor;
    const { touch } = this.drag;
    const reach = touch ? FINGER : CURSOR;
    const off = [pane.figure.offsetLeft + pane.sheet.offsetLeft, pane.sheet.offsetTop];
    const hand = { left: off[0] + x - reach, top: off[1] + y - reach, width: 2 * reach, height: 2 * reach };
    const size = { width: measure.offsetWidth, height: measure.offsetHeight };
    const boxes = around(hand, size, { width: root.clientWidth, height: root.clientHeight }, 6, !touch).map((box, i) => ({ ...box, i }));
    const points = pane.inSight(line.id).map((p) => [p[0] + off[0], p[1] + off[1]]);
    const last = this.drag.where ?? 2; // above it at first
    const { left, top, i } = roomiest([boxes[last], ...boxes], [...points, ...filled(hand)]);
    this.drag.where = i;
    measure.style.transform = `translate(${left}px, ${top}px)`;
  }

  /** Say beside the pointer where the dragged point is. */
  showMeasure(pane, line, at, [x, y]) {
    const k = pane.view.mm_per_px;
    let text;
    if (at === "whole" && isFree(line)) text = this.boxWords(pane, line);
    else if (at === "end") text = endWords(this.editor.scene, pane, line.end);
    else if (at === "start" || at === "twin" || at === "whole") text = endWords(this.editor.scene, pane, line.start);
    else {
      const p = toPx(pane.view, line.through[Number(at)]);
      const b = pane.view.body;
      text = `${lengthText(Math.abs(p[0] - b.x) * k, this.editor.scene.unit)} from the middle, ${lengthText((b.bottom - p[1]) * k, this.editor.scene.unit)} above the hem`;
    }
    this.editor.measure.hidden = false;
    this.editor.measure.textContent = this.fell ? `${text} · ${this.fell}` : text;
    this.placeMeasure(pane, line, [x, y]);
    this.editor.root.dispatchEvent(new CustomEvent("line-moved", { bubbles: true, detail: { line: line.id } }));
  }

  /** Where a closed shape lies and how large it is. */
  boxWords(pane, line) {
    const { unit } = this.editor.scene;
    const { across, up, wide, high } = boxOf(pane, flat(whole(line, pane.parts.get(line.id).points, null)));
    const t = (mm) => lengthText(mm, unit);
    return `${t(wide)} × ${t(high)}, ${t(across)} from the middle, ${t(up)} above the hem`;
  }

  /** Let go: commit the line, or take it as a click. */
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
    if (this.editor.frame) cancelAnimationFrame(this.editor.frame);
    this.editor.frame = 0;
    this.editor.measure.hidden = true;
    if (this.editor.drawing.mode) this.editor.drawing.up(drag.pane, drag.pane.toPicture(e.clientX - drag.rect.left, e.clientY - drag.rect.top), drag.moved);
    else if (drag.line && drag.moved) this.editor.commit(drag.line, drag.partners);
    else if (!drag.line && !drag.moved) this.clicked(drag);
    if (drag.frames.length) this.editor.root.dataset.frames = JSON.stringify(drag.frames.map((f) => Math.round(f * 100) / 100));
    this.editor.release();
  }

  /** Put a dragged line back. */
  abandon() {
    const drag = this.drag;
    this.drag = null;
    this.editor.measure.hidden = true;
    this.editor.drawing.stroke = null;
    if (drag && drag.line) {
      Object.assign(this.editor.line(drag.line), drag.before);
      for (const { line, before } of drag.partners) Object.assign(line, before);
      this.editor.draw();
    }
    this.editor.release();
  }

  clicked(drag) {
    const flag = drag.target.closest("[data-mark]");
    if (flag) {
      this.editor.marks.toggle(flag.dataset.mark);
      return;
    }
    const panel = drag.target.closest("[data-panel]");
    if (panel) this.editor.give(panel.dataset.panel);
    else this.editor.select(null);
  }

  wheel(e) {
    const pane = this.editor.paneOf(e.target);
    if (!pane) return;
    e.preventDefault();
    const rect = pane.sheet.getBoundingClientRect();
    this.editor.port.zoomAt(pane, Math.exp(-e.deltaY * (e.ctrlKey ? 0.01 : 0.0015)), e.clientX - rect.left, e.clientY - rect.top);
  }

  doubled(e) {
    const owner = e.target.closest(".grab[data-line]");
    const pane = owner && this.editor.paneOf(owner);
    if (!owner || this.editor.drawing.mode || pane.view.carried) return;
    const rect = pane.sheet.getBoundingClientRect();
    this.editor.addPoint(pane, owner.dataset.line, pane.toPicture(e.clientX - rect.left, e.clientY - rect.top));
  }

  /** Move one point of a line, or all of it, to a place in the picture. Ends stay on edges, a symmetric end on the middle. */
  moveLine(pane, line, at, p, delta, before, start, free) {
    const view = pane.view;
    this.fell = "";
    const onEdge = (end, q, keep) => {
      const sided = !line.symmetric;
      const fits = (edge) => edge.name !== line.id && (keep ? edge.name === end.edge && (!edge.side || edge.side === (end.side || "left")) : edge.middle ? at === "end" || !line.symmetric : at !== "end" || !line.symmetric) && (sided || !edge.side || edge.side === "left");
      const snap = at === "whole" ? null : (e, edge, along) => snapEnd(pane, e, edge, along, ...this.beside(pane, line, at));
      const found = endAt(pane, q, this.editor.scene.unit, { fits, landmark: keep ? end.landmark : this.keptLandmark(pane, end, q, fits), free, snap });
      if (!found) return end;
      this.fell = found.snapped || "";
      delete found.gap;
      delete found.snapped;
      if (!sided) found.side = null;
      return found;
    };
    if (at === "whole" && isFree(line)) {
      const by = free ? delta : this.shapeSnap(pane, start, delta);
      line.through = before.through.map((_, i) => toShare(view, [start[i][0] + by[0], start[i][1] + by[1]]));
    } else if (at === "whole") {
      const moved = ([x, y]) => [x + (line.symmetric ? 0 : delta[0]), y + delta[1]];
      line.start = onEdge(before.start, moved(start[0]), true);
      if (!line.symmetric || before.end.edge.startsWith("centre")) line.end = onEdge(before.end, moved(start[start.length - 1]), true);
      line.through = (before.through || []).map((_, i) => toShare(view, moved(start[i + 1])));
    } else if (at === "start" || at === "twin") {
      const mirrored = line.symmetric && view.mirror_x != null && (view.body.sign * (p[0] - view.mirror_x) < 0);
      line.start = onEdge(before.start, mirrored ? [2 * view.mirror_x - p[0], p[1]] : p, false);
    } else if (at === "end") {
      line.end = onEdge(before.end, p, line.symmetric);
    } else {
      const i = Number(at);
      const [q0, word] = free ? [p, ""] : snapPoint(pane, line, p);
      this.fell = word;
      line.through = (line.through || []).map((q, j) => (j === i ? toShare(view, q0) : q));
    }
    if (["start", "twin", "end"].includes(at)) line.through = pointsAlong(pane, line, before);
  }

  /** Let a dragged shape fall into the middle of the garment. */
  shapeSnap(pane, start, [dx, dy]) {
    const { mirror_x: middle } = pane.view;
    if (middle == null) return [dx, dy];
    const xs = start.map((p) => p[0]);
    const off = (Math.min(...xs) + Math.max(...xs)) / 2 + dx - middle;
    if (Math.abs(off) * this.editor.port.place(pane).k > 5) return [dx, dy];
    this.fell = "in the middle";
    return [dx - off, dy];
  }

  /** For a dragged end: the point that it may be square to, and what it may be level with, px. Points between go along. */
  beside(pane, line, at) {
    const other = endPx(pane, at !== "end" ? line.end : line.start);
    return [(line.through || []).length ? null : other, other ? [other] : []];
  }

  /** Go on counting from the same landmark while the end stays on its edge. */
  keptLandmark(pane, end, p, fits) {
    const found = endAt(pane, p, this.editor.scene.unit, { fits, free: true });
    return found && found.edge === end.edge ? end.landmark : null;
  }
}
