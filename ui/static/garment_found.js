// Putting right what was found in a picture of the garment: areas joined, divided, named; stitching that is a seam; points
// moved along the outline; an edge followed. The drawing surface hands its presses over while one of these is on.

import { ARROWS, KEY_PAUSE } from "./keys.js";
import { make, svg } from "./make.js";

const NEAR = 26; // px of the screen within which a press takes a point
const LEAST = 12; // px of the screen: a shorter stroke divides nothing

const HINTS = {
  join: "Press two areas that touch: they become one. Esc stops.",
  divide: "Draw a stroke across an area, from rim to rim. Esc stops.",
  stitching: "Press on the dashed stitching that is a seam. Esc stops.",
  points: "Drag a point along the outline, or move it with Tab and arrow keys. A dashed one was not found: it counts when it is moved. Esc stops.",
  follow: "Press on points along the garment’s edge, all the way round; press the first again, or Enter, to close.",
};

/** Takes the presses on the garment while one of the modes is on. */
class Tool {
  constructor(mode, drawing) {
    this.mode = mode;
    this.drawing = drawing;
    this.hint = HINTS[mode];
    this.points = [];
    this.marks = [];
    this.chosen = null;
    this.key = (e) => this.keyed(e);
    document.addEventListener("keydown", this.key, true);
    if (mode === "points") this.showPoints();
  }

  /** The mode was left. */
  ended() {
    document.removeEventListener("keydown", this.key, true);
    this.stop();
  }

  keyed(e) {
    if (this.mode === "points") this.nudge(e);
    if (this.mode !== "follow" || !this.points.length || /^(input|textarea|select)$/i.test(e.target.tagName)) return;
    if (e.key === "Enter") this.finish();
    else if (e.key === "Backspace") this.back();
    else return;
    e.preventDefault();
    e.stopPropagation();
  }

  get panes() {
    return this.drawing.editor.panes;
  }

  scale(pane) {
    return this.drawing.editor.port.place(pane).k;
  }

