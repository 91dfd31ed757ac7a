// The board of the lay under 'Print and cut': the cloth of the shown choice with its pieces, by hand or found, and what
// is wrong in words. It follows the table's scene, and fetches what lies when something has changed.

import { grainTrouble, onCloth, overlap } from "./lay_geometry.js";
import { LayDrawing } from "./lay_drawing.js";
import { make } from "./make.js";
import { Sight } from "./sight.js";

const MEASURE = "Measure a remnant, or say how long the rest is";

class LayBoard {
  constructor(element, trigger) {
    make("link", { rel: "stylesheet", href: new URL("lay.css", import.meta.url).href }, document.head);
    this.trigger = trigger;
    this.root = make("div", { class: "lay-board", hidden: "" }, element);
    this.tabs = make("div", { class: "row", role: "group", "aria-label": "Cloth" }, this.root);
    this.sheet = make("div", { class: "lay-sheet" }, this.root);
    this.drawing = new LayDrawing(this.sheet, { changed: (done) => this.changed(done), chosen: (piece) => this.chosen(piece) });
    this.tools = make("div", { class: "row" }, this.root);
    this.finish = this.button(this.tools, "Finish the rest", "main");
    this.finish.addEventListener("click", () => this.search("finish"));
    this.help = this.button(this.tools, "What would help", "quiet");
    this.help.addEventListener("click", () => this.search("help"));
    this.turnOne = this.button(this.tools, "Turn", "quiet");
    this.turnOne.addEventListener("click", () => this.drawing.turn());
    this.off = this.button(this.tools, "Take it off", "quiet");
    this.off.addEventListener("click", () => this.drawing.chosen && this.drawing.lay(this.drawing.chosen, true));
    this.clear = this.button(this.tools, "Take all off", "quiet");
    this.clear.addEventListener("click", () => this.takeAllOff());
    this.wide = this.button(this.tools, "Wide", "quiet");
    this.wide.addEventListener("click", () => document.dispatchEvent(new CustomEvent("leaflet-wide", { detail: !this.root.classList.contains("wide") })));
    document.addEventListener("leaflet-wide", (e) => this.widen(e.detail));
    this.hint = make("p", { class: "fine" }, this.root);
    make("p", { class: "said", "data-said": "lay", role: "status" }, this.root);
    this.said = make("p", { class: "lay-said" }, this.root);
    this.measure = this.button(this.root, MEASURE, "quiet measure-cloth");
    this.measure.addEventListener("click", () => document.dispatchEvent(new CustomEvent("measure-cloth", { detail: this.at })));
    this.words = make("ul", { class: "lay-words", "aria-label": "What is wrong" }, make("div", { role: "status" }, this.root));
    const end = make("div", { class: "row" }, this.root);
    this.plan = make("a", { class: "quiet", download: "lay-plan.pdf", href: "#" }, end, "Print the plan");
    this.cut = this.button(end, "It is cut: take it off my cloth", "quiet");
    this.cut.addEventListener("click", () => this.isCut());
    this.buyNow = this.button(end, "How much to buy", "quiet");
    this.buyNow.addEventListener("click", () => this.search("buy"));
    this.widthsNow = this.button(end, "On other widths", "quiet");
    this.widthsNow.addEventListener("click", () => this.search("widths"));
    this.buy = make("table", { class: "lay-buy", hidden: "" }, this.root);
    this.widths = make("div", { class: "lay-widths" }, this.root);
    this.shown = make("div", { class: "lay-painted" }, this.root);
    this.again = 0;
    this.moves = 0; // told so far by this window
    this.client = Math.random().toString(36).slice(2, 12);
    this.hint.textContent = "Drag a piece onto the cloth.";
    make("span", { class: "by-keys" }, this.hint, " Keys: Enter lays it, arrows move it, T turns it, [ and ] turn it by a degree, Delete takes it off.");
    this.sight = new Sight(this.root, () => this.follow());
    document.addEventListener("scene-taken", () => this.follow());
    document.addEventListener("click", (e) => { if (e.target.closest("[data-question=print]")) setTimeout(() => this.follow()); });
    this.follow();
  }

  button(parent, text, kind) {
    return make("button", { type: "button", class: kind }, parent, text);
  }

