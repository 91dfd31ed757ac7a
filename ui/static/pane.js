// One picture of the garment with everything that lies over it: panels, flags, lines, and the points to drag.

import { drawFlag, flyFlags } from "./flags.js";
import { flat, measured, nearest, pathData, pointAt, whole } from "./geometry.js";
import { make, svg } from "./make.js";
import { edgeOf, endWords, isFree, pointsOf, toPx } from "./places.js";

/** Shows one view in its own sheet. Words of the person are only ever set as text. */
export class Pane {
  constructor(editor, view, parent) {
    this.editor = editor;
    this.view = view;
    this.box = { width: 0, height: 0 };
    this.turn = view.side === "back" ? -1 : 1;
    this.figure = make("figure", { class: "view" }, parent);
    this.sheet = make("div", { class: "sheet" }, this.figure);
    this.img = make("img", { class: "picture", alt: "", draggable: "false" }, this.sheet);
    this.over = svg("svg", { class: "over", role: "group", tabindex: 0, "data-key": `picture:${view.name}` }, this.sheet);
    this.world = svg("g", {}, this.over);
    this.panels = svg("g", { class: "panels" }, this.world);
    this.details = svg("g", { class: "details" }, this.world);
    this.lines = svg("g", { class: "lines" }, this.world);
    this.labels = svg("g", { class: "labels" }, this.over);
    this.handles = svg("g", { class: "handles" }, this.over);
    this.flags = svg("g", { class: "marks" }, this.over);
    this.sketch = svg("g", { class: "sketch" }, this.over);
    this.caption = make("figcaption", {}, this.figure);
  }

  /** Show a view's scene. */
  fill(view) {
    this.view = view;
    this.edgeLines = view.edges.map((edge) => ({ ...edge, ...measured(edge.points) }));
    this.showNow();
    this.img.style.width = `${view.size[0]}px`;
    this.img.style.height = `${view.size[1]}px`;
    this.over.setAttribute("aria-label", `${view.title}. Plus and minus bring it closer and farther, arrow keys move it.`);
    this.writeCaption(view);
    this.panels.replaceChildren();
    this.labels.replaceChildren();
    this.places = [];
    for (const panel of view.panels) this.panel(panel);
    this.raise();
    this.sewnIn();
    this.lines.replaceChildren();
    this.handles.replaceChildren();
    this.parts = new Map();
    for (const line of this.editor.scene.lines) if (line.side === view.side) this.lineParts(line);
  }

  /** Show the view's picture, or its photo as it was taken where that is asked for. */
  showNow() {
    const plain = Boolean(this.editor.plain && this.view.plain);
    this.sheet.classList.toggle("plain", plain);
    this.showAlso(plain ? this.view.plain : this.view.picture);
  }

  /** Show a picture unless it is shown, or on its way. */
  showAlso(address) {
    if (this.img.dataset.src === address) return;
    this.img.dataset.src = address;
    this.show(address);
  }

  /** Change the picture when the new one is there; the old stays till then. */
  async show(address) {
    this.sheet.dataset.painting = "yes";
    const next = new Image();
    next.src = address;
    try {
      await next.decode();
    } catch {
      this.lost();
    }
    if (this.img.dataset.src !== address) return;
    this.img.src = address;
    delete this.sheet.dataset.painting;
    this.sheet.dataset.shown = address;
  }

  lost() {
    this.editor.root.dispatchEvent(new CustomEvent("picture-lost", { bubbles: true, detail: { view: this.view.name } }));
  }

  writeCaption(view) {
    this.caption.replaceChildren();
    const sides = view.side === "back" ? ["wearer’s left", "wearer’s right"] : ["wearer’s right", "wearer’s left"];
    make("span", { class: "wearer" }, this.caption, sides[0]);
    make("b", {}, this.caption, view.title);
    const others = this.editor.scene.views.filter((v) => v.side === view.side);
    if (others.length > 1) {
      for (const v of others) {
        const b = make("button", { class: "quiet" }, this.caption, v.kind === "photo" ? "photo" : "drawing");
        b.setAttribute("type", "button");
        b.setAttribute("aria-pressed", String(v.name === view.name));
        b.addEventListener("click", () => {
          this.editor.wanted = { ...this.editor.wanted, [v.side]: v.name };
          this.editor.draw();
          this.editor.root.dispatchEvent(new CustomEvent("view-chosen", { bubbles: true }));
        });
      }
    }
    make("span", { class: "wearer" }, this.caption, sides[1]);
  }

  panel(panel) {
    const name = panel.name || `panel ${panel.number}`;
    const path = svg("path", {
      d: panel.d, class: panel.cloth ? "panel" : "panel bare", "fill-rule": "evenodd", tabindex: 0, role: "button", "data-key": `panel:${this.view.name}:${panel.id}`,
      "data-panel": panel.id, "aria-label": `Panel ${panel.number}, ${name}: ${panel.cloth_name || "no cloth yet"}`,
    }, this.panels);
    path.append(svg("title", {}));
    path.firstChild.textContent = `${panel.number} · ${name} · ${panel.cloth_name || "no cloth yet"}`;
    const label = svg("g", { class: "number", "data-for": panel.id, "aria-hidden": "true" }, this.labels);
    svg("circle", { r: 11 }, label);
    svg("text", { "text-anchor": "middle", dy: "0.35em" }, label).textContent = String(panel.number);
    this.places.push({ node: label, at: panel.label });
  }

