// The board of pattern pieces under 'Print and cut': the pattern with its lines, the cut pieces, the seams that go, and
// what comes out of the cut. It follows the table's scene, and fetches its own drawings when something has changed.

import { companions } from "./places.js";
import { make } from "./make.js";
import { askCloth, askEdge, askLine, lengthButton, showJoined } from "./pieces_asks.js";
import { PiecesDrawing } from "./pieces_drawing.js";

const SHOWN = "pieces.json";
const FAR = { mm: "1.6 mm", cm: "0.16 cm", in: "1/16 in" }; // apart at which a seam is told as one that does not match
const EVEN = { mm: [2, "2 mm"], cm: [2, "0.2 cm"], in: [1.6, "1/16 in"] }; // most that two sides of a seam are evened out by

class PiecesBoard {
  constructor(element, trigger) {
    this.trigger = (event, data) => {
      this.hereAsked = true;
      trigger(event, data);
    };
    this.root = make("div", { class: "pieces-board" }, element);
    const head = make("div", { class: "row" }, this.root);
    this.tabs = { pattern: this.button(head, "Pattern"), cut: this.button(head, "Cut pieces") };
    for (const [name, b] of Object.entries(this.tabs)) b.addEventListener("click", () => this.turn(name));
    const tools = make("span", { class: "tools" }, head);
    this.button(tools, "−", "Smaller").addEventListener("click", () => this.drawing.nearer(1 / 1.5));
    this.button(tools, "All", "Show all pieces").addEventListener("click", () => this.drawing.whole());
    this.button(tools, "+", "Larger").addEventListener("click", () => this.drawing.nearer(1.5));
    this.wide = this.button(tools, "Wide", "Give the pieces more room");
    this.wide.addEventListener("click", () => document.dispatchEvent(new CustomEvent("leaflet-wide", { detail: !this.root.classList.contains("wide") })));
    document.addEventListener("leaflet-wide", (e) => this.widen(e.detail));
    this.sheet = make("div", { class: "pieces-sheet" }, this.root);
    this.drawing = new PiecesDrawing(this.sheet, {
      length: (mm) => this.table.length(mm),
      picked: (edges) => this.picked(edges),
      moved: (line, which, mm, done) => this.moved(line, which, mm, done),
      bent: (line, point, by, done) => this.bent(line, point, by, done),
    });
    this.hint = make("p", { class: "fine" }, this.root);
    this.news = make("p", { class: "said error", hidden: "" }, this.root); // what was refused, where it was asked for
    this.joinBar = make("div", { class: "join-bar", hidden: "" }, this.root);
    this.asked = make("div", { class: "line-asked", hidden: "" }, this.root);
    this.which = make("div", { class: "which" }, this.root);
    this.gone = make("ul", { class: "gone" }, this.root);
    // What comes out stands below the button that makes it.
    const below = document.querySelector("[data-slot=outcome]") || this.root;
    this.length = lengthButton(below, () => this.table);
    this.files = make("ul", { class: "made" }, below);
    this.more = make("div", { class: "told" }, below);
    this.side = "pattern";
    this.root.hidden = true;
    document.addEventListener("scene-taken", () => this.follow());
    document.addEventListener("click", (e) => {
      if (e.target.closest("[data-question=print]")) setTimeout(() => this.follow());
      if (e.target.closest("#make-pieces")) this.makeAsked = true;
    });
    this.follow();
  }

  button(parent, text, label) {
    const b = make("button", { type: "button", class: "quiet" }, parent, text);
    if (label) b.setAttribute(/^\w/.test(text) ? "title" : "aria-label", label);
    return b;
  }

  get table() {
    return window.garmentTable;
  }

  /** Both boards of this leaflet give way together: either's button says what is so. */
  widen(on) {
    this.root.classList.toggle("wide", on);
    this.wide.setAttribute("aria-pressed", String(on));
    this.wide.textContent = on ? "Narrow" : "Wide";
  }

