// Everything that the pointer can do to a line or a panel, by keyboard.

import { nearest, pointAt } from "./geometry.js";
import { companions, edgeOf, endPx, endWords, isFree, pointsAlong, toPx, toShare } from "./places.js";

export const KEY_PAUSE = 300; // ms after the last arrow key until the move is committed
export const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const PAN = 48; // px of the screen a key press; with Shift four times as far

/** Listens to the keys of one editor. */
export class Keys {
  constructor(editor) {
    this.editor = editor;
    this.keyed = null; // the line that the keys are moving
    this.keyedWith = null;
    this.keyTimer = 0;
    editor.root.addEventListener("keydown", (e) => this.key(e));
    document.addEventListener("keydown", (e) => this.elsewhere(e));
    editor.root.addEventListener("focusin", (e) => this.focused(e));
    editor.root.addEventListener("focusout", () => this.flushKeys());
  }

  focused(e) {
    const owner = e.target.closest?.("[data-line]");
    if (owner) this.editor.select(owner.dataset.line, owner.dataset.at);
  }

  /** While something is drawn its keys are heard wherever the focus is; on a button only Escape, for Enter presses it. */
  elsewhere(e) {
    if (this.editor.root.contains(e.target) || !this.editor.drawing.mode) return;
    if (e.key === "Escape" || e.target === document.body) this.key(e);
  }

  /** Move what is in sight, or bring it closer: on the picture and its panels, and with Ctrl on lines and points too. */
  sight(e) {
    const { port } = this.editor;
    const pane = this.editor.paneOf(e.target);
    const onLine = e.target.closest("[data-line]");
    if (!pane || e.altKey || e.metaKey || e.target.closest("figcaption") || (onLine && !e.ctrlKey)) return false;
    const way = ARROWS[e.key];
    const zoom = !onLine && !e.ctrlKey && { "+": 1.4, "=": 1.4, "-": 1 / 1.4, 0: 0 }[e.key];
    const before = [port.zoom, port.across, port.down].join();
    if (way) port.pan(pane, -way[0] * PAN * (e.shiftKey ? 4 : 1), -way[1] * PAN * (e.shiftKey ? 4 : 1));
    else if (zoom === 0) port.fit();
    else if (zoom) port.zoomAt(null, zoom, 0, 0);
    if (before === [port.zoom, port.across, port.down].join()) return Boolean(way && onLine); // the page may scroll
    e.preventDefault();
    return true;
  }

  /** Arrows move, + adds a point, Delete removes, Enter gives a panel the cloth in hand, Escape takes back. */
  key(e) {
    if (e.key === "Escape") {
      if (this.editor.pointer.drag) this.editor.pointer.abandon();
      else if (this.editor.drawing.mode) this.editor.drawing.stop();
      return;
    }
    if (this.editor.drawing.mode && (e.key === "Enter" || e.key === "Backspace")) {
      if (e.key === "Enter") this.editor.drawing.finish();
      else this.editor.drawing.back();
      e.preventDefault();
      return;
    }
    const panel = e.target.closest("[data-panel]");
    if (panel && (e.key === "Enter" || e.key === " ")) {
      e.preventDefault();
      this.editor.give(panel.dataset.panel);
      return;
    }
    if (this.sight(e)) return;
    const owner = e.target.closest("[data-line]");
    if (!owner) return;
    const line = this.editor.line(owner.dataset.line);
    if (e.key === "Delete" || e.key === "Backspace") {
      e.preventDefault();
      this.removeAt(line, owner.dataset.at);
      return;
    }
    if (this.editor.paneOf(owner).view.carried) return;
    if (e.key === "+" || e.key === "Insert") {
      e.preventDefault();
      this.addAt(this.editor.paneOf(owner), line);
      return;
    }
    const way = ARROWS[e.key];
    if (!way) return;
    e.preventDefault();
    this.nudge(this.editor.paneOf(owner), line, owner.dataset.at, way, e.shiftKey ? 10 : 1);
  }

