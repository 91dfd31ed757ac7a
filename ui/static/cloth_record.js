// The record of a cloth: every field may stay 'don't know yet', and says where its value is from.

import { make, svg } from "./make.js";

/** Build the form into a box; `write(field, text, how)` is told of each change. */
export function recordForm(desk, box, detail, write) {
  const prefix = `${detail.where || "store"}:${detail.id}`;
  const form = make("div", { class: "record" }, box);
  const owned = line(form, "Do you have it?");
  const has = select(owned, [["yes", "it is in my cupboard"], ["no", "not bought yet"]], detail.owned ? "yes" : "no", `${prefix}:owned`);
  has.addEventListener("change", () => write("owned", has.value, "label"));
  for (const group of detail.record) {
    const known = group.fields.filter((f) => f.text).length;
    const fold = make("details", {}, form);
    fold.open = !desk.shut.has(group.title);
    fold.addEventListener("toggle", () => desk.shut[fold.open ? "delete" : "add"](group.title));
    const head = make("summary", {}, fold);
    make("span", {}, head, group.title);
    make("span", { class: "fine" }, head, known ? `${known} of ${group.fields.length} known` : "nothing known yet");
    for (const f of group.fields) field(fold, f, detail, prefix, write);
  }
  const note = line(form, "Note");
  const text = make("input", { type: "text", maxlength: 200, "data-key": `${prefix}:note`, placeholder: "anything worth remembering" }, note);
  text.value = detail.note || "";
  text.addEventListener("change", () => write("note", text.value, "label"));
}

function line(box, label) {
  const row = make("label", { class: "record-line" }, box);
  make("span", {}, row, label);
  return row;
}

function field(box, f, detail, prefix, write) {
  const row = line(box, f.label);
  if (f.hint) row.title = f.hint;
  const key = `${prefix}:${f.key}`;
  let input;
  if (f.choices.length) input = select(row, [["", "don’t know yet"], ...f.choices.map((c) => [c, c])], f.text, key);
  else {
    input = make("input", { type: "text", maxlength: 120, autocomplete: "off", placeholder: "don’t know yet", "data-key": key }, row);
    input.value = f.text;
    if (f.hint) {
      input.addEventListener("focus", () => { input.placeholder = f.hint; });
      input.addEventListener("blur", () => { input.placeholder = "don’t know yet"; });
    }
  }
  input.setAttribute("aria-label", f.label); // the row holds a second choice, so its words alone would not name this one
  const how = select(row, detail.how || HOW, f.how === "unknown" ? "label" : f.how, `${key}:how`);
  how.className = "how";
  how.setAttribute("aria-label", `${f.label}: where you have it from`);
  how.hidden = !f.text;
  const tell = () => write(f.key, input.value, how.value);
  input.addEventListener("change", tell);
  how.addEventListener("change", tell);
  input.addEventListener("input", () => { how.hidden = !input.value; });
}

const HOW = [["label", "from its label"], ["measured", "measured"], ["guess", "my guess"]];

function select(row, options, value, key) {
  const s = make("select", { "data-key": key }, row);
  for (const [v, text] of options) make("option", { value: v }, s, text).selected = v === value;
  return s;
}

/** A remnant's outline, small. */
export function outline(d) {
  const picture = svg("svg", { viewBox: "0 0 100 100", class: "piece-shape", "aria-hidden": "true" });
  svg("path", { d, "fill-rule": "evenodd" }, picture);
  return picture;
}