  /** Something on the table changed: fetch what is drawn here anew. */
  async follow() {
    const scene = this.table && this.table.scene;
    if (!scene || !scene.word) return;
    const said = scene.said && scene.said.place === "print" && scene.said.kind === "error" ? scene.said.text : "";
    if (said && this.hereAsked) this.refused = said;
    if (scene.said) this.hereAsked = false;
    const here = said !== "" && said === this.refused; // said once: here, or below what makes the pieces
    this.news.textContent = here ? said : "";
    this.news.hidden = !here;
    showJoined(scene.facts);
    this.length.hidden = !said || !scene.views.some((v) => v.kind === "drawing" && !v.scale_measured);
    const below = document.querySelector("[data-said=print]");
    if (here && below) below.textContent = "";
    // Nobody sees the drawings while the question is closed, and a dragged line need not wait for them.
    if (!document.querySelector("#q-print.open")) return;
    const shown = (scene.made || []).find((m) => m.name === SHOWN);
    const asked = (this.fetched = (this.fetched || 0) + 1);
    const old = this.revision === scene.revision && this.pattern;
    const [pattern, cut] = await Promise.all([old || this.get(`/pieces/${scene.word}/pattern.json`), shown ? this.get(shown.href) : null]);
    if (asked !== this.fetched) return;
    this.revision = scene.revision;
    const had = this.cut;
    this.pattern = pattern;
    this.cut = cut;
    this.base = shown ? shown.href.slice(0, -SHOWN.length) : "";
    if (cut && cut.after && !had) this.side = "cut";
    if (!cut || !cut.after) this.side = "pattern";
    const made = this.makeAsked && scene.said && scene.said.place === "print";
    if (made && cut && cut.after && !said) this.side = "cut";
    this.show();
    if (made) {
      this.makeAsked = false;
      if (this.side === "cut") this.bringIntoView();
    }
  }

  /** The pieces were just made, by a button below them: the drawing comes into view, the keyboard stays at the button. */
  bringIntoView() {
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.root.scrollIntoView({ block: "start", behavior: still ? "auto" : "smooth" });
  }

  async get(address) {
    try {
      const answer = await fetch(address, { cache: "no-store" });
      return answer.ok ? await answer.json() : null;
    } catch {
      return null;
    }
  }

  turn(name) {
    this.side = name;
    this.drawing.picked = [];
    this.picked([]);
    this.show();
  }

  show() {
    const { pattern, cut } = this;
    const sheet = this.side === "cut" ? cut && cut.after : pattern && pattern.sheet;
    this.root.hidden = !sheet;
    for (const [name, b] of Object.entries(this.tabs)) {
      b.disabled = name === "cut" ? !(cut && cut.after) : !(pattern && pattern.sheet);
      b.setAttribute("aria-pressed", String(name === this.side && Boolean(sheet)));
    }
    if (sheet) this.drawing.show(sheet, { pick: this.side });
    this.root.dataset.side = sheet ? this.side : "";
    this.showHint(pattern, sheet);
    askLine(this.asked, (this.side === "pattern" && pattern && pattern.line_asked) || [], this.table.scene.allowance, (said) => this.trigger("piece", said));
    this.showWhich();
    this.showGone();
    this.showFiles();
    this.showTold();
  }

  showHint(pattern, sheet) {
    if (!sheet) { this.hint.textContent = ""; return; }
    const troubles = this.side === "pattern" ? sheet.pieces.map((p) => p.trouble).filter(Boolean) : [];
    if (this.side === "pattern" && pattern.said) this.hint.textContent = `The lines are not on the pieces yet. ${pattern.said}`;
    else if (troubles.length) this.hint.textContent = troubles.join(" ");
    else if (this.side === "cut") this.hint.textContent = "Same letters are sewn together; a bold stroke marks a new seam. To take a seam out, press its edge on both pieces.";
    else if (sheet.pieces.some((p) => p.lines.length)) this.hint.textContent = "Your lines on the pattern. Move an end along its edge, or a point between: the line in the picture moves with it.";
    else this.hint.textContent = "Your pattern pieces. Lines that you draw in the picture appear on them.";
  }

  // -- the lines -------------------------------------------------------------------------------------------------

