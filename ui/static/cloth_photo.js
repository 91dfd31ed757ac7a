// The photo of a cloth with what was found on it, its points to drag; and the cloth as seen from straight above.

import { make, svg } from "./make.js";
import { ClothOutline } from "./cloth_outline.js";

const HANDLE = 9; // on the screen, px
const path = (points, closed = true) => points.map(([x, y], i) => `${i ? "L" : "M"}${x} ${y}`).join("") + (closed ? "Z" : "");

/** The photo. Points are photo px; the drawing over it has the same measure. */
export class ClothPhoto {
  constructor(figure, detail, ask, desk) {
    this.figure = figure;
    this.detail = detail;
    this.ask = ask;
    this.desk = desk;
    const [w, h] = detail.photo.size;
    this.size = [w, h];
    this.frame = make("div", { class: "cloth-view", style: `aspect-ratio: ${w} / ${h}; --ratio: ${w / h}` }, figure);
    make("img", { src: detail.photo.src, alt: `Photo of ${detail.name}`, draggable: "false" }, this.frame);
    this.over = svg("svg", { viewBox: `0 0 ${w} ${h}`, class: "cloth-over" }, this.frame);
    this.caption = make("figcaption", {}, figure, "The photo");
    this.under = svg("g", {}, this.over);
    this.points = svg("g", {}, this.over);
    this.outline = new ClothOutline(this, ask);
    new ResizeObserver(() => this.draw()).observe(this.frame);
    this.over.addEventListener("pointerdown", (e) => this.pressed(e));
    this.draw();
  }

  /** Photo px on one screen px. */
  get step() {
    return this.size[0] / (this.frame.clientWidth || this.size[0]);
  }

  at(e) {
    const box = this.frame.getBoundingClientRect();
    const k = this.size[0] / box.width;
    const clamp = (v, most) => Math.min(Math.max(v, 0), most);
    return [clamp((e.clientX - box.left) * k, this.size[0]), clamp((e.clientY - box.top) * k, this.size[1])];
  }

  line(cls, d) {
    svg("path", { d, class: "case" }, this.under);
    svg("path", { d, class: cls }, this.under);
  }

  draw() {
    const { ask, detail } = this;
    this.under.replaceChildren();
    this.points.replaceChildren();
    const dragged = ask.dragged();
    if (detail.sheet_px.length && !dragged.corners) this.line("found", path(detail.sheet_px));
    const drawn = dragged.outline || this.outline.drawing;
    for (const rings of detail.outlines_px) this.line(drawn ? "before" : "outline", rings.map((r) => path(r)).join(""));
    if (!detail.outlines_px.length && detail.cloth_px.length && !drawn) this.line("outline", path(detail.cloth_px));
    for (const flaw of detail.flaws_px || []) this.line("flaw", path(flaw));
    if (dragged.corners) this.line("dragged", path(dragged.corners));
    if (dragged.outline) this.line("outline", path(dragged.outline));
    this.outline.drawOpen();
    if (dragged.tape) this.line("tape", path(dragged.tape, false));
    this.handles(dragged.corners, ["top left corner", "top right corner", "bottom right corner", "bottom left corner"]);
    if (dragged.outline) this.outline.drawBetween();
    this.handles(dragged.outline, (dragged.outline || []).map((_, i) => this.outline.name(i)), (i) => { this.outline.chosen = i; });
    this.handles(dragged.tape, ["one end of the length", "the other end of the length"]);
  }

  handles(points, names, chosen = () => {}) {
    (points || []).forEach((point, i) => this.handle(points, i, names[i], () => chosen(i)));
  }

  handle(points, i, name, chosen) {
    const r = HANDLE * this.step;
    const g = svg("g", { class: "cloth-dot", tabindex: 0, role: "button", "aria-label": `${name}: drag it, or move it with the arrow keys`, "data-dot": name }, this.points);
    const reach = svg("circle", { r: r * 2.2, class: "reach" }, g);
    const ring = svg("circle", { r, class: "mark" }, g);
    const dot = svg("circle", { r: r / 5, class: "centre" }, g);
    const place = () => {
      for (const c of [reach, ring, dot]) {
        c.setAttribute("cx", points[i][0]);
        c.setAttribute("cy", points[i][1]);
      }
    };
    place();
    const move = (to, done) => {
      points[i] = to.map((v) => Math.round(v * 10) / 10);
      this.ask.changed();
      if (done) {
        this.draw();
        this.points.querySelector(`[data-dot="${name}"]`)?.focus({ preventScroll: true });
      } else {
        place();
        this.redrawLines();
      }
    };
    g.addEventListener("focus", chosen);
    g.addEventListener("pointerdown", (e) => {
      e.preventDefault();
      e.stopPropagation();
      chosen();
      g.setPointerCapture(e.pointerId);
      const from = this.at(e);
      const [dx, dy] = [points[i][0] - from[0], points[i][1] - from[1]];
      const follow = (m) => move([this.at(m)[0] + dx, this.at(m)[1] + dy], false);
      const end = () => {
        g.removeEventListener("pointermove", follow);
        move(points[i], true);
      };
      g.addEventListener("pointermove", follow);
      g.addEventListener("pointerup", end, { once: true });
      g.addEventListener("pointercancel", end, { once: true });
    });
    g.addEventListener("keydown", (e) => {
      const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
      if (!by) return;
      e.preventDefault();
      const far = (e.shiftKey ? 10 : 1) * this.step;
      move([points[i][0] + by[0] * far, points[i][1] + by[1] * far], true);
    });
  }

