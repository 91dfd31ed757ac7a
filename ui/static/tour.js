// A short tour: three sentences, one at a time, shown once and gone when somebody says 'enough'.

import { make } from "./make.js";

const STEPS = [
  "Take a cloth from the shelf, then press a panel: it is painted with it.",
  "Drag a diamond along the edge, or a whole line: front and back move together.",
  "Ask ‘Will it sew?’, then ‘Print and cut’ gives you the pieces at full size.",
];

const BARE = "Add a cloth under ‘Which cloth?’, take it from the shelf, then press a panel: it is painted with it.";

/** Shows the tour in a place until it was seen. */
export class Tour {
  constructor(parent) {
    this.box = make("div", { class: "tour", hidden: "", role: "note", "aria-label": "Short tour" });
    parent.prepend(this.box);
    this.text = make("span", {}, this.box);
    this.next = make("button", { type: "button", class: "quiet" }, this.box, "Next");
    this.enough = make("button", { type: "button", class: "quiet" }, this.box, "Enough");
    this.at = 0;
    this.next.addEventListener("click", () => this.go(this.at + 1));
    this.enough.addEventListener("click", () => this.go(STEPS.length));
  }

  /** Begin, unless it was seen on this computer; the first sentence depends on whether there is cloth. */
  begin(cloth) {
    this.cloth = cloth;
    if (!this.box.hidden) this.go(this.at);
    if (!localStorage.getItem("tour-seen") && this.box.hidden) this.go(0);
  }

  go(at) {
    this.at = at;
    this.box.hidden = at >= STEPS.length;
    if (this.box.hidden) {
      localStorage.setItem("tour-seen", "yes");
      return;
    }
    this.text.textContent = `${at + 1} of ${STEPS.length} · ${at || this.cloth ? STEPS[at] : BARE}`;
    this.next.hidden = at === STEPS.length - 1;
  }
}