  /** Both boards of this leaflet give way together: either's button says what is so. */
  widen(on) {
    this.root.classList.toggle("wide", on);
    this.wide.setAttribute("aria-pressed", String(on));
    this.wide.textContent = on ? "Narrow" : "Wide";
  }

  /** Something on the table changed: fetch what lies anew, unless a piece is in the hand or nobody looks. */
  async follow() {
    const scene = window.garmentTable && window.garmentTable.scene;
    if (!scene || !scene.word || !document.querySelector("#q-print.open") || this.drawing.drag) return;
    if (this.sight.later()) return;
    const asked = (this.asked = (this.asked || 0) + 1);
    let found = null;
    try {
      const answer = await fetch(`/lay/${scene.word}/lay.json`, { cache: "no-store" });
      found = answer.ok ? await answer.json() : null;
    } catch {
      found = null;
    }
    if (asked !== this.asked || this.drawing.drag || this.pending) return;
    const heard = found && found.moves && found.moves[this.client];
    if (heard !== undefined && heard < this.moves) return; // the answer to the last move is on its way
    this.found = found;
    this.show();
  }

  get cloth() {
    const all = (this.found && this.found.cloths) || [];
    return all.find((c) => c.id === this.at) || all[0];
  }

  show() {
    const cloth = this.cloth;
    this.root.hidden = !cloth;
    document.querySelector(".lay-head")?.toggleAttribute("hidden", !cloth);
    if (!cloth) return;
    this.at = cloth.id;
    this.tabs.replaceChildren();
    for (const c of this.found.cloths) {
      const lying = c.placements.length;
      const b = make("button", { type: "button", class: "quiet", "aria-pressed": String(c.id === cloth.id), "data-lay-cloth": c.id }, this.tabs, `${c.name.split(",")[0]}: ${lying} of ${c.pieces.length} laid`);
      b.title = c.name;
      b.addEventListener("click", () => { this.at = c.id; this.show(); });
    }
    const nothing = !cloth.scraps.length;
    this.sheet.hidden = nothing;
    this.tools.hidden = nothing;
    this.hint.hidden = nothing;
    this.drawing.show(cloth);
    const notes = [cloth.said, ...(this.found.warnings || []).filter((w) => w.startsWith(cloth.name))].filter(Boolean);
    this.measure.hidden = !nothing;
    const grain = notes.some((w) => /The grain of '/.test(w)); // it was measured, and waits for that alone
    this.measure.textContent = grain ? "Say how the grain runs" : MEASURE;
    if (nothing && !grain) notes.unshift("How much there is of this cloth is not known, so nothing can be laid on it. Measure it, or see how much to buy.");
    this.said.textContent = notes.join(" ");
    this.plan.hidden = !cloth.plan;
    this.plan.href = cloth.plan || "#";
    this.cut.hidden = !cloth.placements.length;
    this.help.hidden = cloth.placements.length === cloth.pieces.length;
    this.drawing.trouble(this.troubles().troubles);
    this.tell(cloth.found);
    this.showBuy();
    this.showWidths();
    this.showPainted();
    this.root.dataset.lying = String(cloth.placements.length);
  }

  showBuy() {
    const rows = this.found.buy || [];
    this.buy.replaceChildren();
    this.buy.hidden = !rows.length;
    if (!rows.length) return;
    make("caption", {}, this.buy, "How much of each cloth, all pieces laid in one layer");
    for (const r of rows) {
      const tr = make("tr", {}, make("tbody", {}, this.buy));
      make("th", { scope: "row" }, tr, r.cloth);
      make("td", {}, tr, `${r.length}, ${r.width}`);
      make("td", {}, tr, [r.have, r.cost, r.note].filter(Boolean).join("; "));
    }
  }

  /** One table a cloth: each width that is sold, with the length to buy and its cost. */
  showWidths() {
    const rows = this.found.widths || [];
    this.widths.replaceChildren();
    for (const cloth of new Set(rows.map((r) => r.cloth))) {
      const table = make("table", { class: "lay-buy" }, this.widths);
      make("caption", {}, table, `${cloth}, by width`);
      const head = make("tr", {}, make("thead", {}, table));
      for (const text of ["Width", "To buy", "Cost", ""]) make(text ? "th" : "td", text ? { scope: "col" } : {}, head, text);
      const body = make("tbody", {}, table);
      for (const r of rows.filter((row) => row.cloth === cloth)) {
        const tr = make("tr", {}, body);
        make("th", { scope: "row" }, tr, r.width);
        for (const text of [r.length || "–", r.cost || "–", r.note]) make("td", {}, tr, text);
      }
    }
    if (rows.length) make("p", { class: "fine" }, this.widths, "Laid from edge to edge in one layer: where the selvedges cannot be used, look at the next narrower width. Where no cost stands, note the price under 'Which cloth?'.");
  }

  showPainted() {
    this.shown.replaceChildren();
    const pictures = this.found.painted || [];
    if (pictures.length) make("p", { class: "fine" }, this.shown, "With just the cloth that the pieces lie on:");
    for (const p of pictures) make("img", { src: p.href, alt: `${p.title}, painted with just the cloth that its pieces lie on`, loading: "lazy" }, this.shown);
    if (pictures.some((p) => p.photo)) make("p", { class: "fine" }, this.shown, "On the photo each panel's cloth is laid flat: it is right in the panel's middle, and off by some centimetres at the sides, where the form turns away.");
  }

  /** Something is wrong: say it in words, one line each. Colour only helps. */
  tell(lines) {
    this.words.replaceChildren();
    for (const line of lines) make("li", {}, this.words, line);
    if (!lines.length && this.drawing.placements().length) make("li", { class: "fine" }, this.words, "Nothing overlaps or reaches over an edge.");
  }

  /** A piece moved: say at once what is wrong, and at the end of the move keep it. */
  changed(done) {
    const { troubles, lines } = this.troubles();
    this.drawing.trouble(troubles);
    this.tell(lines);
    this.pending = !done; // what comes from Python meanwhile is older than what is in the hand
    if (!done) return;
    clearTimeout(this.drawing.rest); // what keys moved before is told with it
    this.moves += 1;
    this.trigger("lay", { do: "moved", cloth: this.at, placements: this.drawing.placements(), edit: this.moves, client: this.client });
  }

  troubles() {
    const d = this.drawing;
    const lying = d.pieces.filter((p) => p.lies).map((p) => ({ p, shape: d.shape(p), scrap: d.scrap(p.lies.remnant) }));
    const troubles = new Map();
    const lines = [];
    const add = (p, words) => {
      troubles.set(p.key, [troubles.get(p.key), words].filter(Boolean).join(", "));
      lines.push(`${p.number} ${p.name} ${words}.`);
    };
    lying.forEach(({ p, shape, scrap }, n) => {
      const onBoard = { ...scrap, outline: scrap.outline.map((r) => r.map(([x, y]) => [x + scrap.dx, y + scrap.dy])), holes: scrap.holes.map((r) => r.map(([x, y]) => [x + scrap.dx, y + scrap.dy])) };
      if (!onCloth(shape, onBoard)) add(p, `reaches over the edge, a hole or a flaw of ${scrap.name}`);
      const grain = grainTrouble(p, scrap, p.lies.angle);
      if (grain) add(p, grain);
      for (const other of lying.slice(0, n)) if (other.scrap === scrap && overlap(shape, other.shape)) add(p, `overlaps ${other.p.number} ${other.p.name}`);
    });
    return { troubles, lines };
  }

  chosen(piece) {
    this.turnOne.disabled = !piece || !piece.lies;
    this.off.disabled = !piece || !piece.lies;
  }

  search(what) {
    this.again += 1;
    this.trigger("search", { do: what, cloth: this.at, again: this.again, placements: this.drawing.placements() });
  }

  takeAllOff() {
    for (const p of this.drawing.pieces) p.lies = null;
    this.drawing.setAside();
    this.drawing.draw();
    this.changed(true);
  }

  isCut() {
    if (!window.confirm("Take these pieces off your cloth? What is left becomes smaller remnants. Undo brings it back.")) return;
    this.trigger("lay", { do: "cut", cloth: this.at, placements: this.drawing.placements() });
  }
}

/** Mount the board in the element that the page gave it. */
export function mount(element, props, trigger) {
  window.layBoard = new LayBoard(element, trigger);
}