  /** A line's end was moved on its piece: the same line in the picture keeps up, and is told when it is let go. */
  moved(id, which, mm, done) {
    const editor = this.table.editor;
    const line = editor.line(id);
    if (!line) return;
    const partners = companions(editor.scene.lines, line);
    line[which] = { ...line[which], distance_mm: mm, text: "" };
    editor.follow(line, partners);
    editor.redrawLine(line);
    const from = line[which].from ? ` from the ${line[which].from.replace(/-/g, " ")}` : "";
    this.hint.textContent = `${line.name}: ${this.table.length(mm)}${from}`;
    if (done) editor.commit(id, partners);
  }

  /** A point between a line's ends was moved on the piece by so many shares of the body: the picture keeps up. */
  bent(id, point, by, done) {
    const editor = this.table.editor;
    const line = editor.line(id);
    if (!line) return;
    const partners = companions(editor.scene.lines, line);
    point.from = point.from || line.through[point.index]; // until it is drawn anew, it is moved from there
    const [u, v] = [point.from[0] + by[0], point.from[1] + by[1]];
    line.through = line.through.map((p, n) => (n === point.index ? [line.symmetric ? Math.max(u, 0) : u, v] : p));
    editor.follow(line, partners);
    editor.redrawLine(line);
    this.hint.textContent = `${line.name}: point ${point.index + 1}`;
    if (done) editor.commit(id, partners);
  }

  // -- seams that go ---------------------------------------------------------------------------------------------

  picked(edges) {
    this.joinBar.replaceChildren();
    this.joinBar.hidden = !edges.length;
    if (!edges.length) return;
    if (this.side === "pattern") {
      const edge = edges[edges.length - 1];
      askEdge(this.joinBar, edge, this.pieceOf(edge)?.names || [], (said) => {
        this.trigger("piece", said);
        this.drawing.picked = [];
        this.picked([]);
      });
      return;
    }
    make("p", {}, this.joinBar, edges.length === 1 ? `${edges[0].said}. Now press the edge that it is sewn to.` : `${edges[0].said}, and ${edges[1].said}:`);
    if (edges.length < 2) return;
    const clothOf = askCloth(this.joinBar, edges.map((e) => this.pieceOf(e)));
    const b = make("button", { type: "button", class: "main" }, this.joinBar, "Take this seam out");
    const even = make("label", {}, this.joinBar);
    const allow = make("input", { type: "checkbox" }, even);
    const [most, spoken] = EVEN[this.table.scene.unit] || EVEN.mm;
    even.append(` even out up to ${spoken}, if they do not quite match`);
    const turn = make("label", {}, this.joinBar);
    const second = make("input", { type: "checkbox" }, turn);
    turn.append(" keep the grain of the second piece");
    const fold = make("label", {}, this.joinBar, "if both lie on the fold ");
    const sewn = make("select", {}, fold);
    for (const [value, text] of [["", "keep both folds"], ["first", "sew the first one’s centre"], ["second", "sew the second one’s centre"]]) make("option", { value }, sewn, text);
    b.addEventListener("click", () => {
      this.trigger("piece", { do: "join", one: edges[0].key, other: edges[1].key, allow_mm: allow.checked ? most : 0.5, grain_of: second.checked ? "second" : "first", sew_fold_of: sewn.value, cloth_of: clothOf() });
      this.drawing.picked = [];
      this.picked([]);
    });
  }

  /** The piece that an edge was pressed on. */
  pieceOf(edge) {
    return this.drawing.sheet.pieces.find((p) => p.edges.some((e) => edge.key === `${p.name}:${e.name}`));
  }

  /** Which piece is which part of the picture: what it is taken for stands chosen. */
  showWhich() {
    this.which.replaceChildren();
    const rows = (this.side === "pattern" && this.pattern && this.pattern.which) || [];
    this.which.hidden = !rows.length;
    if (!rows.length) return;
    const open = this.whichOpen ?? rows.some((row) => row.asked); // until the person opens or closes it
    const d = make("details", open ? { open: "" } : {}, this.which);
    make("summary", {}, d, "Which piece is which?").addEventListener("click", () => { this.whichOpen = !d.open; });
    for (const row of rows) {
      const label = make("label", {}, d, row.piece);
      const select = make("select", {}, label);
      for (const o of row.options) make("option", { value: o.value, ...(o.value === row.value ? { selected: "" } : {}) }, select, o.label);
      select.addEventListener("change", () => {
        this.whichOpen = true; // where one is said, the next may be said too
        this.trigger("piece", { do: "which", piece: row.piece, value: select.value });
      });
    }
  }

