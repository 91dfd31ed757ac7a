// 'Will it sew?': what the garment needs, and the limits with their origin. It follows the table's scene. After a change of
// lines it has the panels and seams measured beside the page, and then asks for the findings.

import { showFact } from "./facts.js";
import { showList } from "./leaflet.js";
import { make } from "./make.js";

const OPENS = { unknown: "don’t know yet", "pulled on": "pulled on, no closure", zip: "a zip", buttons: "buttons", slit: "a slit" };
const EDGES = {
  "centre-front": "centre front", "centre-back": "centre back", "side-left": "left side seam (the wearer’s)", "side-right": "right side seam (the wearer’s)",
  "shoulder-left": "left shoulder (the wearer’s)", "shoulder-right": "right shoulder (the wearer’s)",
};

class SewBoard {
  constructor(element, trigger) {
    this.trigger = (message) => trigger("sew", message);
    document.addEventListener("scene-taken", () => this.follow());
    this.follow();
  }

  get table() {
    return window.garmentTable;
  }

  get scene() {
    return this.table && this.table.scene;
  }

  follow() {
    const scene = this.scene;
    if (!scene || !scene.word) return;
    this.showLimits(scene.limits || []);
    this.showKnown(scene.known);
    clearTimeout(this.waits);
    if (scene.facts_pending) this.whenShown(scene);
  }

  /** Have it measured once the pictures are shown and nothing is being dragged: those are waited for, findings are not. */
  whenShown(scene) {
    const { editor } = this.table;
    if (editor.pointer.drag || editor.panes.some((pane) => pane.sheet.dataset.painting)) this.waits = setTimeout(() => this.whenShown(scene), 50);
    else this.measure(scene);
  }

  async measure(scene) {
    const asked = `${scene.word} ${scene.revision}`;
    if (this.asked === asked) return;
    this.asked = asked;
    const found = await fetch(`/sew/${scene.word}/measured`).then((r) => r.json()).catch(() => ({ measured: false }));
    const { table } = this;
    if (!found.measured || table.scene.revision !== found.revision || !table.scene.facts_pending) return;
    // Only the findings change: nothing else on the page is written anew, so nothing slips away under a pointer.
    Object.assign(table.scene, { facts: found.facts, facts_pending: false });
    Object.assign(table.editor.scene, { facts: found.facts });
    table.scene.answers = { ...table.scene.answers, sew: found.answer };
    for (const e of document.querySelectorAll("[data-answer=sew]")) e.textContent = found.answer;
    showList("facts", found.facts, (item, li) => showFact(item, li, table));
    for (const pane of table.editor.panes) pane.raiseAgain();
  }

  /** Whether somebody is typing in a box: then it is left alone. */
  busy(box) {
    const active = document.activeElement;
    return box.contains(active) && active.tagName === "INPUT" && active.value !== active.defaultValue;
  }

  /** Write a box anew; what has the focus keeps it. */
  rewrite(box, write) {
    const id = box.contains(document.activeElement) ? document.activeElement.id : "";
    box.replaceChildren();
    write();
    if (id) document.getElementById(id)?.focus({ preventScroll: true });
  }

  showLimits(limits) {
    const box = document.querySelector("[data-slot=limits]");
    const shown = JSON.stringify(limits);
    if (!box || this.busy(box) || box.dataset.shown === shown) return;
    box.dataset.shown = shown;
    this.rewrite(box, () => this.writeLimits(box, limits));
  }

  writeLimits(box, limits) {
    for (const limit of limits) {
      const row = make("div", { class: limit.yours ? "limit yours" : "limit" }, box);
      const label = make("label", {}, row, limit.unit ? `${limit.words} (${limit.unit})` : limit.words);
      const field = make("input", { type: "text", inputmode: limit.length ? "text" : "decimal", value: limit.value, maxlength: "20", "data-limit": limit.name }, row);
      field.id = `limit-${limit.name}`;
      label.setAttribute("for", field.id);
      field.addEventListener("change", () => this.setLimit(limit, field));
      const origin = make("small", {}, row, limit.origin);
      if (limit.yours) {
        const back = make("button", { type: "button", class: "quiet" }, origin, `Back to ours: ${limit.ours}`);
        back.addEventListener("click", () => this.trigger({ do: "limit", name: limit.name, value: null }));
      }
    }
  }

  setLimit(limit, field) {
    if (limit.length && field.value.trim()) { // Python reads lengths, and says what is wrong with one
      field.defaultValue = field.value;
      this.trigger({ do: "limit", name: limit.name, text: field.value.trim() });
      return;
    }
    const value = Number(field.value.trim().replace(",", "."));
    const good = field.value.trim() !== "" && Number.isFinite(value) && value > 0;
    field.setAttribute("aria-invalid", String(!good));
    if (good) field.defaultValue = field.value;
    if (good) this.trigger({ do: "limit", name: limit.name, value });
  }

  showKnown(known) {
    const box = document.querySelector("[data-slot=known]");
    const shown = JSON.stringify(known);
    if (!box || this.busy(box) || box.dataset.shown === shown) return;
    box.dataset.shown = shown;
    this.rewrite(box, () => known && this.writeKnown(box, known));
  }

  writeKnown(box, known) {
    const opens = this.choice(box, "It opens with", Object.entries(OPENS), known.opens, "opens");
    const more = make("div", { class: "opens-where" }, box);
    const edge = this.choice(more, "in the", known.edges.map((e) => [e, EDGES[e] || e]), known.edge, "opens-edge");
    const begin = this.text(more, "from its upper end", this.length(known.from_mm), "opens-from");
    const end = this.text(more, "down to", this.length(known.to_mm), "opens-to");
    const tell = () => {
      more.hidden = opens.value === "unknown" || opens.value === "pulled on";
      for (const field of [begin, end]) field.defaultValue = field.value;
      this.trigger({ do: "opens", kind: opens.value, edge: edge.value, begin: begin.value, end: end.value });
    };
    more.hidden = known.opens === "unknown" || known.opens === "pulled on";
    for (const field of [opens, edge, begin, end]) field.addEventListener("change", tell);
    const stretch = this.text(box, "The pattern counts on cloth that stretches across by, in %", known.stretch == null ? "" : String(known.stretch), "needed-stretch");
    stretch.placeholder = "don’t know yet; 0 for woven cloth";
    stretch.addEventListener("change", () => {
      const text = stretch.value.trim().replace("%", "").replace(",", ".").trim();
      const value = text === "" ? null : Number(text);
      const good = value === null || (Number.isFinite(value) && value >= 0);
      stretch.setAttribute("aria-invalid", String(!good));
      stretch.defaultValue = stretch.value;
      if (good) this.trigger({ do: "stretch", value });
    });
  }

  length(mm) {
    return window.garmentTable.length(mm);
  }

  choice(parent, words, options, value, id) {
    const label = make("label", { class: "asked" }, parent, words);
    const field = make("select", { id }, label);
    for (const [key, text] of options) make("option", { value: key, ...(key === value ? { selected: "" } : {}) }, field, text);
    return field;
  }

  text(parent, words, value, id) {
    const label = make("label", { class: "asked" }, parent, words);
    return make("input", { type: "text", value, id, maxlength: "40" }, label);
  }
}

/** Follow the table with the board of 'Will it sew?'. */
export function mount(element, props, tell) {
  new SewBoard(element, tell);
}
