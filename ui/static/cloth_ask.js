// How a photo of cloth is to be read: what lies in it, where its corners are, what the cloth shows. Read again on demand.

import { make } from "./make.js";

const REFERENCES = [
  ["none", "Nothing to measure by"],
  ["tape", "Something whose length I know"],
  ["sheet", "The printed sheet"],
  ["cards", "Loose cards with markers"],
  ["a4", "A plain sheet of A4"],
  ["letter", "A plain sheet of Letter"],
  ["card", "A bank card"],
  ["chart", "A colour chart of 24 patches"],
];
const CORNERED = ["sheet", "a4", "letter", "card", "chart"];
const AREAS = ["none", "tape", "card", "chart", "a4", "letter"];
const memory = new Map(); // by cloth: where the person left the ends of a known length

export class ClothAsk {
  constructor(desk, detail) {
    this.desk = desk;
    this.detail = detail;
    const { asked } = detail;
    const [w, h] = detail.photo.size;
    this.now = { reference: asked.reference, kind: asked.kind, bar: asked.bar, distance: asked.distance, across: asked.repeat[0], along: asked.repeat[1], long: "" };
    this.corners = asked.corners || null;
    this.area = asked.area ? [[asked.area[0], asked.area[1]], [asked.area[0] + asked.area[2], asked.area[1] + asked.area[3]]] : null;
    this.tape = memory.get(detail.id) || [[w * 0.2, h / 2], [w * 0.8, h / 2]];
    if (asked.mm_per_px) {
      const px = Math.hypot(this.tape[0][0] - this.tape[1][0], this.tape[0][1] - this.tape[1][1]);
      this.now.long = desk.table.length(px * asked.mm_per_px);
    }
  }

  /** What can be dragged now. */
  dragged() {
    const { reference } = this.now;
    return {
      corners: CORNERED.includes(reference) ? this.corners : null,
      area: AREAS.includes(reference) ? this.area : null,
      tape: reference === "tape" ? this.tape : null,
    };
  }

  changed() {
    memory.set(this.detail.id, this.tape);
    this.again.disabled = false;
    this.again.classList.add("main");
    this.again.parentElement.hidden = false;
  }

  build(box, photo) {
    const row = make("div", { class: "cloth-ask" }, box);
    this.photo = photo;
    const lies = this.select(row, "In the photo lies", "reference", REFERENCES);
    this.long = this.field(row, "From one end to the other", "long", "drag both ends, then type", "data-scale");
    this.bar = this.field(row, "The sheet’s bar measures", "bar", "100 mm");
    this.distance = this.field(row, "From card 1 to card 2", "distance", "don’t know yet");
    lies.addEventListener("change", () => this.fit());
    const kinds = [["", `as found: ${this.detail.kind}`], ...this.detail.kinds.map((k) => [k, k])];
    this.select(row, "The cloth shows", "kind", kinds);
    this.field(row, "Repeat across", "across", this.detail.repeat[0] || "none found");
    this.field(row, "Repeat along", "along", this.detail.repeat[1] || "none found");
    const buttons = make("div", { class: "row" }, box);
    this.mark = make("button", { type: "button", class: "quiet" }, buttons);
    this.mark.addEventListener("click", () => this.markArea());
    this.move = make("button", { type: "button", class: "quiet" }, buttons, "Move its corners");
    this.move.addEventListener("click", () => this.moveCorners());
    this.again = make("button", { type: "button", disabled: "", "data-again": "" }, buttons, "Read the photo again");
    this.again.addEventListener("click", () => this.send());
    this.fit();
  }

  /** Show what belongs to the reference that is chosen. */
  fit() {
    const { reference } = this.now;
    this.long.hidden = reference !== "tape";
    this.bar.hidden = reference !== "sheet";
    this.distance.hidden = reference !== "cards";
    this.mark.hidden = !AREAS.includes(reference);
    this.mark.textContent = this.area ? "Find the cloth by itself" : "Mark where the cloth is";
    this.move.hidden = !CORNERED.includes(reference);
    this.move.textContent = this.corners ? "Find its corners by itself" : "Move its corners";
    this.photo.draw();
  }

  markArea() {
    const [w, h] = this.detail.photo.size;
    const xs = this.detail.cloth_px.map((p) => p[0]);
    const ys = this.detail.cloth_px.map((p) => p[1]);
    const clamp = (v, most) => Math.min(Math.max(v, 0), most);
    if (this.area) this.area = null;
    else if (xs.length) this.area = [[clamp(Math.min(...xs), w), clamp(Math.min(...ys), h)], [clamp(Math.max(...xs), w), clamp(Math.max(...ys), h)]];
    else this.area = [[w * 0.25, h * 0.25], [w * 0.75, h * 0.75]];
    this.changed();
    this.fit();
  }

  moveCorners() {
    const [w, h] = this.detail.photo.size;
    const inset = [[0.15, 0.15], [0.85, 0.15], [0.85, 0.85], [0.15, 0.85]].map(([x, y]) => [x * w, y * h]);
    this.corners = this.corners ? null : this.detail.sheet_px.length === 4 ? this.detail.sheet_px.map((p) => [...p]) : inset;
    this.changed();
    this.fit();
  }

  select(row, label, key, options) {
    const wrap = make("label", { class: "typed" }, row);
    make("span", {}, wrap, label);
    const s = make("select", { "data-key": `ask-${key}` }, wrap);
    for (const [value, text] of options) make("option", { value }, s, text).selected = value === this.now[key];
    s.addEventListener("change", () => {
      this.now[key] = s.value;
      this.changed();
    });
    return s;
  }

  field(row, label, key, hint, mark) {
    const wrap = make("label", { class: "typed" }, row);
    make("span", {}, wrap, label);
    const input = make("input", { type: "text", maxlength: 40, autocomplete: "off", placeholder: hint, "data-key": `ask-${key}` }, wrap);
    if (mark) input.setAttribute(mark, "");
    input.value = this.now[key] || "";
    input.addEventListener("input", () => {
      this.now[key] = input.value;
      this.changed();
    });
    input.addEventListener("keydown", (e) => {
      if (e.key === "Enter") this.send();
    });
    return wrap;
  }

  send() {
    const { corners, area, tape } = this.dragged();
    const { reference, kind, bar, distance, across, along, long } = this.now;
    this.desk.table.trigger("swatch", { cloth: this.detail.id, reference, corners, area, tape, tape_length: long, kind, across, along, bar: reference === "sheet" ? bar : "", distance: reference === "cards" ? distance : "" });
  }
}
