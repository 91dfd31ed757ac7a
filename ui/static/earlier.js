// Garments that were worked on before, on the empty page: opened again, or put away and brought back.

import { make } from "./make.js";

const when = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "long", year: "numeric", hour: "2-digit", minute: "2-digit" });

/** Lists earlier garments below the invitation. */
export class Earlier {
  constructor(table, parent) {
    this.table = table;
    this.gone = new Map(); // word → name of what was put away while the page is open
    this.box = make("section", { class: "earlier", "aria-label": "Earlier garments", hidden: "" }, parent);
    make("h4", {}, this.box, "Earlier garments");
    this.list = make("ul", {}, this.box);
  }

  show(rows) {
    this.list.replaceChildren();
    for (const row of rows) this.row(row);
    for (const [word, name] of this.gone) if (!rows.some((r) => r.word === word)) this.goneRow(word, name);
    this.box.hidden = !this.list.children.length;
  }

  row({ word, name, date, picture }) {
    this.gone.delete(word);
    const li = make("li", {}, this.list);
    const open = make("a", { href: `/?p=${encodeURIComponent(word)}` }, li);
    make("span", { class: "for-ears" }, open, "Open ");
    if (picture) make("img", { src: picture, alt: "", loading: "lazy" }, open);
    else make("span", { class: "unseen", "aria-hidden": "true" }, open);
    make("b", {}, open, name);
    make("span", { class: "fine" }, open, when.format(new Date(date)));
    const away = make("button", { type: "button", class: "quiet" }, li, "Delete");
    away.setAttribute("aria-label", `Delete ${name}`);
    away.addEventListener("click", () => {
      this.gone.set(word, name);
      this.table.trigger("all", { do: "put-away", word });
    });
  }

  goneRow(word, name) {
    const li = make("li", { class: "gone" }, this.list);
    make("span", { role: "status" }, li, `${name} is deleted.`);
    const back = make("button", { type: "button", class: "quiet" }, li, "Undo");
    back.setAttribute("aria-label", `Undo: bring ${name} back`);
    back.addEventListener("click", () => this.table.trigger("all", { do: "bring-back", word }));
  }
}
