// 'What could be made from my cloth' under 'Print and cut': which lines and which cloth to try, what was found, and the
// simple questions. It follows the table's scene, and fetches what was found when something has changed.

import { make } from "./make.js";
import { Sight } from "./sight.js";

class StashBoard {
  constructor(element, trigger) {
    make("link", { rel: "stylesheet", href: new URL("stash.css", import.meta.url).href }, document.head);
    this.trigger = trigger;
    this.again = 0;
    this.off = new Set(); // what was ticked off, by name or id: everything else is on
    this.typed = {};
    this.first = make("p", { class: "fine stash-flat", hidden: "" }, element);
    this.root = make("div", { class: "stash-board", hidden: "" }, element);
    make("p", { class: "fine" }, this.root, "Lines and cloth are looked for together, so that every piece lies on the cloth that you have. Only cloth on the shelf is looked at.");
    this.options = make("details", { class: "fold" }, this.root);
    make("summary", {}, this.options, "Which lines, and which cloth");
    this.kinds = make("fieldset", { class: "stash-kinds" }, this.options);
    this.cloths = make("fieldset", { class: "stash-cloths" }, this.options);
    const row = make("div", { class: "row" }, this.root);
    this.go = make("button", { type: "button", class: "main" }, row, "Look for designs");
    this.go.addEventListener("click", () => this.look());
    const wait = make("label", { class: "stash-wait" }, row, "for at most ");
    this.seconds = make("select", {}, wait);
    for (const [s, text] of [[20, "20 seconds"], [60, "a minute"], [180, "3 minutes"]]) make("option", { value: s }, this.seconds, text);
    this.seconds.value = "60";
    make("p", { class: "said", "data-said": "stash", role: "status" }, this.root);
    this.none = make("p", { class: "stash-none", hidden: "" }, this.root);
    this.searched = make("p", { class: "stash-searched", role: "status" }, this.root);
    this.figures = make("p", { class: "fine stash-flat" }, this.root);
    this.found = make("ol", { class: "stash-designs", "aria-label": "Designs that can be cut from your cloth" }, this.root);
    this.asks = make("div", { class: "stash-asks" }, this.root);
    this.sight = new Sight(this.root, () => this.follow());
    document.addEventListener("scene-taken", () => this.follow());
    document.addEventListener("click", (e) => { if (e.target.closest("[data-question=print]")) setTimeout(() => this.follow()); });
    this.follow();
  }

  async follow() {
    const scene = window.garmentTable && window.garmentTable.scene;
    if (!scene || !scene.word || !document.querySelector("#q-print.open")) return;
    if (this.sight.later()) return;
    const asked = (this.asked = (this.asked || 0) + 1);
    let shown = null;
    try {
      const answer = await fetch(`/stash/${scene.word}/stash.json`, { cache: "no-store" });
      shown = answer.ok ? await answer.json() : null;
    } catch {
      shown = null;
    }
    if (asked !== this.asked) return;
    const text = JSON.stringify(shown);
    if (text === this.last) return; // what stands there stays, with what is being typed
    this.last = text;
    this.show(shown);
  }

  show(shown) {
    this.root.hidden = !shown || !shown.ready;
    this.first.textContent = (shown && shown.first) || "";
    this.first.hidden = !this.first.textContent;
    document.querySelector(".stash-head")?.toggleAttribute("hidden", this.root.hidden && this.first.hidden);
    if (this.root.hidden) return;
    this.showKinds(shown.families);
    this.showCloths(shown.cloths);
    this.searched.textContent = shown.searched;
    this.figures.textContent = shown.figures;
    this.none.replaceChildren();
    this.none.hidden = shown.cloths.some((c) => c.scraps.length);
    if (!this.none.hidden) {
      const waiting = shown.cloths.filter((c) => c.without_grain.length);
      for (const c of waiting) {
        this.none.append(`${c.name}: ${c.without_grain.join(", ")} kept, but not how the grain runs, so nothing is laid there yet. `);
        this.toMeasure(this.none, c.id, "Say how the grain runs");
      }
      if (!waiting.length) this.none.append("Of no cloth on the shelf is it known how much there is. ");
      if (!waiting.length) this.toMeasure(this.none, shown.cloths.length === 1 ? shown.cloths[0].id : "", "Measure a remnant, or say how long the rest is");
    }
    this.found.replaceChildren(...shown.designs.map((d) => this.design(d)));
    this.showAsks(shown);
  }

  tick(parent, key, text) {
    const label = make("label", { class: "stash-tick" }, parent);
    const box = make("input", { type: "checkbox", value: key }, label);
    box.checked = !this.off.has(key);
    box.addEventListener("change", () => (box.checked ? this.off.delete(key) : this.off.add(key)));
    make("span", {}, label, text);
    return box;
  }

  showKinds(families) {
    this.kinds.replaceChildren();
    make("legend", {}, this.kinds, "Lines to try");
    for (const f of families) {
      const row = make("div", { class: "stash-kind", "data-kind": f.kind }, this.kinds);
      this.tick(row, f.kind, f.name);
      const range = make("span", { class: "fine" }, row, "from ");
      for (const end of ["low", "high"]) {
        const key = `${f.kind} ${end}`;
        const input = make("input", { type: "text", size: 7, maxlength: 40, placeholder: f[end], "aria-label": `${f.name}: ${end === "low" ? "from" : "to"}`, "data-end": end }, range);
        input.value = this.typed[key] || "";
        input.addEventListener("input", () => (this.typed[key] = input.value));
        make("span", {}, range, end === "low" ? " to " : `, ${f.about}`);
      }
    }
  }

