// 'Which cloth?': the choice as a whole (its name, what follows what, cloth swapped), and suggestions as small pictures.

import { make } from "./make.js";

const FOLLOW = { none: "only that panel", sides: "its twin on the other side too", all: "its twin, and front or back of the same name" };

class ChoicesBoard {
  constructor(element, trigger) {
    this.trigger = (message) => trigger("choice", message);
    document.addEventListener("scene-taken", () => this.follow());
    this.follow();
  }

  get scene() {
    return window.garmentTable && window.garmentTable.scene;
  }

  follow() {
    const scene = this.scene;
    if (!scene || !scene.asked) return;
    this.showWhole(scene);
    this.showSuggested(scene);
  }

  showWhole(scene) {
    const box = document.querySelector("[data-slot=choices]");
    const panels = new Map();
    for (const view of scene.views) for (const p of view.panels) if (!panels.has(p.id)) panels.set(p.id, p);
    const now = (scene.choices || []).find((c) => c.letter === scene.choice) || { letter: scene.choice, name: "" };
    const shown = JSON.stringify([scene.asked.follow, now, [...panels.values()].map((p) => [p.id, p.number, p.name, p.cloth_name])]);
    const typing = box && box.contains(document.activeElement) && document.activeElement.tagName === "INPUT" && document.activeElement.value !== document.activeElement.defaultValue;
    if (!box || typing || box.dataset.shown === shown) return;
    box.dataset.shown = shown;
    const focus = box.contains(document.activeElement) ? document.activeElement.id : "";
    box.replaceChildren();
    const named = this.field(box, `What you call choice ${now.letter}`, make("input", { type: "text", value: now.name, maxlength: "60", id: "choice-name", placeholder: "First frost" }));
    named.addEventListener("change", () => { named.defaultValue = named.value; this.trigger({ do: "name", name: named.value }); });
    const follow = this.field(box, "A cloth that I give a panel goes to", this.select(Object.entries(FOLLOW), scene.asked.follow, "follow"));
    follow.addEventListener("change", () => this.trigger({ do: "follow", follow: follow.value }));
    if (panels.size > 1) {
      const options = [...panels.values()].map((p) => [p.id, `${p.number} ${p.name || "panel"}${this.side(p.id)}: ${p.cloth_name || "no cloth"}`]);
      const one = this.field(box, "Swap the cloth of", this.select(options, this.one || options[0][0], "swap-one"));
      const other = this.field(box, "with that of", this.select(options, this.other || options[1][0], "swap-other"));
      const button = make("button", { type: "button", id: "swap-cloth" }, box, "Swap");
      button.addEventListener("click", () => {
        this.one = one.value;
        this.other = other.value;
        this.trigger({ do: "swap", one: one.value, other: other.value });
      });
    }
    if (focus) document.getElementById(focus)?.focus({ preventScroll: true });
  }

  side(id) {
    if (/L$/.test(id)) return ", wearer’s left";
    return /R$/.test(id) ? ", wearer’s right" : "";
  }

  showSuggested(scene) {
    const list = document.querySelector("[data-slot=suggested]");
    const notes = document.querySelector("[data-slot=suggested-notes]");
    const shown = JSON.stringify([scene.asked.suggested, scene.asked.notes]);
    if (!list || list.dataset.shown === shown) return;
    list.dataset.shown = shown;
    list.replaceChildren();
    notes.replaceChildren();
    for (const one of scene.asked.suggested) {
      const li = make("li", {}, list);
      const pair = make("div", { class: "pictures" }, li);
      one.pictures.forEach((src, k) => make("img", { src, loading: "lazy", alt: `Suggestion ${one.number}, ${k ? "back" : "front"}: ${one.cloths.join(", ")}` }, pair));
      make("b", {}, li, `${one.number}. ${one.cloths.join(", ")}`);
      if (one.best_for.length) make("p", {}, li, `Best for: ${one.best_for.join(", ")}.`);
      if (one.gives_up.length) make("p", {}, li, `Gives up: ${one.gives_up.join(", ")}.`);
      const more = make("details", { class: "origin" }, li);
      make("summary", {}, more, "Why");
      for (const text of one.why) make("p", {}, more, text);
      const use = make("button", { type: "button", "data-use": String(one.number) }, li, "Use this");
      use.setAttribute("aria-label", `Use suggestion ${one.number}`);
      use.addEventListener("click", () => this.trigger({ do: "use", number: one.number }));
    }
    list.hidden = !scene.asked.suggested.length;
    if (scene.asked.suggested.length && scene.asked.notes.length) {
      const more = make("details", { class: "origin" }, notes);
      make("summary", {}, more, "What was looked at, and what is not known");
      for (const text of scene.asked.notes) make("p", {}, more, text);
    }
  }

  select(options, value, id) {
    const field = make("select", { id });
    for (const [key, text] of options) make("option", { value: key, ...(key === value ? { selected: "" } : {}) }, field, text);
    return field;
  }

  field(parent, words, field) {
    make("label", { class: "asked" }, parent, words).append(field);
    return field;
  }
}

/** Follow the table with the board of choices. */
export function mount(element, props, tell) {
  new ChoicesBoard(element, tell);
}