  /** Raise a flag for every place where a check found something. */
  raise() {
    this.raised = [];
    const raised = new Set(); // the first fact at a place is the most serious one there
    for (const fact of this.editor.scene.facts || []) {
      if (!fact.flag || fact.view !== this.view.name || raised.has(fact.flag)) continue;
      raised.add(fact.flag);
      this.flag(fact, fact.flag);
    }
  }

  /** Show what is sewn in already: a dashed stroke with its word, so that lines can keep clear of it. */
  sewnIn() {
    this.details.replaceChildren();
    for (const one of this.editor.scene.details || []) {
      if (one.side !== this.view.side || this.view.carried || !this.view.body) continue;
      const points = one.points.map((p) => toPx(this.view, p));
      const d = `M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}`;
      svg("path", { class: "detail under", d }, this.details); // seen on dark cloth too
      const path = svg("path", { class: "detail", d, "data-detail": one.id }, this.details);
      svg("title", {}, path).textContent = one.word;
    }
  }

  /** Raise the flags anew; everything else stays. */
  raiseAgain() {
    for (const old of this.labels.querySelectorAll(".flag:not(.mark)")) old.remove();
    this.raise();
    this.place();
  }

  /** A numbered flag where a check found something. */
  flag(fact, number) {
    const g = drawFlag(this.labels, { class: `flag ${fact.grade.replace(/ /g, "-")}`, role: "img", "aria-label": `Flag ${number}: ${fact.text}` }, number);
    this.raised.push({ node: g, at: fact.point });
  }

  lineParts(line) {
    // Lines are carried from the drawing onto a photo of the same side: they are moved on the drawing.
    const carried = this.view.carried;
    const own = svg("g", { class: carried ? "line carried" : "line", "data-line": line.id }, this.lines);
    const grab = svg("path", { class: "grab", tabindex: 0, role: "button", "data-key": `line:${this.view.name}:${line.id}`, "data-line": line.id, "data-at": "whole" }, own);
    grab.setAttribute("aria-label", `${/^line /i.test(line.name) ? "" : "Line "}${line.name}. ${carried ? "Move it on the drawing." : "Arrow keys move it, plus adds a point, Delete removes it."}`);
    const parts = { own, grab, case: svg("path", { class: "case" }, own), thread: svg("path", { class: "thread" }, own), dots: [] };
    const dot = (at) => {
      const g = svg("g", { class: typeof at === "number" ? "dot" : "dot end", tabindex: at === "twin" ? -1 : 0, role: "button", "data-line": line.id, "data-at": at, "data-key": `dot:${this.view.name}:${line.id}:${at}` }, this.handles);
      g.setAttribute("aria-roledescription", "point");
      svg("circle", { class: "reach", r: 20 }, g);
      svg("circle", { class: "ring", r: 11 }, g);
      if (typeof at === "number") svg("circle", { class: "mark", r: 5.5 }, g);
      else svg("rect", { class: "mark", x: -5.5, y: -5.5, width: 11, height: 11, transform: "rotate(45)" }, g);
      parts.dots.push({ at, node: g });
    };
    if (carried) {
      this.parts.set(line.id, parts);
      this.shapeLine(line, true);
      return;
    }
    if (!isFree(line)) dot("start");
    (line.through || []).forEach((_, i) => dot(i));
    if (!isFree(line)) dot("end");
    if (line.symmetric && line.start && !line.encloses) dot("twin");
    parts.ticks = ["start", "end"].filter((at) => line[at] && line[at].edge === "armhole").flatMap((at) => (line.symmetric ? [[at, 1], [at, -1]] : [[at, 1]]))
      .map(([at, turn]) => ({ at, turn, node: svg("path", { class: "tick", "data-tick": line.id }, this.sketchless()) }));
    if (line.v_deg) parts.v = svg("text", { class: "v-angle", "aria-hidden": "true" }, this.handles);
    this.parts.set(line.id, parts);
    this.shapeLine(line, !this.editor.pending.has(line.id));
  }

  /** Draw a line where it is now; exact: as Python placed it. */
  shapeLine(line, exact) {
    const parts = this.parts.get(line.id);
    if (!parts) return;
    if (this.view.carried && !exact) return;
    const points = pointsOf(this, line);
    parts.points = points;
    const given = this.view.paths ? this.view.paths[line.id] : null;
    const d = exact && given ? given : points ? pathData(whole(line, points, this.view.mirror_x)) : "";
    for (const path of [parts.grab, parts.case, parts.thread]) path.setAttribute("d", d);
    this.placeDots(line);
    for (const { at, node } of parts.dots) if (typeof at === "string") node.setAttribute("aria-label", `${line.name}, ${at}: ${endWords(this.editor.scene, this, at === "end" ? line.end : line.start)}`);
      else node.setAttribute("aria-label", `${line.name}, point ${at + 1}`);
  }

