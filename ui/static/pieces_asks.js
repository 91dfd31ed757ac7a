// What is still to be said of pattern pieces, asked beside their drawing with the answers to press: which line their
// outline is, how long the garment is, how an edge is called, which of two cloths a joined piece is cut from.

import { make } from "./make.js";

/** Ask which line the outlines of some pieces are; what was typed stays while the same is asked. */
export function askLine(root, names, allowance, tell) {
  root.hidden = !names.length;
  if (root.dataset.names === names.join("\n")) return;
  root.dataset.names = names.join("\n");
  root.replaceChildren();
  if (!names.length) return;
  const one = names.length === 1;
  const listed = one ? names[0] : `${names.slice(0, -1).join(", ")} and ${names[names.length - 1]}`;
  make("p", {}, root, `${listed}: ${one ? "is the outline the line that is" : "are the outlines the line that is"} sewn on, or the line that is cut?`);
  const wide = make("label", {}, root, "Its seam allowance ");
  const field = make("input", { type: "text", value: allowance, maxlength: 40, "data-own-allowance": "" }, wide);
  const row = make("div", { class: "row" }, root);
  for (const [value, text, title] of [
    ["stitch", "The line that is sewn on", "The allowance is put on outside it"],
    ["cut", "The line that is cut", "The allowance lies inside it"],
  ]) {
    const b = make("button", { type: "button", title }, row, text);
    b.addEventListener("click", () => tell({ do: "line-is", value, allowance: field.value }));
  }
}

/** A button that opens the question where a length of the garment is typed. */
export function lengthButton(root, table) {
  const b = make("button", { type: "button", class: "quiet", "data-type-length": "", hidden: "" }, root, "Type a length of the garment");
  b.addEventListener("click", () => {
    table().open("garment");
    document.querySelector("#length-tools .label-wrap:not(.open)")?.click();
    const field = document.querySelector("#known-length input, #known-length textarea");
    if (!field) return;
    field.scrollIntoView({ block: "center" });
    field.focus({ preventScroll: true });
  });
  return b;
}

/** An edge of the pattern was pressed: its name, its allowance, and whether it lies on the fold. */
export function askEdge(root, edge, names, tell) {
  const cut = edge.key.lastIndexOf(":");
  const [piece, name] = [edge.key.slice(0, cut), edge.key.slice(cut + 1)];
  make("p", {}, root, edge.said);
  const named = make("label", {}, root, "Name ");
  const field = make("input", { type: "text", value: name, maxlength: 40, list: "edge-names" }, named);
  const list = make("datalist", { id: "edge-names" }, named);
  const offered = names.length ? names : ["hem", "side", "armhole", "shoulder", "neck", "centre-front", "centre-back"];
  for (const n of offered) make("option", { value: n }, list);
  // A list of a field that is filled shows only what is like it, so the names can be pressed as well.
  if (names.length) {
    const row = make("div", { class: "row names" }, root);
    for (const n of names) {
      const b = make("button", { type: "button", class: "quiet" }, row, n.replace(/-/g, " "));
      b.addEventListener("click", () => { field.value = n; });
    }
  }
  const wide = make("label", {}, root, "Seam allowance ");
  const allowance = make("input", { type: "text", placeholder: "as it is", maxlength: 40 }, wide);
  const on = make("label", {}, root);
  const fold = make("input", { type: "checkbox" }, on);
  on.append(" lies on the fold");
  const b = make("button", { type: "button" }, root, "Keep");
  b.addEventListener("click", () => tell({ do: "edge", piece, edge: name, name: field.value, allowance: allowance.value, fold: fold.checked }));
}

/** Two pieces of different cloth are to be one: say so, and ask which cloth it is cut from. Gives what answers. */
export function askCloth(root, pieces) {
  const [one, other] = pieces.map((p) => (p && p.cloth) || "");
  if (!one || !other || one === other) return () => "first";
  const name = (p) => (p.number ? `${p.number} ${p.name}` : p.name);
  const label = make("label", { class: "two-cloths" }, root, `${name(pieces[0])} is ${one}, ${name(pieces[1])} is ${other}. The joined piece will be cut from `);
  const select = make("select", {}, label);
  make("option", { value: "first" }, select, one);
  make("option", { value: "second" }, select, other);
  return () => select.value;
}

/** Above the picture, which goes on showing both pieces with the cloth that each had. */
export function showJoined(facts) {
  const head = document.querySelector(".over-stage");
  if (!head) return;
  const said = (facts || []).map((f) => f.text).filter((text) => text.includes(" had different cloth;"));
  const note = head.querySelector(".joined-note") || make("p", { class: "joined-note" }, head);
  note.hidden = !said.length;
  note.textContent = said.length ? `${said.join(" ")} The picture still shows both.` : "";
}
