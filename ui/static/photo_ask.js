// Below a photo whose outline is only suggested: that it is, and what can be done, until the person has said or drawn it.

import { make } from "./make.js";

export class PhotoAsk {
  constructor(table) {
    this.table = table;
    this.bar = make("div", { class: "photo-ask", role: "group", "aria-label": "The outline of the garment", hidden: "" });
    table.stage.after(this.bar);
    this.text = make("span", { role: "status" }, this.bar);
    make("button", { type: "button", class: "quiet", "data-mode": "round" }, this.bar, "Draw round it");
    this.say("right", "It is right");
    this.drawing = this.say("drawing", "It is a drawing");
    document.addEventListener("scene-taken", () => this.show());
    table.stage.addEventListener("view-chosen", () => this.show());
  }

  say(what, words) {
    const b = make("button", { type: "button", class: "quiet" }, this.bar, words);
    b.addEventListener("click", () => this.table.trigger("outline", { do: what, view: this.view.name }));
    return b;
  }

  show() {
    this.view = this.table.editor.panes.map((p) => p.view).find((v) => v.guessed);
    this.bar.hidden = !this.view;
    if (!this.view) return;
    this.drawing.hidden = !this.view.taken;
    const several = this.table.scene.views.filter((v) => v.kind === "photo").length > 1; // then it is said which is meant
    const what = this.view.taken ? "This looks like a photo, so it is treated as one: draw round the garment." : "This outline is only a suggestion: draw round the garment to be sure.";
    this.text.textContent = several ? `${this.view.title}: ${what[0].toLowerCase()}${what.slice(1)}` : what;
  }

  /** Open the tools of a photo where its question is. */
  tools() {
    this.table.open("garment");
    document.querySelector("#photo-tools .label-wrap:not(.open)")?.click();
  }
}
