// Drawing something new over a picture: a line from edge to edge, a ring round the garment, or dabs that say
// 'this too' and 'not this'. The editor hands pointer events over while a mode is on.

import { svg } from "./make.js";
import { endAt, endPx, toShare } from "./places.js";
import { crossesMiddle, thinned } from "./stroke.js";

const NEAR = 20; // px of the screen within which a press starts or ends a line on an edge

const WAVER = 5; // px of the screen by which a stroke wavers without meaning it

const OFF_EDGE = "A line starts on an edge of the garment, on its middle, or on another line: press nearer to one.";
const GO_ON = "Press where the line should pass, and on an edge to end it. Enter ends it on the nearest edge, Backspace takes a point back, Esc stops.";

const GO_ROUND = "Press round the shape; press the first place again, or Enter, to close it. Backspace takes a point back, Esc stops.";

const HINTS = {
  dart: "Press where the dart opens, then at its tip, then Enter. Esc stops.",
  pleat: "Press along the pleat from one end to the other, then Enter. Esc stops.",
  pocket: "Press along the pocket’s edge, then Enter. Esc stops.",
  closure: "Press along the opening from one end to the other, then Enter. Esc stops.",
  shape: "Press where a closed shape is to begin, anywhere on the garment.",
  line: "Press on an edge of the garment to start, or draw from edge to edge in one stroke.",
  round: "Draw round the garment, loosely, and let go.",
  keep: "Dab on what belongs to the garment.",
  drop: "Dab on what does not belong to it.",
};

const SEWN = ["dart", "pleat", "pocket", "closure"]; // what is sewn in already, marked by a stroke over it
const PRESSED = ["line", "shape", ...SEWN]; // modes in which one presses place after place

/** What the person is drawing, and where. */
export class Drawing {
  /** Whether one presses place after place now. */
  get presses() {
    return PRESSED.includes(this.mode);
  }

  constructor(editor) {
    this.editor = editor;
    this.mode = null;
    this.points = [];
  }

  /** Begin: 'line', 'shape', 'round', 'keep' or 'drop'; options go along with what is sent. With a tool of its own, any word. */
  begin(mode, options = {}) {
    this.options?.tool?.ended();
    this.mode = mode;
    this.options = options;
    this.points = [];
    this.pane = null;
    this.start = null;
    this.pointer = null;
    this.editor.root.dataset.mode = mode;
    if (!this.editor.marks.misplaced) this.editor.marks.close(); // what a flag says would lie over the place to press
    this.tell(HINTS[mode]);
  }

  stop() {
    const { tool } = this.options || {};
    this.options = {};
    this.mode = null;
    this.points = [];
    this.stroke = null;
    delete this.editor.root.dataset.mode;
    for (const pane of this.editor.panes) pane.sketch.replaceChildren();
    this.tell("");
    tool?.ended();
  }

  tell(text) {
    this.editor.root.dispatchEvent(new CustomEvent("drawing-hint", { bubbles: true, detail: { text, mode: this.mode } }));
  }

  down(pane, p) {
    if (this.options.tool) this.options.tool.down(pane, p);
    if (this.mode === "line") this.stroke = { pane, points: [p] };
    if (PRESSED.includes(this.mode) || this.options.tool) return;
    this.pane = pane;
    this.points = [p];
  }

  move(pane, p) {
    if (this.options.tool) this.options.tool.move(pane, p);
    const stroke = this.mode === "line" && this.stroke?.pane === pane ? this.stroke.points : null;
    if (!stroke && (PRESSED.includes(this.mode) || this.options.tool || pane !== this.pane)) return;
    const points = stroke || this.points;
    const last = points[points.length - 1];
    const { k } = this.editor.port.place(pane);
    if (Math.hypot(p[0] - last[0], p[1] - last[1]) * k < 3) return;
    points.push(p);
    this.redraw(pane);
  }

  up(pane, p, moved) {
    if (this.options.tool) this.options.tool.up(pane, p, moved);
    else if (this.mode === "line") this.letGo(pane, p, moved);
    else if (this.mode === "shape" || SEWN.includes(this.mode)) this.pressRound(pane, p);
    else if (this.mode === "round") {
      const points = this.points;
      if (points.length >= 8) {
        this.send({ do: "round", view: pane.view.name, points });
        this.stop();
      }
    } else if (this.points.length) {
      this.send({ do: "dab", view: pane.view.name, says: this.mode, points: this.points });
      this.points = [];
      this.redraw(pane);
    }
  }