  /** While a point is dragged its lines follow; the points themselves stay, or the drag would end. */
  redrawLines() {
    const kept = [...this.points.childNodes];
    this.draw();
    this.points.replaceChildren(...kept);
  }

  /** Let the next stroke be a ring round a flaw; pressing again gives it up. Gives whether it is on. */
  drawFlaw(done) {
    this.flaw = this.flaw ? null : done;
    this.frame.classList.toggle("ringing", Boolean(this.flaw));
    return Boolean(this.flaw);
  }

  pressed(e) {
    if (this.outline.drawing) {
      e.preventDefault();
      this.outline.press(this.at(e));
    } else if (this.flaw) this.ring(e);
  }

  ring(e) {
    e.preventDefault();
    const points = [this.at(e)];
    const stroke = svg("path", { class: "flaw", d: "" }, this.under);
    this.over.setPointerCapture(e.pointerId);
    const follow = (m) => {
      points.push(this.at(m));
      stroke.setAttribute("d", path(points));
    };
    this.over.addEventListener("pointermove", follow);
    this.over.addEventListener("pointerup", () => {
      this.over.removeEventListener("pointermove", follow);
      const tell = this.flaw;
      this.drawFlaw(null);
      if (points.length >= 6) tell(points.slice(0, 2000));
      else this.draw();
    }, { once: true });
  }
}

/** The cloth from straight above, with its repeat drawn on it and a ruler under it. */
export class ClothAbove {
  constructor(figure, detail, length) {
    const { above } = detail;
    const [w, h] = above.size;
    const frame = make("div", { class: "cloth-view above", style: `aspect-ratio: ${w} / ${h}` }, figure);
    make("img", { src: above.src, alt: `${detail.name} from straight above`, draggable: "false" }, frame);
    const over = svg("svg", { viewBox: `0 0 ${w} ${h}`, class: "cloth-over" }, frame);
    if (above.vectors.length) this.repeat(over, above, w, h);
    this.ruler(make("div", { class: "cloth-ruler" }, figure), above, w, length);
    const [across, along] = detail.repeat;
    const found = across && along ? `${across} across, ${along} along` : across ? `${across} across` : along ? `${along} along` : "";
    const words = above.vectors.length && found ? `From above. Repeat ${found}${above.known ? "" : ", if the guessed scale is right"}` : "From above, evenly lit";
    make("figcaption", {}, figure, words);
  }

  repeat(over, above, w, h) {
    const [a, b] = above.vectors;
    if (!b) {
      // a stripe: the lines between which it repeats
      const long = Math.hypot(...a);
      const n = [a[0] / long, a[1] / long];
      const reach = w + h;
      const middle = [w / 2 - a[0] / 2, h / 2 - a[1] / 2];
      for (const k of [0, 1]) {
        const [x, y] = [middle[0] + k * a[0], middle[1] + k * a[1]];
        this.stroke(over, `M${x - n[1] * reach} ${y + n[0] * reach}L${x + n[1] * reach} ${y - n[0] * reach}`);
      }
      return;
    }
    const start = [w / 2 - (a[0] + b[0]) / 2, h / 2 - (a[1] + b[1]) / 2];
    const marks = [];
    for (let i = -12; i <= 12; i += 1) {
      for (let j = -12; j <= 12; j += 1) {
        const x = start[0] + i * a[0] + j * b[0];
        const y = start[1] + i * a[1] + j * b[1];
        const t = w / 70;
        if (x > 0 && x < w && y > 0 && y < h) marks.push(`M${x - t} ${y}H${x + t}M${x} ${y - t}V${y + t}`);
      }
    }
    if (marks.length < 200) this.stroke(over, marks.join(""), "lattice");
    this.stroke(over, path([start, [start[0] + a[0], start[1] + a[1]], [start[0] + a[0] + b[0], start[1] + a[1] + b[1]], [start[0] + b[0], start[1] + b[1]]]));
  }

  stroke(over, d, cls = "found") {
    svg("path", { d, class: "case" }, over);
    svg("path", { d, class: cls }, over);
  }

  /** A round length as a bar, as wide as it is in the picture. */
  ruler(box, above, w, length) {
    const wide = w * above.mm_per_px;
    const bar = [10, 20, 50, 100, 200, 500, 1000].filter((mm) => mm <= wide * 0.6).pop();
    if (!bar) return;
    make("span", { class: "bar", style: `width: ${(100 * bar) / wide}%` }, box);
    make("span", { class: "fine" }, box, above.known ? length(bar) : `${length(bar)}, guessed`);
  }
}
