// 'Let my phone in': the code to point a phone's camera at, what that opens, and the way to shut it again.

import { make } from "./make.js";

const NEWS = 2000; // ms between two looks for what a phone sent

/** The panel over the table, while phones may come in. */
export class PhoneDoor {
  constructor(table) {
    this.table = table;
    this.box = make("section", { class: "phone-door", hidden: "", role: "dialog", "aria-label": "Let my phone in" }, table.root);
    document.addEventListener("click", (e) => {
      if (e.target.closest("[data-phone]")) table.trigger("all", { do: "phone" });
    });
    this.box.addEventListener("keydown", (e) => {
      if (e.key === "Escape") this.box.hidden = true;
    });
  }

  /** Show the code of a new invitation, or shut the door. */
  show(phone) {
    clearInterval(this.timer);
    this.box.replaceChildren();
    this.box.hidden = !phone;
    if (!phone) return;
    make("h3", {}, this.box, "Point your phone’s camera here");
    make("img", { src: phone.picture, alt: `Code for ${phone.address}` }, this.box);
    make("p", { class: "fine address" }, this.box, phone.address);
    make("p", {}, this.box, `The code works once, within ${phone.minutes} minutes. That phone can then send photos to this garment. It cannot see it, and nobody else gets in.`);
    make("p", {}, this.box, "The phone must be in the same home network. Photos travel there unencrypted, so do this at home.");
    this.inside = make("p", { role: "status" }, this.box);
    this.count(phone.inside);
    const row = make("div", { class: "row" }, this.box);
    const done = make("button", { type: "button", class: "main" }, row, "Hide this");
    done.addEventListener("click", () => { this.box.hidden = true; });
    const out = make("button", { type: "button" }, row, "Shut the door");
    out.addEventListener("click", () => this.table.trigger("all", { do: "phone-out" }));
    done.focus();
    this.timer = setInterval(() => this.news(), NEWS);
  }

  count(n) {
    this.inside.textContent = n ? `${n} ${n === 1 ? "phone is" : "phones are"} in.` : "No phone is in yet.";
  }

  /** Ask whether a phone sent something; then look at the garment as it is now. */
  async news() {
    const { scene } = this.table;
    try {
      const answer = await fetch(`/news/${encodeURIComponent(scene.word)}`);
      if (!answer.ok) return;
      const { revision, inside } = await answer.json();
      this.count(inside);
      if (revision !== this.table.scene.revision && !this.table.scene.busy) this.table.trigger("act", { do: "look" });
    } catch {
      clearInterval(this.timer); // the computer's program has ended
    }
  }
}