  /** The pointer came up while a line is drawn: it pressed a place, or drew a stroke, whose places count as pressed. */
  letGo(pane, p, moved) {
    const drawn = [...(this.stroke?.points || []), p];
    this.stroke = null;
    const { k } = this.editor.port.place(pane);
    const long = Math.max(...drawn.map((q) => Math.hypot(q[0] - drawn[0][0], q[1] - drawn[0][1]))) * k;
    if (!moved || long < 2 * NEAR || (this.points.length && this.pane !== pane)) {
      this.press(pane, p);
      return;
    }
    const places = thinned(drawn, WAVER / k);
    if (!this.points.length) this.press(pane, places.shift());
    if (this.points.length) {
      this.points.push(...places.slice(0, -1));
      this.press(pane, p);
    } else this.redraw(pane);
  }

  press(pane, p) {
    const { editor } = this;
    if (this.pane && this.pane !== pane && this.points.length) {
      this.tell(`This line lies on the ${this.pane.view.side}. Carry it over when it is drawn.`);
      return;
    }
    const found = endAt(pane, p, editor.scene.unit);
    if (!found) return;
    const { k } = editor.port.place(pane);
    const onEdge = found.gap * k <= NEAR;
    if (!this.points.length) {
      if (!onEdge) {
        this.tell(OFF_EDGE);
        return;
      }
      this.pane = pane;
      this.start = found;
      this.points = [endPx(pane, found)];
      this.tell(GO_ON);
    } else if (onEdge && this.far(pane, endPx(pane, found))) {
      this.end(found);
      return;
    } else this.points.push(p);
    this.redraw(pane);
  }

  /** A place of a closed shape was pressed. */
  pressRound(pane, p) {
    if (this.pane && this.pane !== pane && this.points.length) {
      this.tell(`This shape lies on the ${this.pane.view.side}. Carry it over when it is drawn.`);
      return;
    }
    const { k } = this.editor.port.place(pane);
    const near = (q) => Math.hypot(p[0] - q[0], p[1] - q[1]) * k <= NEAR;
    const sewn = SEWN.includes(this.mode);
    const again = this.points.length && near(this.points[this.points.length - 1]);
    if (sewn ? again && this.points.length > 1 : this.points.length > 2 && near(this.points[0])) {
      this.finish();
      return;
    }
    if (again) return;
    this.pane = pane;
    this.points.push(p);
    this.tell(sewn ? HINTS[this.mode] : GO_ROUND);
    this.redraw(pane);
  }

  /** Tell where something is sewn in. */
  mark() {
    const { pane, mode, points } = this;
    if (points.length < 2) {
      this.tell(HINTS[mode]);
      return;
    }
    this.pointer = null;
    this.send({ do: "detail", side: pane.view.side, kind: mode, points: points.map((q) => toShare(pane.view, q)) });
    this.stop();
  }

  /** Close the shape, straight from place to place as it was shown while it was drawn; its card can make it a smooth curve. */
  close() {
    if (this.points.length < 3) {
      this.tell("A closed shape has three places or more: press where it should go on.");
      return;
    }
    const { pane } = this;
    const end = { edge: "free", landmark: "", distance_mm: 0, side: null, text: "" };
    const sent = { view: pane.view.name, options: this.options, points: this.points, mode: "shape", before: this.known };
    this.pointer = null;
    this.send({ do: "draw", side: pane.view.side, start: end, end: { ...end }, through: this.points.map((q) => toShare(pane.view, q)), kind: "polyline", symmetric: false });
    this.stop();
    this.sent = sent;
  }

  /** Whether a place is not the start itself: pressed there again, the line does not end. */
  far(pane, p) {
    const { k } = this.editor.port.place(pane);
    const [x, y] = this.points[0];
    return this.points.length > 1 || Math.hypot(p[0] - x, p[1] - y) * k > 2 * NEAR;
  }

  /** Take the last point back. */
  back() {
    if (!PRESSED.includes(this.mode) || !this.points.length) return;
    this.points.pop();
    if (!this.points.length) {
      this.tell(HINTS[this.mode]);
      for (const pane of this.editor.panes) pane.sketch.replaceChildren();
      this.pane = null;
    } else this.redraw(this.pane);
  }

  /** Show how the line would run to where the pointer is, and the edge that it would end on. */
  hover(pane, p) {
    if (this.mode !== "line" && this.points.length && this.pane === pane) {
      this.pointer = p;
      this.redraw(pane);
    }
    if (this.mode !== "line") return;
    const { k, dx, dy } = this.editor.port.place(pane);
    const found = endAt(pane, p, this.editor.scene.unit);
    const near = found && found.gap * k <= NEAR && (!this.points.length || this.pane === pane) ? endPx(pane, found) : null;
    for (const other of this.editor.panes) if (other !== pane) other.sketch.querySelector(".snap")?.remove();
    let ring = pane.sketch.querySelector(".snap");
    if (!near) ring?.remove();
    else {
      ring = ring || svg("circle", { class: "snap", r: 9 }, pane.sketch);
      ring.setAttribute("cx", near[0] * k + dx);
      ring.setAttribute("cy", near[1] * k + dy);
    }
    if (!this.points.length || this.pane !== pane) return;
    this.pointer = near || p;
    this.redraw(pane);
  }

