// The flags at lines as a list in the leaflet: number, sentence, where the limit comes from, and what would put it right.

import { showList } from "./leaflet.js";
import { make } from "./make.js";

const GRADES = { stop: "Stop", warn: "Take care", note: "Note" };

/** Fill the list of flags from a table's scene. */
export function showMarks(table) {
  showList("marks", table.scene.marks, (m, li) => {
    li.className = `fact mark ${m.grade.replace(/ /g, "-")}`;
    const head = make("b", {}, li, GRADES[m.grade] || "Note");
    if (m.point) make("span", { class: "flag-number", title: "The flag in the picture" }, head, String(m.number));
    const said = make("div", {}, li);
    make("span", {}, said, m.text);
    if (m.about) make("small", {}, said, m.about);
    if (!m.mendable) return;
    const b = make("button", { type: "button", class: "quiet" }, said, "What would put it right?");
    b.addEventListener("click", () => table.editor.marks.openAt(m));
  });
}
