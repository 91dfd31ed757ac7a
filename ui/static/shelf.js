// The shelf: the person's own cloth along the garment. A cloth is taken in hand, then a panel is pressed.

import { Carry } from "./carry.js";
import { make } from "./make.js";

const panels = (c) => (c.panels ? `on ${c.panels} ${c.panels === 1 ? "panel" : "panels"}` : "not used");
const usedOn = (c) => (c.scaled ? panels(c) : c.panels ? `${panels(c)}, scale is a guess` : "scale is a guess");

/** Shows the cloth of a table's scene and knows what is in hand. */
export class Shelf {
  constructor(table) {
    this.table = table;
    this.inHand = null;
    this.carry = new Carry(table);
    this.box = make("div", { class: "shelf", role: "group", "aria-label": "Your cloth" }, table.root);
  }

  show() {
    const { box, inHand } = this;
    box.replaceChildren();
    const { cloths, views } = this.table.scene;
    box.hidden = !views.length && !cloths.length;
    if (!cloths.length) {
      const p = make("p", { class: "bare" }, box, "Your cloth will lie here. ");
      const b = make("button", { type: "button", class: "quiet" }, p, "Add a photo of a cloth, or a plain colour");
      b.addEventListener("click", () => this.table.open("cloth"));
      return;
    }
    if (inHand && inHand !== "none" && !cloths.some((c) => c.id === inHand)) this.take(null);
    for (const c of cloths) {
      const b = make("button", { type: "button", class: c.scaled ? "cloth" : "cloth guessed", "aria-pressed": String(c.id === inHand), "data-cloth": c.id, title: c.name }, box);
      const cut = make("span", { class: "swatch" }, b);
      make("img", { src: c.swatch, alt: "", draggable: "false" }, cut);
      make("span", { class: "name" }, b, c.name);
      make("span", { class: "use" }, b, c.id === inHand ? "in hand" : usedOn(c));
      this.carry.offer(b, c.id);
      b.addEventListener("click", () => this.take(c.id === this.inHand ? null : c.id));
    }
    const off = make("button", { type: "button", class: "cloth leave", "aria-pressed": String(inHand === "none"), "data-cloth": "none" }, box);
    make("span", { class: "swatch none", "aria-hidden": "true" }, off);
    make("span", { class: "name" }, off, "No cloth");
    make("span", { class: "use" }, off, inHand === "none" ? "in hand" : "leave as it is");
    off.addEventListener("click", () => this.take(this.inHand === "none" ? null : "none"));
    const inches = this.table.scene.unit === "in"; // every swatch is shown at this one scale
    const bar = make("span", { class: "scale-bar", title: "Every swatch is shown at this scale" }, box, inches ? "2 in" : this.table.length(50));
    bar.style.setProperty("--mm", inches ? "50.8" : "50");
  }

  /** Take a cloth in hand: the next panel that is pressed gets it. */
  take(id) {
    const { table } = this;
    this.inHand = id;
    table.editor.cloth = id;
    table.editor.root.dataset.hand = id ? "full" : "empty";
    for (const b of this.box.querySelectorAll("[data-cloth]")) {
      const on = b.dataset.cloth === id;
      b.setAttribute("aria-pressed", String(on));
      const c = table.scene.cloths.find((x) => x.id === b.dataset.cloth);
      b.querySelector(".use").textContent = on ? "in hand" : !c ? "leave as it is" : usedOn(c);
    }
    const c = table.scene.cloths.find((x) => x.id === id);
    if (c) table.say({ place: "table", text: `${c.name} is in your hand. Press a panel to use it there.`, kind: "hint" });
    else if (id === "none") table.say({ place: "table", text: "Press a panel to leave it as it is.", kind: "hint" });
    else if (table.said.classList.contains("hint")) table.say(null);
  }

  /** A panel was pressed with nothing in hand: say which it is. */
  panelChosen(panel) {
    const { cloths, views } = this.table.scene;
    if (this.inHand || !cloths.length) return;
    const p = views.flatMap((v) => v.panels).find((x) => x.id === panel);
    if (p) this.table.say({ place: "table", text: `Panel ${p.number}, ${p.name || "no name"}: ${p.cloth_name || "no cloth yet"}. Take a cloth from the shelf, then press the panel.`, kind: "hint" });
  }
}
