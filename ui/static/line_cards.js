// The lines as a list in the leaflet: names, where their ends are, typed distances in any unit.

import { areaText, lengthText, seamText } from "./geometry.js";
import { make } from "./make.js";

const SIDES = { front: "Front", back: "Back" };
const KINDS = { straight: "straight", arc: "part of a circle", curve: "smooth curve", polyline: "straight from point to point" };

const STRAIGHT = ["straight", "polyline"]; // kinds that can meet their mirror image in a point
const ROUND = { arc: "circle", curve: "smooth curve", polyline: "straight from point to point" };
const BOX = { across: ["Its middle", "from the middle"], up: ["and", "above the hem"], wide: ["Its width", ""], high: ["Its height", ""] };

/** Shows one card a line; the chosen one opens and its distances can be typed. */
export class LineCards {
  constructor(table) {
    this.table = table;
    this.chosen = null;
    this.tried = null; // what was typed last; where it cannot be taken it stays with the reason, to be put right
  }

  get list() {
    return document.querySelector("[data-slot=lines]");
  }

  choose(id) {
    if (id === this.chosen) return;
    this.chosen = id;
    this.show();
  }

  show() {
    const { list } = this;
    if (!list) return;
    const typing = list.contains(document.activeElement) ? document.activeElement.dataset.field : null;
    const caret = typing ? document.activeElement.value : null;
    list.replaceChildren();
    const { lines } = this.table.editor.scene || { lines: [] };
    list.hidden = !lines.length;
    this.sewnIn();
    for (const line of lines) this.card(make("li", { class: line.id === this.chosen ? "card open" : "card" }, list), line);
    this.keepTried(list);
    if (!typing) return;
    const field = list.querySelector(`[data-field="${CSS.escape(typing)}"]`);
    if (!field) return;
    field.focus({ preventScroll: true });
    if (caret !== field.value && field.dataset.dirty) field.value = caret;
  }

  /** What is sewn in already, each with a way to take its mark away. */
  sewnIn() {
    const list = document.querySelector("[data-slot=details]");
    if (!list) return;
    const { details } = this.table.scene;
    list.replaceChildren();
    list.hidden = !(details || []).length;
    for (const one of details || []) {
      const li = make("li", {}, list, `${one.word}, ${one.side}${one.own ? "" : ", of the pattern"} `);
      if (one.own) this.button(li, "Remove", { do: "detail-gone", detail: one.id });
    }
  }

  /** Hear the answer to what was typed: refused, it stays until something is taken. True where that put a refusal away. */
  answered({ said, revision }) {
    const { tried } = this;
    if (!tried) return false;
    const refused = said && said.kind === "error" && said.place === "lines";
    if (tried.waits && refused) this.tried = { ...tried, waits: false, why: said.text, revision };
    else if (tried.waits || revision !== tried.revision) this.tried = null;
    return !this.tried && Boolean(tried.before || tried.why);
  }

  /** Leave what was typed and could not be taken where it was typed, and say beside it why. */
  keepTried(list) {
    const { tried } = this;
    const field = tried && tried.why && list.querySelector(`[data-field="${CSS.escape(tried.field)}"]`);
    for (const e of document.querySelectorAll("[data-said=lines]")) e.classList.toggle("for-ears", Boolean(field) && e.textContent === tried.why);
    if (!field) return;
    field.value = tried.text;
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", "refused");
    const why = make("p", { class: "said error", id: "refused" }, null, tried.why);
    field.closest(".typed").after(why);
  }

  card(li, line) {
    const open = line.id === this.chosen;
    const head = make("button", { type: "button", class: "card-head", "aria-expanded": String(open), "data-card": line.id }, li);
    make("b", {}, head, line.name);
    make("span", { class: "fine" }, head, [SIDES[line.side], line.free ? "closed shape" : line.symmetric ? "mirrored" : line.start.side && line.end.side && line.start.side !== line.end.side ? "from side to side" : "one side", line.carries ? "meets the other side" : ""].filter(Boolean).join(" · "));
    head.addEventListener("click", () => {
      this.table.editor.select(open ? null : line.id);
      this.choose(open ? null : line.id);
    });
    if (!open) return;
    const body = make("div", { class: "card-body" }, li);
    this.enclosed(body, line);
    this.text(body, line, "name", "Name", line.name);
    if (line.free) this.box(body, line);
    else {
      this.end(body, line, "start", "Starts on the");
      this.end(body, line, "end", "Ends on the");
    }
    this.kind(body, line);
    this.facts(body, line);
    const row = make("div", { class: "row" }, body);
    this.button(row, line.free ? "Put one on the other side" : line.symmetric ? "Draw it on one side only" : "Mirror it", { do: "mirror", line: line.id });
    if (!line.free && line.symmetric && STRAIGHT.includes(line.kind)) this.button(row, line.kinked ? "Round it off at the middle" : "Let it meet in a point", { do: "point", line: line.id });
    const other = line.side === "front" ? "back" : "front";
    if (this.table.scene.views.some((v) => v.side === other)) this.button(row, `Carry it to the ${other}`, { do: "carry", line: line.id });
    this.button(row, "Remove", { do: "remove", line: line.id });
    make("p", { class: "fine" }, body, "Press the line twice in the picture, or + on it, to put another point into it.");
  }