  showCloths(cloths) {
    this.cloths.replaceChildren();
    make("legend", {}, this.cloths, "Cloth to use");
    for (const c of cloths) {
      const row = make("div", { class: "stash-cloth" }, this.cloths);
      make("b", {}, row, c.name);
      for (const s of c.scraps) this.tick(row, s.id, `${s.name}, ${s.about}`).dataset.scrap = s.id;
      for (const w of c.warnings) make("span", { class: "fine" }, row, w);
      if (!c.scraps.length) this.toMeasure(row, c.id, "Measure it").setAttribute("aria-label", `Measure ${c.name}`);
    }
  }

  /** A way to where it is said how much there is of a cloth. */
  toMeasure(parent, cloth, text) {
    const b = make("button", { type: "button", class: "quiet" }, parent, text);
    b.addEventListener("click", () => document.dispatchEvent(new CustomEvent("measure-cloth", { detail: cloth })));
    return b;
  }

  look() {
    const families = [...this.kinds.querySelectorAll(".stash-kind")].filter((r) => r.querySelector("input[type=checkbox]").checked).map((r) => ({
      kind: r.dataset.kind, low: r.querySelector("[data-end=low]").value, high: r.querySelector("[data-end=high]").value,
    }));
    const cloth = [...this.cloths.querySelectorAll("[data-scrap]")].filter((b) => b.checked).map((b) => b.dataset.scrap);
    this.again += 1;
    this.trigger("look", { do: "designs", families, cloth, seconds: Number(this.seconds.value), again: this.again });
  }

  design(d) {
    const li = make("li", { "data-design": d.index });
    make("h4", {}, li, d.name);
    const shown = make("div", { class: "stash-pictures" }, li);
    for (const p of d.pictures) make("img", { src: p.href, alt: `${d.name}, ${p.title}, painted with just the cloth that its pieces are cut from`, loading: "lazy" }, shown);
    if (d.pictures.some((p) => p.photo)) make("p", { class: "fine stash-flat" }, li, "On the photo cloth is laid flat on each panel: right in its middle, off by some centimetres at the sides of the form.");
    const table = make("table", {}, li);
    const head = make("tr", {}, make("thead", {}, table));
    for (const text of ["Cloth", "Of the garment", "Cut from", "Left of it"]) make("th", { scope: "col" }, head, text);
    const body = make("tbody", {}, table);
    for (const c of d.cloths) {
      const tr = make("tr", {}, body);
      make("th", { scope: "row" }, tr, c.name);
      for (const text of [c.share, c.on, c.left]) make("td", {}, tr, text);
    }
    const lays = make("details", { class: "fold" }, li);
    make("summary", {}, lays, "How its pieces lie");
    lays.addEventListener("toggle", () => {
      if (!lays.open || lays.querySelector("img")) return;
      for (const c of d.cloths) {
        make("img", { src: c.lay, alt: `How the pieces lie on ${c.name}` }, lays);
        make("a", { class: "quiet", href: c.plan, download: "lay-plan.pdf" }, lays, `Print this plan: ${c.name.split(",")[0]}`);
      }
    });
    const take = make("button", { type: "button" }, make("div", { class: "row" }, li), "Take this one");
    take.setAttribute("aria-label", `Take this one: ${d.name}`);
    take.addEventListener("click", () => this.trigger("stash", { do: "take", index: d.index }));
    return li;
  }

  showAsks(shown) {
    this.asks.replaceChildren();
    make("h4", {}, this.asks, "Or ask of the garment as it is");
    const ask = (kind, text, choices) => {
      if (!choices.length) return;
      const row = make("div", { class: "row stash-ask" }, this.asks);
      const label = make("label", {}, row, text);
      const select = make("select", { "data-ask": kind }, label);
      for (const [value, name] of choices) make("option", { value }, select, name);
      if (this.typed[kind]) select.value = this.typed[kind];
      select.addEventListener("change", () => (this.typed[kind] = select.value));
      const b = make("button", { type: "button", class: "quiet" }, row, "Ask");
      b.setAttribute("aria-label", `Ask: ${text}`);
      b.addEventListener("click", () => { this.typed[kind] = select.value; this.trigger("look", { do: kind, name: select.value }); });
      this.answer(kind, shown.answers[kind]);
    };
    ask("line", "How high and how low may this line run? ", shown.lines.map((l) => [l.id, l.name]));
    ask("piece", "Which remnants make this piece? ", shown.pieces.map((p) => [p, p]));
    if (shown.sizes) {
      const b = make("button", { type: "button", class: "quiet" }, make("div", { class: "row" }, this.asks), "Which sizes can be cut?");
      b.addEventListener("click", () => this.trigger("look", { do: "sizes" }));
      this.answer("sizes", shown.answers.sizes);
    }
  }

  answer(kind, answer) {
    if (!answer) return;
    const p = make("p", { class: "stash-answer", "data-answered": kind, role: "status" }, this.asks, answer.text);
    for (const where of answer.moves) {
      const b = make("button", { type: "button", class: "quiet" }, p, `Move it to ${where}`);
      b.addEventListener("click", () => this.trigger("stash", { do: "move", where }));
    }
  }
}

/** Mount the board in the element that the page gave it. */
export function mount(element, props, trigger) {
  window.stashBoard = new StashBoard(element, trigger);
}