  /** Arrow keys move the point that has the focus, by mm of the garment; it is told once they rest. */
  nudge(e) {
    const held = ARROWS[e.key] && (this.dots || []).find((d) => d.dot === e.target);
    if (!held) return;
    e.preventDefault();
    e.stopPropagation();
    const step = (e.shiftKey ? 10 : 1) / held.pane.view.mm_per_px;
    held.point.at = held.point.at.map((v, i) => v + ARROWS[e.key][i] * step);
    this.put(held, held.point.at);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.send(held.pane, { do: "point", name: held.point.name, points: [held.point.at] }), KEY_PAUSE);
  }

  put({ dot }, [x, y]) {
    dot.setAttribute("cx", x);
    dot.setAttribute("cy", y);
  }

  stop() {
    for (const m of this.marks) m.remove();
    this.marks = [];
  }

  layer(pane) {
    const g = svg("g", { class: "found", "aria-hidden": "true" }, pane.world);
    this.marks.push(g);
    return g;
  }

  showPoints() {
    const { key } = document.activeElement?.dataset || {}; // the point that is being moved keeps the focus
    this.stop();
    this.dots = [];
    for (const pane of this.panes) {
      const g = this.layer(pane);
      g.removeAttribute("aria-hidden");
      const k = this.scale(pane);
      for (const point of pane.view.points || []) {
        const dot = svg("circle", { class: point.missing ? "found-point missing" : "found-point", cx: point.at[0], cy: point.at[1], r: 8 / k, tabindex: 0, role: "button", "aria-roledescription": "point", "aria-label": point.words, "data-key": `point:${pane.view.name}:${point.name}` }, g);
        svg("title", {}, dot).textContent = point.words;
        this.dots.push({ pane, point, dot });
      }
    }
    if (key?.startsWith("point:")) this.dots.find((d) => d.dot.dataset.key === key)?.dot.focus({ preventScroll: true });
  }

  down(pane, p) {
    this.pane = pane;
    this.points = this.mode === "follow" ? this.points : [p];
    if (this.mode !== "points") return;
    const k = this.scale(pane);
    const near = (this.dots || []).filter((d) => d.pane === pane).map((d) => ({ ...d, away: Math.hypot(d.point.at[0] - p[0], d.point.at[1] - p[1]) * k }));
    near.sort((a, b) => a.away - b.away);
    this.held = near.length && near[0].away <= NEAR ? near[0] : null;
    if (this.held) {
      this.held.dot.classList.add("held");
      this.drawing.tell(this.held.point.words);
    }
  }

  move(pane, p) {
    if (pane !== this.pane) return;
    if (this.mode === "points" && this.held) {
      this.put(this.held, p);
    } else if (this.mode === "divide") {
      this.points.push(p);
      this.line(pane, this.points, "stroke divide");
    }
  }

  up(pane, p) {
    if (this.mode === "points") this.drop(pane, p);
    else if (this.mode === "divide") this.divide(pane, p);
    else if (this.mode === "join") this.pick(pane, p);
    else if (this.mode === "stitching") this.send(pane, { do: "seam", points: [p] });
    else this.follow(pane, p);
  }

  drop(pane, p) {
    if (!this.held) return;
    this.send(pane, { do: "point", name: this.held.point.name, points: [p] });
    this.held = null;
  }

  divide(pane, p) {
    const points = [...this.points, p];
    const [a, b] = [points[0], p];
    this.stop();
    if (Math.hypot(a[0] - b[0], a[1] - b[1]) * this.scale(pane) < LEAST) return;
    this.send(pane, { do: "split", points });
  }

  pick(pane, p) {
    const area = areaAt(pane, p);
    if (!area) return;
    if (!this.chosen || this.chosen.pane !== pane) {
      this.stop();
      this.chosen = { pane, p, id: area.id };
      svg("path", { class: "found-area", d: area.d }, this.layer(pane));
      this.drawing.tell(`${area.name}: press the area that it goes with.`);
    } else if (area.id !== this.chosen.id) {
      this.send(pane, { do: "join", points: [this.chosen.p, p] });
      this.chosen = null;
      this.stop();
    }
  }

  follow(pane, p) {
    if (pane.view.kind !== "photo") {
      this.drawing.tell("An edge is followed in the photo.");
      return;
    }
    const k = this.scale(pane);
    const [first] = this.points;
    if (this.points.length >= 3 && Math.hypot(first[0] - p[0], first[1] - p[1]) * k < NEAR) {
      this.finish();
      return;
    }
    this.points.push(p);
    this.line(pane, this.points, "stroke follow");
  }

  finish() {
    if (this.mode !== "follow") return;
    if (this.points.length < 3) {
      this.drawing.tell("Press at least three points on the edge.");
      return;
    }
    this.send(this.pane, { do: "follow", points: this.points });
    this.drawing.stop();
  }

  back() {
    if (this.mode !== "follow" || !this.points.length) return;
    this.points.pop();
    this.line(this.pane, this.points, "stroke follow");
  }

  line(pane, points, kind) {
    this.stop();
    if (!points.length) return;
    const d = `M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}`;
    svg("path", { class: kind, d: points.length > 1 ? d : `${d}h0.1`, "vector-effect": "non-scaling-stroke" }, this.layer(pane));
  }

  /** The picture came closer or went away: points keep their size on the screen. */
  scaled(pane) {
    for (const d of (this.mode === "points" && this.dots) || []) if (d.pane === pane) d.dot.setAttribute("r", 8 / this.scale(pane));
  }

  /** Draw again what belongs to a scene that came in; what can be done still stands where nothing else is said. */
  refresh(said) {
    if (!said) this.drawing.tell(this.hint);
    if (this.mode === "points") this.showPoints();
    else if (this.mode !== "follow") this.stop();
  }

  send(pane, message) {
    this.drawing.editor.trigger("outline", { view: pane.view.name, ...message });
  }
}

/** The area under a place; where they overlap, the last found one lies on top. */
function areaAt(pane, [x, y]) {
  const probe = svg("path", { visibility: "hidden", "fill-rule": "evenodd" }, pane.world);
  const found = (pane.view.areas || []).filter((a) => {
    probe.setAttribute("d", a.d);
    return probe.isPointInFill(new DOMPoint(x, y));
  });
  probe.remove();
  return found[found.length - 1] || null;
}

/** The list of areas under 'What garment?': names, what each is, and how the drawing was read. */
export class FoundList {
  constructor() {
    this.shown = "";
    document.addEventListener("scene-taken", () => this.show(window.garmentTable));
    // The list's place is there only once its heading is opened.
    new MutationObserver(() => {
      const box = document.querySelector("#found-areas");
      if (box && !box.childElementCount) this.show(window.garmentTable);
    }).observe(document.querySelector("#leaflet") || document.body, { childList: true, subtree: true });
    document.addEventListener("drawing-hint", (e) => this.press(e.detail.mode));
    document.addEventListener("click", (e) => {
      const button = e.target.closest("[data-found]");
      if (button) this.begin(window.garmentTable, button.dataset.found);
    });
  }