  /** Where a closed shape lies and how large it is, to be typed. */
  box(body, line) {
    for (const [which, [label, after]] of Object.entries(BOX)) this.text(body, line, which, label, lengthText(line.box ? line.box[which] : 0, this.table.scene.unit), after);
  }

  /** How the points are joined. */
  kind(body, line) {
    const wrap = make("label", { class: "typed" }, body);
    make("span", {}, wrap, "Runs as");
    const select = make("select", { "data-field": `${line.id}:kind` }, wrap);
    const bent = line.symmetric && !line.kinked; // it crosses the middle squarely, so its last part is no straight line
    for (const [value, words] of Object.entries(line.free ? ROUND : KINDS)) make("option", { value }, select, bent && STRAIGHT.includes(value) ? `${words}, square to the middle` : words);
    select.value = line.kind;
    select.addEventListener("change", () => this.table.trigger("act", { do: "kind", line: line.id, kind: select.value }));
  }

  /** What is to become of cloth that the line encloses: asked first, since all else hangs on it. */
  enclosed(body, line) {
    if (!line.encloses) return;
    const ask = make("fieldset", { class: "ask-enclosed" }, body);
    make("legend", {}, ask, "It encloses cloth. Is that");
    for (const [how, words] of [["let in", "let in, in a hole"], ["on top", "applied on top"]]) {
      const b = make("button", { type: "button", "aria-pressed": String(line.enclosed === how) }, ask, words);
      b.addEventListener("click", () => this.table.trigger("act", { do: "enclosed", line: line.id, how }));
    }
  }

  /** What the line costs, and the V that it makes at the seam. */
  facts(body, line) {
    const { unit } = this.table.scene;
    if (line.cost) {
      const takes = line.enclosed === "on top" && line.encloses ? "of cloth for the patch" : "of cloth for its allowances";
      make("p", { class: "fine cost" }, body, `One more seam: ${seamText(line.cost.seam_mm, unit)} of it, and ${areaText(line.cost.cloth_mm2, unit)} ${takes}.`);
    }
    if (line.start.edge === "armhole" || line.end.edge === "armhole") make("p", { class: "fine" }, body, "Its end on the armhole is marked on the sleeve too, at the same distance.");
    if (line.v_deg) {
      const p = make("p", { class: "fine v" }, body, `Sewn together, front and back turn by ${Math.abs(line.v_deg).toFixed(1)}° where they meet at the seam: a V that points ${line.v_deg > 0 ? "down" : "up"}. `);
      const b = make("button", { type: "button", class: "quiet" }, p, "True it");
      b.addEventListener("click", () => this.table.trigger("act", { do: "true", line: line.id }));
    }
  }

  end(body, line, which, label) {
    const end = line[which];
    const shown = end.text || lengthText(end.distance_mm, this.table.scene.unit);
    this.text(body, line, which, `${label} ${end.label || end.edge}`, shown, end.from || "");
  }

  text(body, line, field, label, value, after) {
    const wrap = make("label", { class: "typed" }, body);
    make("span", {}, wrap, label);
    const box = make("span", { class: "with-unit" }, wrap);
    const input = make("input", { type: "text", maxlength: 60, autocomplete: "off", "data-field": `${line.id}:${field}` }, box);
    input.value = value;
    if (after) make("span", { class: "after", "data-after": field }, box, after);
    input.addEventListener("input", () => { input.dataset.dirty = "yes"; });
    input.addEventListener("change", () => {
      delete input.dataset.dirty;
      this.tried = { field: input.dataset.field, text: input.value, waits: true, before: this.tried && this.tried.why };
      if (field === "name") this.table.trigger("act", { do: "rename", line: line.id, name: input.value });
      else if (field in BOX) this.table.trigger("act", { do: "box", line: line.id, which: field, text: input.value });
      else this.table.trigger("act", { do: "type", line: line.id, which: field, text: input.value });
    });
    input.addEventListener("keydown", (e) => {
      if (e.key === "Enter") input.blur();
    });
  }

  button(row, text, message) {
    const b = make("button", { type: "button", class: "quiet" }, row, text);
    b.addEventListener("click", () => this.table.trigger("act", message));
  }

  /** Follow a drag: show the distances as they are now. */
  measure(id) {
    if (id !== this.chosen) return;
    const { list } = this;
    const line = this.table.editor.line(id);
    if (!list || !line || line.free) return;
    for (const which of ["start", "end"]) {
      const field = list.querySelector(`[data-field="${CSS.escape(`${id}:${which}`)}"]`);
      if (field && document.activeElement !== field) field.value = lengthText(line[which].distance_mm, this.table.scene.unit);
    }
  }
}
