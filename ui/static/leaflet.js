// The leaflet's places that say what is so now: answers, undo, what was judged, what was made, the cloth in a list.

import { showFact } from "./facts.js";
import { make } from "./make.js";
import { showIdeas } from "./idea_list.js";
import { showMarks } from "./mark_list.js";

/** Fill the list of a slot, one item a line; an empty list is hidden. */
export function showList(slot, items, fill) {
  const list = document.querySelector(`[data-slot=${slot}]`);
  if (!list) return;
  list.replaceChildren();
  for (const item of items || []) fill(item, make("li", {}, list));
  list.hidden = !(items || []).length;
}

/** Writes a table's scene into every element of the page that has a data-slot or data-answer. */
export class Leaflet {
  constructor(table) {
    this.table = table;
  }

  show() {
    const { table } = this;
    const s = table.scene;
    for (const e of document.querySelectorAll("[data-answer]")) e.textContent = s.answers[e.dataset.answer] || "";
    for (const e of document.querySelectorAll("[data-slot=name]")) e.textContent = s.name || "";
    for (const e of document.querySelectorAll("[data-needs-garment]")) e.disabled = !s.views.length;
    for (const e of document.querySelectorAll("[data-needs-photo]")) e.disabled = !s.views.some((v) => v.kind === "photo");
    const unit = document.querySelector("[data-unit]");
    if (unit) unit.value = s.unit;
    const sight = document.querySelector("[data-sight]");
    if (sight && s.sight) sight.value = s.sight;
    for (const [name, on, label] of [["undo", s.can_undo, s.undo_label], ["redo", s.can_redo, ""]]) {
      const b = document.querySelector(`[data-step=${name}]`);
      if (!b) continue;
      b.disabled = !on;
      b.title = on && label ? `Undo: ${label}` : "";
    }
    showList("facts", s.facts, (item, li) => showFact(item, li, table));
    showMarks(table);
    showIdeas(table);
    showList("made", s.made, (item, li) => {
      make("a", { href: item.href, download: item.name }, li, item.about || item.name);
      make("span", { class: "fine" }, li, item.name);
    });
    showList("own-cloth", s.cloths, (c, li) => {
      make("span", { class: "name" }, li, c.name);
      make("span", { class: "fine" }, li, [c.word, c.scaled ? "" : "scale is a guess"].filter(Boolean).join(" · "));
      const b = make("button", { type: "button", class: "quiet" }, li, "put away");
      b.setAttribute("aria-label", `put away ${c.name}`);
      b.addEventListener("click", () => table.trigger("act", { do: "remove-cloth", cloth: c.id }));
    });
  }
}