  /** End the line on the edge nearest to its last point. */
  finish() {
    if (this.mode === "shape" && this.pane) this.close();
    if (SEWN.includes(this.mode) && this.pane) this.mark();
    if (this.mode !== "line" || !this.pane) return;
    if (this.points.length < 2) {
      this.tell("Press at least one more place before the line can end.");
      return;
    }
    const over = crossesMiddle(this.pane.view, this.points); // it does not mean to end on the middle, then
    const last = this.points.pop();
    this.end(endAt(this.pane, last, this.editor.scene.unit, { fits: over ? (edge) => !edge.middle : null }));
  }

  end(found) {
    const { pane } = this;
    const through = this.points.slice(1).map((q) => toShare(pane.view, q));
    let [start, end] = [this.start, found];
    this.pointer = null;
    const middle = (e) => pane.edgeLines.some((edge) => edge.name === e.edge && edge.middle);
    if (middle(start)) {
      [start, end] = [end, start];
      through.reverse();
    }
    const closed = middle(end) && middle(start) && through.length > 0; // from the middle to the middle: a closed shape
    const over = crossesMiddle(pane.view, this.points);
    const symmetric = closed || (middle(end) && !middle(start) && !over);
    if (symmetric) {
      const flip = closed ? through.reduce((sum, q) => sum + q[0], 0) < 0 : start.side === "right";
      start = { ...start, side: null };
      if (flip) for (const q of through) q[0] = -q[0];
    }
    const sent = { view: pane.view.name, options: this.options, start: this.start, points: [...this.points, endPx(pane, found)], before: this.known };
    this.send({ do: "draw", side: pane.view.side, start, end, through, kind: through.length ? "curve" : "straight", symmetric });
    this.stop();
    this.sent = sent;
  }

  /** The answer to a drawn line came: one that could not lie there is still in hand, to be mended. */
  answered(said) {
    const { sent } = this;
    this.sent = null;
    const pane = sent && this.editor.panes.find((p) => p.view.name === sent.view);
    if (sent) this.chooseNew(sent.before);
    if (!pane || this.mode || !said || said.kind !== "error" || said.place !== "lines") return;
    this.begin(sent.mode || "line", sent.options);
    Object.assign(this, { pane, start: sent.start, points: sent.points });
    this.redraw(pane);
  }

  /** Choose the line that came: what is asked of it, and its distances, then lie open. */
  chooseNew(before) {
    const come = this.editor.scene.lines.filter((line) => !before.has(line.id));
    if (come.length === 1 && !this.mode) this.editor.select(come[0].id);
  }

  /** Which lines there are, to know a new one by. */
  get known() {
    return new Set(this.editor.scene.lines.map((line) => line.id));
  }

  send(message) {
    const event = ["draw", "detail"].includes(message.do) ? "act" : "outline";
    this.editor.trigger(event, { ...this.options, ...message });
  }

  redraw(pane) {
    this.options?.tool?.scaled?.(pane);
    const drawn = this.stroke?.pane === pane ? this.stroke.points : []; // the pointer is still down
    if (drawn.length) {
      this.trace(pane, [...(this.pane === pane ? this.points : []), ...drawn]);
      return;
    }
    if (!this.mode || pane !== this.pane || !this.points.length) {
      pane.sketch.replaceChildren();
      return;
    }
    const { k, dx, dy } = this.editor.port.place(pane);
    const shown = PRESSED.includes(this.mode) && this.pointer ? [...this.points, this.pointer] : this.points;
    this.trace(pane, shown);
    if (this.mode !== "shape") return;
    const ring = pane.sketch.querySelector(".snap") || svg("circle", { class: "snap", r: 9 }, pane.sketch); // press here to close it
    ring.setAttribute("cx", shown[0][0] * k + dx);
    ring.setAttribute("cy", shown[0][1] * k + dy);
  }

  /** Show the way so far. */
  trace(pane, points) {
    const { k, dx, dy } = this.editor.port.place(pane);
    const at = points.map(([x, y]) => `${(x * k + dx).toFixed(1)} ${(y * k + dy).toFixed(1)}`);
    const path = pane.sketch.querySelector("path") || svg("path", {}, pane.sketch);
    path.setAttribute("class", `stroke ${this.mode}`);
    path.setAttribute("d", at.length > 1 ? `M${at.join("L")}` : `M${at[0]}h0.1`);
  }
}
