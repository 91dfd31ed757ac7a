// My cloth: the store cupboard that all garments share. Look for something, take it out, use it up, undo.

import { make } from "./make.js";
import { outline, recordForm } from "./cloth_record.js";

export class ClothStore {
  constructor(desk) {
    this.desk = desk;
    this.open = false;
    this.found = null;
    this.looked = { words: "", colour: "", near: "near", weight: "", fibre: "", long: "", owned: false, opened: "" };
  }

  /** What is looked for, when the store is open. */
  wish() {
    return this.open ? this.looked : null;
  }

  take(found) {
    this.found = found;
  }

  get slot() {
    return document.querySelector("[data-slot=cloth-store]");
  }

  search(change) {
    Object.assign(this.looked, change);
    this.desk.send({ do: "look" });
  }

  show() {
    const { slot } = this;
    if (!slot) return;
    if (!this.box) this.frame(slot);
    if (this.box.parentElement !== slot) slot.replaceChildren(this.box);
    if (this.open && this.found) this.list();
  }

  /** The fold and the fields to look by are built once, so that typing in them is not disturbed. */
  frame(slot) {
    this.box = make("details", { class: "store" }, slot);
    const head = make("summary", {}, this.box);
    make("span", {}, head, "My cloth, for every garment");
    this.box.addEventListener("toggle", () => {
      this.open = this.box.open;
      if (this.open) this.search({});
    });
    const form = make("div", { class: "store-look" }, this.box);
    this.text(form, "Words", "words", "linen, tablecloth …");
    this.text(form, "Fibre", "fibre", "wool");
    this.text(form, "Weight, g/m²", "weight", "150-250");
    this.text(form, "At least so long", "long", "1.2 m");
    const colour = make("label", { class: "typed" }, form);
    make("span", {}, colour, "Near a colour");
    const pick = make("span", { class: "with-unit" }, colour);
    const on = make("input", { type: "checkbox", "aria-label": "Look by colour" }, pick);
    const value = make("input", { type: "color", value: "#7c2f3b", "aria-label": "The colour" }, pick);
    const near = make("select", { "aria-label": "How near" }, pick);
    for (const n of ["near", "rather near"]) make("option", { value: n }, near, n);
    const tell = () => this.search({ colour: on.checked ? value.value : "", near: near.value });
    on.addEventListener("change", tell);
    near.addEventListener("change", tell);
    value.addEventListener("change", () => {
      on.checked = true;
      tell();
    });
    const owned = make("label", { class: "tick" }, form);
    const only = make("input", { type: "checkbox" }, owned);
    make("span", {}, owned, "only what I have");
    only.addEventListener("change", () => this.search({ owned: only.checked }));
    this.body = make("div", {}, this.box);
  }

  text(form, label, key, hint) {
    const wrap = make("label", { class: "typed" }, form);
    make("span", {}, wrap, label);
    const input = make("input", { type: "text", maxlength: 40, placeholder: hint, autocomplete: "off", "data-look-by": key }, wrap);
    input.addEventListener("change", () => this.search({ [key]: input.value }));
  }

  list() {
    const { body, found } = this;
    const typing = body.contains(document.activeElement) ? document.activeElement.dataset.key : null;
    body.replaceChildren();
    const head = make("p", { class: "fine store-head" }, body);
    const said = !found.count ? "Nothing is kept here yet. Look at a cloth closely, then 'Keep it in my cloth'." : found.fits === found.count ? `${found.count} ${found.count === 1 ? "cloth" : "cloths"}` : `${found.fits} of ${found.count} fit`;
    make("span", {}, head, found.fits > found.cloths.length ? `${said}; the first ${found.cloths.length} are shown` : said);
    if (found.undo) {
      const b = make("button", { type: "button", class: "quiet", "data-store-undo": "" }, head, `Undo: ${found.undo}`);
      b.addEventListener("click", () => this.desk.send({ do: "store-undo" }));
    }
    const ul = make("ul", { class: "own-cloth store-list" }, body);
    for (const c of found.cloths) this.row(make("li", { "data-store": c.id }, ul), c);
    if (typing) body.querySelector(`[data-key="${CSS.escape(typing)}"]`)?.focus({ preventScroll: true });
  }

  row(li, c) {
    const opened = c.id === this.looked.opened;
    const b = make("button", { type: "button", class: "cloth-row", "aria-expanded": String(opened) }, li);
    make("img", { src: c.swatch, alt: "", class: "chip" }, b);
    const words = make("span", {}, b);
    make("span", { class: "name" }, words, c.name);
    make("span", { class: "fine" }, words, c.about.join(" · ") || "little is known of it yet");
    if (c.unknown.length) make("span", { class: "fine heed" }, words, `may fit: ${c.unknown.join(", ")} not known yet`);
    b.addEventListener("click", () => this.search({ opened: opened ? "" : c.id }));
    const take = make("button", { type: "button", class: "quiet" }, li, "use here");
    take.setAttribute("aria-label", `use here: ${c.name}`);
    take.addEventListener("click", () => this.desk.send({ do: "take", cloth: c.id }));
    if (opened && c.record) this.opened(make("div", { class: "store-open" }, li), c);
  }

  opened(box, c) {
    if (c.has_length) {
      const row = make("div", { class: "row" }, box);
      const cut = make("input", { type: "text", maxlength: 40, placeholder: "60 cm", "aria-label": `Length cut from ${c.name}`, "data-key": `cut:${c.id}` }, row);
      const b = make("button", { type: "button" }, row, "was cut off");
      b.addEventListener("click", () => this.desk.send({ do: "use", cloth: c.id, text: cut.value }));
    }
    for (const p of c.pieces) {
      const row = make("div", { class: "piece-row" }, box);
      row.append(outline(p.d));
      const words = make("span", {}, row);
      make("b", {}, words, p.name);
      make("span", { class: "fine" }, words, p.about);
      const b = make("button", { type: "button", class: "quiet", "aria-label": `${p.name} is used up` }, row, "used up");
      b.addEventListener("click", () => this.desk.send({ do: "use", cloth: c.id, remnant: p.name }));
    }
    recordForm(this.desk, box, { ...c, where: "store" }, (field, text, how) => this.desk.send({ do: "write", where: "store", cloth: c.id, field, text, how }));
    const row = make("div", { class: "row" }, box);
    const off = make("button", { type: "button", class: "quiet" }, row, "Take it out of my cloth");
    off.addEventListener("click", () => this.desk.send({ do: "forget", cloth: c.id }));
  }
}