  /** Begin a mode, or leave it where it is on. */
  begin(table, mode) {
    if (!table || !table.scene.views.length) return;
    const { drawing } = table.editor;
    if (drawing.mode === mode) {
      drawing.stop();
      return;
    }
    const tool = new Tool(mode, drawing);
    drawing.begin(mode, { tool });
    drawing.tell(tool.hint);
    // Who pressed the button by key goes on by key: to a point that is missing, or the first one.
    if (tool.dots && document.activeElement?.matches("[data-found]:focus-visible")) (tool.dots.find((d) => d.point.missing) || tool.dots[0])?.dot.focus({ preventScroll: true });
  }

  press(mode) {
    for (const b of document.querySelectorAll("[data-found]")) b.setAttribute("aria-pressed", String(b.dataset.found === mode));
  }

  show(table) {
    if (!table) return;
    table.editor.drawing.options?.tool?.refresh?.(table.scene.said);
    const box = document.querySelector("#found-areas");
    if (!box) return;
    const views = (table.scene.views || []).filter((v) => v.areas && v.areas.length);
    const text = JSON.stringify(views.map((v) => [v.name, v.areas.map((a) => [a.id, a.name, a.part]), v.reading]));
    if (text === this.shown && box.childElementCount) return;
    this.shown = text;
    box.replaceChildren();
    if (!views.length) make("p", { class: "fine" }, box, "Add a picture first.");
    for (const view of views) this.view(table, box, view);
  }

  view(table, box, view) {
    make("h4", {}, box, view.kind === "photo" ? `${view.title}, photo` : view.title);
    const parts = JSON.parse(box.dataset.parts || "[]");
    for (const area of view.areas) {
      const row = make("div", { class: "found-row" }, box);
      const name = make("input", { type: "text", maxlength: "60", value: area.name, "aria-label": `Name of ${area.name}` }, row);
      const what = make("select", { "aria-label": `${area.name} is` }, row);
      for (const [value, words] of parts) make("option", { value }, what, value === "" ? area.is : words);
      const send = () => table.trigger("outline", { do: "name", view: view.name, area: area.id, name: name.value, part: what.value });
      name.addEventListener("change", send);
      what.addEventListener("change", send);
      row.addEventListener("pointerenter", () => mark(table, view.name, area.d));
      row.addEventListener("focusin", () => mark(table, view.name, area.d));
      row.addEventListener("pointerleave", () => mark(table, null));
      row.addEventListener("focusout", () => mark(table, null));
    }
    if (view.reading) this.reading(table, box, view);
  }

  reading(table, box, view) {
    const { line_px: line, gap_px: gap, line_given: lineGiven, gap_given: gapGiven, stitching, no_darts: noDarts } = view.reading;
    const row = make("div", { class: "found-reading" }, box);
    const number = (words, value, most) => {
      const label = make("label", {}, row, words);
      return make("input", { type: "number", min: "0.5", max: String(most), step: "0.5", value: String(value), "data-was": String(value) }, label);
    };
    const width = number("Width of its lines, in dots of the picture", line, 200);
    const gaps = number("Widest gap that counts as closed, in dots", gap, 500);
    const check = (words, on) => {
      const label = make("label", { class: "check" }, row);
      const box = make("input", { type: "checkbox" }, label);
      box.checked = on;
      label.append(words);
      return box;
    };
    const dashes = check("All stitching is a seam", stitching);
    const wedges = check("Small wedges are no darts", noDarts);
    const again = make("button", { type: "button" }, row, "Read it again");
    const given = (input, before) => (before || input.value !== input.dataset.was ? Number(input.value) : null);
    again.addEventListener("click", () => table.trigger("outline", {
      do: "read", view: view.name, line_px: given(width, lineGiven), gap_px: given(gaps, gapGiven), stitching: dashes.checked, no_darts: wedges.checked,
    }));
  }
}

/** Show where an area lies; null takes the mark away. */
function mark(table, view, d = "") {
  for (const pane of table.editor.panes) {
    pane.world.querySelector(".found-shown")?.remove();
    if (pane.view.name === view) svg("path", { class: "found-area found-shown", d, "aria-hidden": "true" }, pane.world);
  }
}