  showGone() {
    this.gone.replaceChildren();
    const joins = (this.cut && this.cut.joins) || [];
    joins.forEach((j, n) => {
      const li = make("li", {}, this.gone, `Taken out: ${j.one.replace(":", ", ")} to ${j.other.replace(":", ", ")}`);
      if (j.cloth) make("p", { class: "fine" }, li, j.cloth);
      if (n === joins.length - 1) this.button(li, "Put it back").addEventListener("click", () => this.trigger("piece", { do: "part" }));
    });
    this.gone.hidden = !joins.length;
  }

  // -- what came out ---------------------------------------------------------------------------------------------

  showFiles() {
    this.files.replaceChildren();
    const files = (this.cut && this.cut.files) || [];
    for (const f of files) {
      const li = make("li", {}, this.files);
      make("a", { href: this.base + f.name, download: f.name }, li, f.label);
      make("span", { class: "fine" }, li, [f.pages, f.name].filter(Boolean).join(" · "));
    }
    this.files.hidden = !files.length;
  }

  showTold() {
    const open = [...this.more.querySelectorAll("details[open]")].map((d) => d.dataset.about);
    this.more.replaceChildren();
    const cut = this.cut;
    if (!cut || !cut.after) return;
    const fold = (about, title) => {
      const d = make("details", { "data-about": about, ...(open.includes(about) ? { open: "" } : {}) }, this.more);
      make("summary", {}, d, title);
      return d;
    };
    const proof = fold("proof", cut.proof.ok ? "The proof: nothing lost, every seam fits" : "The proof: something does not fit");
    this.rows(proof, ["What was checked", "", "How far off"], cut.proof.rows.map((r) => [r.what, r.ok ? "yes" : "no", r.figure]));
    const every = make("details", {}, proof);
    make("summary", {}, every, `Every check, ${cut.proof.every.length} in all`);
    this.rows(every, ["What", "", "Figure"], cut.proof.every.map((r) => [r.what, r.ok ? "yes" : "no", r.figure]));
    this.rows(fold("seams", `Do the seams match? ${this.matching(cut.seams)}`), ["Seam", "One side", "Other side", ""], cut.seams.map((s) => [s.letter, s.one, s.other, s.said]));
    this.rows(fold("list", "Cutting list"), ["No.", "Piece", "Cloth", "How", "Size"], cut.list.map((r) => [r.number || "–", r.layer ? `${r.name} (${r.layer})` : r.name, r.cloth, r.how, r.size]));
    const order = make("ol", {}, fold("order", "Order of sewing"));
    for (const step of cut.order) make("li", {}, order, step);
  }

  matching(seams) {
    if (!seams.length) return "No edge says what it is sewn to";
    const off = seams.filter((s) => s.apart_mm > 1.6).length;
    if (off) return `${off} of ${seams.length} are more than ${FAR[this.table.scene.unit] || FAR.mm} apart`;
    const alike = seams.length && seams.every((s) => s.apart_mm < 0.05);
    if (alike) return seams.length === 1 ? "Yes: its two sides are equally long" : `Yes: all ${seams.length} are equally long`;
    return `All ${seams.length} within ${FAR[this.table.scene.unit] || FAR.mm}`;
  }

  rows(parent, heads, rows) {
    const table = make("table", {}, make("div", { class: "wide-table", tabindex: 0, role: "group", "aria-label": "table" }, parent));
    const head = make("tr", {}, make("thead", {}, table));
    for (const h of heads) make("th", { scope: "col" }, head, h);
    const body = make("tbody", {}, table);
    for (const row of rows) {
      const tr = make("tr", {}, body);
      for (const cell of row) make("td", {}, tr, String(cell));
    }
  }
}

/** Mount the board in the element that the page gave it. */
export function mount(element, props, trigger) {
  window.piecesBoard = new PiecesBoard(element, trigger);
}
