// Going round the cloth in its photo: press point after point, and the outline can then be dragged, added to and thinned.

import { svg } from "./make.js";

const MOST = 200; // points
const NEAR = 14; // on the screen, px: so close to the first point, a press closes the outline

/** The outline of one cloth, drawn on its photo. ``ask.outline`` holds its points, photo px. */
export class ClothOutline {
  constructor(photo, ask) {
    this.photo = photo;
    this.ask = ask;
    this.open = null; // the points of an outline that is not closed yet
    this.chosen = null;
    const { frame, over } = photo;
    over.addEventListener("pointermove", (e) => this.open && this.lead(photo.at(e)));
    frame.addEventListener("keydown", (e) => this.key(e));
  }

  get drawing() {
    return Boolean(this.open);
  }

  /** Let each press set a point. */
  start() {
    this.open = [];
    this.photo.frame.classList.add("ringing");
    this.photo.frame.tabIndex = -1;
    this.photo.frame.focus({ preventScroll: true });
    this.photo.draw();
  }

  giveUp() {
    this.open = null;
    this.photo.frame.classList.remove("ringing");
  }

  press(at) {
    const { step } = this.photo;
    const [first] = this.open;
    if (this.open.length > 2 && Math.hypot(at[0] - first[0], at[1] - first[1]) < NEAR * step) this.close();
    else if (this.open.length < MOST) this.open.push(at.map((v) => Math.round(v * 10) / 10));
    this.photo.frame.focus({ preventScroll: true });
    this.photo.draw();
    this.ask.fit();
  }

  close() {
    if (!this.open || this.open.length < 3) return;
    this.ask.outline = this.open;
    this.giveUp();
    this.ask.changed();
    this.ask.fit();
  }

  key(e) {
    if (this.open) {
      if (e.key === "Enter") this.close();
      else if (e.key === "Backspace" || e.key === "Delete") this.open.pop();
      else if (e.key === "Escape") this.giveUp();
      else return;
      this.photo.draw();
      this.ask.fit();
    } else if (this.ask.outline && this.chosen !== null && ["Backspace", "Delete"].includes(e.key)) this.takeOut();
    else return;
    e.preventDefault();
    e.stopPropagation();
  }

  /** Take the chosen point out. */
  takeOut() {
    const { outline } = this.ask;
    if (!outline || this.chosen === null || outline.length < 4) return;
    outline.splice(this.chosen, 1);
    this.chosen %= outline.length;
    this.ask.changed();
    this.photo.draw();
    this.focus(this.chosen);
  }

  focus(i) {
    this.photo.points.querySelector(`[data-dot="${this.name(i)}"]`)?.focus({ preventScroll: true });
  }

  name(i) {
    return `point ${i + 1} of the cloth’s outline`;
  }

  /** The points that are set so far, and where the next line would run. */
  drawOpen() {
    const { photo, open } = this;
    if (!open) return;
    photo.line("outline", open.map(([x, y], i) => `${i ? "L" : "M"}${x} ${y}`).join(""));
    this.leading = svg("path", { class: "outline leading", d: "" }, photo.under);
    const r = 5 * photo.step;
    open.forEach(([cx, cy], i) => svg("circle", { cx, cy, r: i ? r : 2 * r, class: "set" }, photo.under));
  }

  lead(at) {
    const last = this.open[this.open.length - 1];
    if (last) this.leading?.setAttribute("d", `M${last[0]} ${last[1]}L${at[0]} ${at[1]}`);
  }

  /** Between each two points of a closed outline, a smaller one: press it, or drag it, for a point there. */
  drawBetween() {
    const { photo, ask } = this;
    const { outline } = ask;
    if (!outline || outline.length >= MOST) return;
    outline.forEach((a, i) => {
      const b = outline[(i + 1) % outline.length];
      const [cx, cy] = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
      if (Math.hypot(a[0] - b[0], a[1] - b[1]) < 40 * photo.step) return;
      const name = `add a point between ${i + 1} and ${((i + 1) % outline.length) + 1}`;
      const g = svg("g", { class: "cloth-dot between", tabindex: 0, role: "button", "aria-label": name, "data-between": i }, photo.points);
      svg("circle", { cx, cy, r: 15 * photo.step, class: "reach" }, g);
      svg("circle", { cx, cy, r: 5 * photo.step, class: "mark" }, g);
      const add = () => {
        outline.splice(i + 1, 0, [cx, cy]);
        this.chosen = i + 1;
        ask.changed();
        photo.draw();
      };
      g.addEventListener("pointerdown", (e) => {
        e.preventDefault();
        e.stopPropagation();
        add();
        photo.points.querySelector(`[data-dot="${this.name(i + 1)}"]`)?.dispatchEvent(new PointerEvent("pointerdown", e));
      });
      g.addEventListener("keydown", (e) => {
        if (e.key !== "Enter" && e.key !== " ") return;
        e.preventDefault();
        add();
        this.focus(i + 1);
      });
    });
  }
}