  /** Move a point, or the whole line, by mm; it is committed once the keys rest. */
  nudge(pane, line, at, way, mm) {
    const partners = this.keyed === line.id && this.keyedWith ? this.keyedWith : companions(this.editor.scene.lines, line);
    const px = mm / pane.view.mm_per_px;
    if (at === "start" || at === "end" || at === "twin") {
      const key = at === "end" ? "end" : "start";
      const before = structuredClone(line);
      line[key] = this.slide(pane, line[key], at === "twin" ? [-way[0], way[1]] : way, mm);
      line.through = pointsAlong(pane, line, before);
    } else if (at === "whole" && isFree(line)) {
      line.through = line.through.map((q) => {
        const p = toPx(pane.view, q);
        return toShare(pane.view, [p[0] + way[0] * px, p[1] + way[1] * px]);
      });
    } else if (at === "whole") {
      if (way[1] || !line.symmetric) {
        line.start = this.slide(pane, line.start, way, mm);
        line.end = this.slide(pane, line.end, way, mm);
        line.through = (line.through || []).map((q) => {
          const p = toPx(pane.view, q);
          return toShare(pane.view, [p[0] + (line.symmetric ? 0 : way[0] * px), p[1] + way[1] * px]);
        });
      }
    } else {
      line.through = line.through.map((q, i) => {
        if (i !== Number(at)) return q;
        const p = toPx(pane.view, q);
        return toShare(pane.view, [p[0] + way[0] * px, p[1] + way[1] * px]);
      });
    }
    this.editor.follow(line, partners);
    this.editor.redrawLine(line);
    const key = at === "end" ? line.end : line.start;
    if (isFree(line)) this.editor.say.textContent = this.editor.pointer.boxWords(pane, line);
    else if (Number.isNaN(Number(at))) this.editor.say.textContent = endWords(this.editor.scene, pane, key);
    this.keyed = line.id;
    this.keyedWith = partners;
    clearTimeout(this.keyTimer);
    this.keyTimer = setTimeout(() => this.flushKeys(), KEY_PAUSE);
  }

  /** Slide an end along its edge by mm, toward where the arrow points. */
  slide(pane, end, way, mm) {
    const edge = edgeOf(pane, end);
    if (!edge) return end;
    const here = endPx(pane, end);
    const along = nearest(edge, here).along;
    const a = pointAt(edge, along - 2);
    const b = pointAt(edge, along + 2);
    const dot = (b[0] - a[0]) * way[0] + (b[1] - a[1]) * way[1];
    const fromEnd = end.landmark === edge.end && edge.end !== edge.start;
    const grow = (dot === 0 ? way[0] + way[1] : dot) > 0 !== fromEnd ? mm : -mm;
    const most = edge.length * pane.view.mm_per_px;
    return { ...end, distance_mm: Math.round(Math.min(most, Math.max(0, end.distance_mm + grow)) * 1000) / 1000, text: "" };
  }

  /** Commit what the keys moved. */
  flushKeys() {
    clearTimeout(this.keyTimer);
    const id = this.keyed;
    const partners = this.keyedWith || [];
    this.keyed = null;
    this.keyedWith = null;
    if (id && this.editor.line(id)) this.editor.commit(id, partners);
  }

  /** Put a point into the middle of a line, or of the drawn half of a mirrored one. */
  addAt(pane, line) {
    const path = pane.parts.get(line.id).grab;
    const { x, y } = path.getPointAtLength(path.getTotalLength() * (line.symmetric ? 0.25 : 0.5));
    this.editor.addPoint(pane, line.id, [x, y]);
  }

  /** Take a point out of a line; at an end or on the line itself, take the line away. */
  removeAt(line, at) {
    if (at !== "whole" && isFree(line) && line.through.length <= 3) {
      this.editor.say.textContent = "A closed shape keeps three points.";
      return;
    }
    if (at !== "whole" && !Number.isNaN(Number(at))) {
      line.through = line.through.filter((_, i) => i !== Number(at));
      this.editor.commit(line.id);
      this.editor.draw();
      return;
    }
    this.editor.select(null);
    this.editor.trigger("act", { do: "remove", line: line.id });
  }
}
