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
const memory = new Map(); // by cloth: where the person left the ends of a known length
const drafts = new Map(); // by cloth: the outline as it was drawn, and the one that the photo was last read with

export class ClothAsk {
  constructor(desk, detail) {
    this.desk = desk;
    this.detail = detail;
    const { asked } = detail;
    const [w, h] = detail.photo.size;
    this.now = { reference: asked.reference, kind: asked.kind, bar: asked.bar, distance: asked.distance, across: asked.repeat[0], along: asked.repeat[1], long: "" };
    this.corners = asked.corners || null;
    this.readWith = JSON.stringify(asked.outline);
    const draft = drafts.get(detail.id);
    this.drafted = Boolean(draft) && draft.over === this.readWith; // not read yet, or refused: it must not be lost
    const drawn = this.drafted ? draft.outline : asked.outline;
    this.outline = drawn && drawn.map((p) => [...p]);
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
      outline: this.outline,
      tape: reference === "tape" ? this.tape : null,
    };
  }

  changed() {
    memory.set(this.detail.id, this.tape);
    if (JSON.stringify(this.outline) === this.readWith) drafts.delete(this.detail.id);
    else drafts.set(this.detail.id, { outline: this.outline, over: this.readWith });
    this.again.disabled = false;
    this.again.classList.add("main");
    this.again.parentElement.hidden = false;
    this.use.hidden = this.photo.outline.drawing || !this.outline;
  }

  /** ``round`` is the place for what is done to the outline, close to the photo. */
  build(box, photo, round) {
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
    this.mark = make("button", { type: "button", class: "quiet", "data-go-round": "" }, round);
    this.mark.addEventListener("click", (e) => this.goRound(e.detail === 0));
    this.shut = make("button", { type: "button", class: "quiet" }, round, "Close the outline");
    this.shut.addEventListener("click", () => photo.outline.close());
    this.less = make("button", { type: "button", class: "quiet" }, round, "Take the point out");
    this.less.addEventListener("click", () => photo.outline.takeOut());
    this.use = make("button", { type: "button", class: "quiet" }, round, "Read it within this outline");
    this.use.addEventListener("click", () => this.send());
    this.how = make("span", { class: "fine", role: "status" }, round);
    this.move = make("button", { type: "button", class: "quiet" }, buttons, "Move its corners");
    this.move.addEventListener("click", () => this.moveCorners());
    this.again = make("button", { type: "button", disabled: "", "data-again": "" }, buttons, "Read the photo again");
    this.again.addEventListener("click", () => this.send());
    if (this.drafted) this.changed();
    this.fit();
  }

  /** Show what belongs to the reference that is chosen. */
  fit() {
    const { reference } = this.now;
    this.long.hidden = reference !== "tape";
    this.bar.hidden = reference !== "sheet";
    this.distance.hidden = reference !== "cards";
    this.fitOutline();
    this.move.hidden = !CORNERED.includes(reference);
    this.move.textContent = this.corners ? "Find its corners by itself" : "Move its corners";
    this.photo.draw();
  }

  /** Say what can be done to the outline now. */
  fitOutline() {
    const { drawing, open } = this.photo.outline;
    const far = drawing ? open.length : 0;
    this.mark.textContent = drawing ? "Give it up" : this.outline ? "Find the cloth by itself" : "Go round the cloth yourself";
    this.shut.hidden = far < 3;
    this.less.hidden = drawing || !this.outline;
    this.use.hidden = drawing || !this.outline || this.again.disabled;
    this.how.textContent = drawing
      ? far < 3 ? "Press one point after the other, round the cloth." : "Press the first point again, or Enter, to close it. Backspace takes the last one back."
      : this.outline ? "Drag the points; a small one between them becomes a new one." : "";
    this.photo.frame.closest(".cloth-pair").classList.toggle("wide", Boolean(drawing || this.outline));
  }

  goRound(byKey) {
    const { outline } = this.photo;
    const [w, h] = this.detail.photo.size;
    if (outline.drawing) outline.giveUp();
    else if (this.outline) {
      this.outline = null;
      this.changed();
    } else if (byKey) {
      // without a pointer there is nothing to press: four points to move, and more can be added between them
      this.outline = [[0.25, 0.25], [0.75, 0.25], [0.75, 0.75], [0.25, 0.75]].map(([x, y]) => [x * w, y * h]);
      this.changed();
    } else outline.start();
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
    const { corners, outline, tape } = this.dragged();
    const { reference, kind, bar, distance, across, along, long } = this.now;
    this.desk.table.trigger("swatch", { cloth: this.detail.id, reference, corners, outline, tape, tape_length: long, kind, across, along, bar: reference === "sheet" ? bar : "", distance: reference === "cards" ? distance : "" });
  }
}
