// Below a photographed garment that is painted: the photo itself to compare with, and how its light is read: whether the
// garment has a print, and how much of the grey veil that light lays over a photo is taken off.

import { make } from "./make.js";

const USUAL = 90; // percent, as mockup.garment.shading takes it

/** A bar below the photo, there while a painted photo is shown. */
export class PhotoLight {
  constructor(table) {
    this.table = table;
    this.bar = make("div", { class: "photo-light", role: "group", "aria-label": "The photo and its light", hidden: "" });
    table.stage.after(this.bar);
    this.plain = make("button", { type: "button", class: "quiet", "aria-pressed": "false" }, this.bar, "Show the photo itself");
    this.plain.addEventListener("click", () => this.compare(!this.editor.plain));
    const label = make("label", {}, this.bar);
    this.print = make("input", { type: "checkbox" }, label);
    label.append("It has a print");
    this.print.addEventListener("change", () => this.tell({ printed: this.print.checked }));
    this.haze = make("input", { type: "range", min: 0, max: 100, step: 5 }, make("label", { title: "Light in the camera lays a grey veil over a photo; the more of it is taken off, the deeper dark cloth looks" }, this.bar, "How deep dark cloth looks"));
    this.haze.addEventListener("change", () => this.tell({ flare: Number(this.haze.value) / 100 }));
    this.share = make("output", {}, this.bar);
    this.haze.addEventListener("input", () => { this.share.textContent = `${this.haze.value} %`; });
    document.addEventListener("scene-taken", () => this.show());
    table.stage.addEventListener("view-chosen", () => this.show());
  }

  get editor() {
    return this.table.editor;
  }

  get view() {
    return this.editor.panes.map((p) => p.view).find((v) => v.kind === "photo" && v.plain);
  }

  show() {
    const { view } = this;
    this.bar.hidden = !view || !view.light || view.guessed; // first where the garment is
    if (this.bar.hidden) {
      if (this.editor.plain) this.compare(false);
      return;
    }
    this.print.checked = view.light.printed === true;
    this.print.indeterminate = view.light.printed === null;
    this.print.title = view.light.printed === null ? "As its colours tell" : "";
    const share = view.light.flare === null ? USUAL : Math.round(100 * view.light.flare);
    if (document.activeElement !== this.haze) this.haze.value = share;
    this.share.textContent = `${share} %`;
  }

  /** Show the photo as it was taken, and nothing over it, or what is painted. */
  compare(plain) {
    this.editor.showPlain(plain);
    this.plain.setAttribute("aria-pressed", String(plain));
    this.plain.textContent = plain ? "Show what is painted" : "Show the photo itself";
  }

  tell(what) {
    const { view } = this;
    this.table.trigger("act", { do: "light", view: view.name, flare: view.light.flare, printed: view.light.printed, ...what });
  }
}