  placeDots(line) {
    const parts = this.parts.get(line.id);
    const { k, dx, dy } = this.editor.port.place(this);
    this.placeTicks(line, parts, { k, dx, dy });
    if (parts.v && parts.points) {
      const [x, y] = parts.points[0];
      parts.v.textContent = `turns ${Math.abs(line.v_deg).toFixed(1)}°`;
      parts.v.setAttribute("x", x * k + dx + (x < (this.view.mirror_x ?? x) ? 34 : -34));
      parts.v.setAttribute("y", y * k + dy + 22);
    }
    for (const { at, node } of parts.dots) {
      const p = parts.points && (isFree(line) ? parts.points[at] : this.dotPoint(parts.points, at));
      node.setAttribute("visibility", p ? "visible" : "hidden");
      if (p) node.setAttribute("transform", `translate(${(p[0] * k + dx).toFixed(2)} ${(p[1] * k + dy).toFixed(2)})`);
    }
  }

  /** Where marks lie that nobody presses. */
  sketchless() {
    if (!this.ticks || !this.ticks.isConnected) this.ticks = svg("g", { class: "ticks", "aria-hidden": "true" }, this.handles);
    return this.ticks;
  }

  /** An end on the armhole is marked on the sleeve too: a stroke across the seam, into the sleeve. */
  placeTicks(line, parts, { k, dx, dy }) {
    for (const { at, turn, node } of parts.ticks || []) {
      const end = line[at];
      const edge = parts.points && edgeOf(this, end);
      if (!edge) continue;
      const middle = this.view.mirror_x ?? this.view.size[0] / 2;
      const p = at === "start" ? parts.points[0] : parts.points[parts.points.length - 1];
      const { along } = nearest(edge, p);
      const [a, b] = [pointAt(edge, along - 2), pointAt(edge, along + 2)];
      const size = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
      let out = [(b[1] - a[1]) / size, (a[0] - b[0]) / size];
      if (out[0] * (p[0] - middle) < 0) out = [-out[0], -out[1]];
      const x = (turn < 0 ? 2 * middle - p[0] : p[0]) * k + dx;
      const y = p[1] * k + dy;
      const [ox, oy] = [turn * out[0], out[1]];
      node.setAttribute("d", `M${(x + 8 * ox).toFixed(1)} ${(y + 8 * oy).toFixed(1)}L${(x + 20 * ox).toFixed(1)} ${(y + 20 * oy).toFixed(1)}`);
    }
  }

  dotPoint(points, at) {
    if (at === "start") return points[0];
    if (at === "end") return points[points.length - 1];
    if (at === "twin") return this.view.mirror_x == null ? null : [2 * this.view.mirror_x - points[0][0], points[0][1]];
    return points[at + 1];
  }

  /** Put everything where the viewport says. */
  place() {
    const { k, dx, dy } = this.editor.port.place(this);
    this.img.style.transform = `translate(${dx}px, ${dy}px) scale(${k})`;
    this.world.setAttribute("transform", `translate(${dx} ${dy}) scale(${k})`);
    for (const { node, at } of this.places) node.setAttribute("transform", `translate(${at[0] * k + dx} ${at[1] * k + dy})`);
    for (const line of this.editor.scene.lines) if (this.parts.has(line.id)) this.placeDots(line);
    flyFlags(this, this.raised, { k, dx, dy });
    const { view } = this;
    const style = this.sheet.style;
    let dot = 25 * (k / view.mm_per_px); // a dot every 25 mm, as on marking paper; fewer where they would crowd
    while (dot < 12) dot *= 2;
    style.setProperty("--dot", view.scale_measured ? `${dot}px` : "0px");
    style.setProperty("--dot-x", `${((view.body ? view.body.x : 0) * k + dx).toFixed(1)}px`);
    style.setProperty("--dot-y", `${((view.body ? view.body.top : 0) * k + dy).toFixed(1)}px`);
  }

  /** Points of the sheet's screen that nothing should lie over: lines with their ends, or one of them, and the panels' numbers. */
  inSight(only = null) {
    const { k, dx, dy } = this.editor.port.place(this);
    const points = [];
    for (const line of this.editor.scene.lines) {
      const parts = (!only || only === line.id) && this.parts.get(line.id);
      if (parts && parts.points) points.push(...flat(whole(line, parts.points, this.view.mirror_x)), parts.points[0], parts.points[parts.points.length - 1]);
    }
    const seen = points.map(([x, y]) => [x * k + dx, y * k + dy]);
    if (!only) for (const { at: [x, y] } of this.places) for (const [i, j] of [[0, 0], [8, 0], [-8, 0], [0, 8], [0, -8]]) seen.push([x * k + dx + i, y * k + dy + j]);
    return seen;
  }

  /** Picture px of a point of the sheet's screen. */
  toPicture(x, y) {
    const { k, dx, dy } = this.editor.port.place(this);
    return [(x - dx) / k, (y - dy) / k];
  }
}
