// Flags at lines: where a line would be hard to sew there stands a numbered flag; pressed, it says what is so beside
// the place and offers what would put it right. After a line is let go, its newest flag speaks by itself.

import { make, svg } from "./make.js";

const keyOf = (m) => `${m.line}|${m.code}|${m.end}|${m.view}`;

/** The flags of one editor's scene, and the note beside one of them. */
export class Marks {
  constructor(editor) {
    this.editor = editor;
    this.misplaced = null;
    this.known = null; // keys of the flags in the scene before
    this.open = null; // key of the flag that speaks
    this.note = make("div", { class: "mark-note", hidden: "", role: "status" }, editor.root);
    document.addEventListener("keydown", (e) => {
      if (e.key === "Escape" && this.open) this.close();
    });
    editor.root.addEventListener("keydown", (e) => {
      const flag = e.target.closest?.("[data-mark]");
      if (flag && (e.key === "Enter" || e.key === " ")) {
        e.preventDefault();
        this.toggle(flag.dataset.mark);
      }
    });
  }

  get all() {
    const marks = this.editor.scene?.marks || [];
    return this.misplaced ? [...marks, this.misplaced] : marks;
  }

  /** Take the flags of a new scene. */
  take() {
    // A line that could not lie where it was put went back; the flag shows where it would have left the garment.
    const said = this.editor.scene?.said;
    this.misplaced = said && said.point ? { number: "!", view: said.view, point: said.point, grade: "stop", text: said.text, line: "", code: `misplaced ${this.editor.scene.edit}`, end: "", mendable: false } : null;
    for (const pane of this.editor.panes) this.fill(pane);
    this.place();
    const keys = new Set(this.all.map(keyOf));
    const fresh = this.known ? this.all.find((m) => !this.known.has(keyOf(m)) && m.point) : null;
    this.known = keys;
    this.ways = null;
    if (this.misplaced) this.open = keyOf(this.misplaced);
    else if (fresh) this.open = keyOf(fresh);
    else if (this.open && !keys.has(this.open)) this.open = null;
    this.show();
  }

  /** Draw the flags of a pane. */
  fill(pane) {
    pane.flags.replaceChildren();
    pane.flagPlaces = [];
    for (const m of this.all) {
      if (m.view !== pane.view.name || !m.point) continue;
      const g = svg("g", { class: `flag mark ${m.grade.replace(/ /g, "-")}`, tabindex: 0, role: "button", "data-mark": keyOf(m), "data-key": `mark:${keyOf(m)}`, "aria-label": `Flag ${m.number}: ${m.text}` }, pane.flags);
      svg("path", { d: "M0 0V-30H24L18 -21L24 -12H0" }, g);
      svg("text", { x: 9, y: -16.5, "text-anchor": "middle" }, g).textContent = String(m.number);
      pane.flagPlaces.push({ node: g, at: m.point });
    }
  }

  toggle(key) {
    this.open = this.open === key ? null : key;
    this.asked = null;
    this.show();
  }

  /** Open the flag of a mark in the list. */
  openAt(m) {
    this.open = null;
    this.toggle(keyOf(m));
  }

  close() {
    this.open = null;
    this.show();
  }

  /** Say what the open flag says, beside its place. */
  show() {
    const { note } = this;
    const m = this.all.find((x) => keyOf(x) === this.open);
    note.hidden = !m;
    for (const g of this.editor.root.querySelectorAll("[data-mark]")) g.setAttribute("aria-expanded", String(g.dataset.mark === this.open));
    if (!m) return;
    note.replaceChildren();
    const close = make("button", { type: "button", class: "quiet close", "aria-label": "Close" }, note, "×");
    close.addEventListener("click", () => this.close());
    const said = make("p", {}, note);
    make("b", {}, said, `${m.number} `);
    said.append(m.text);
    this.offers(note, m);
    this.place();
  }

  /** Take what would put the open flag right. */
  offer(answer) {
    this.ways = answer;
    this.show();
  }

  /** What would put it right, as buttons; asked for when a flag is opened. */
  offers(parent, m) {
    if (!m.mendable) return;
    const row = make("div", { class: "ways" }, parent);
    const { ways } = this;
    if (!ways || ways.line !== m.line || ways.code !== m.code || ways.end !== m.end) {
      make("span", { class: "fine" }, row, "Looking for what would put it right …");
      if (this.asked !== `${keyOf(m)} ${this.editor.scene.revision}`) {
        this.asked = `${keyOf(m)} ${this.editor.scene.revision}`;
        this.editor.trigger("act", { do: "ways", line: m.line, code: m.code, end: m.end });
      }
      return;
    }
    if (!ways.ways.length) make("span", { class: "fine" }, row, "No small change puts it right.");
    for (const { way, label } of ways.ways) {
      const b = make("button", { type: "button", class: "quiet" }, row, label);
      b.addEventListener("click", () => this.editor.trigger("act", { do: "mend", line: m.line, code: m.code, end: m.end, way }));
    }
  }

  /** Put flags and note where the viewport says. */
  place() {
    const m = this.all.find((x) => keyOf(x) === this.open);
    for (const pane of this.editor.panes) {
      const { k, dx, dy } = this.editor.port.place(pane);
      for (const { node, at } of pane.flagPlaces || []) node.setAttribute("transform", `translate(${at[0] * k + dx} ${at[1] * k + dy})`);
      if (!m || pane.view.name !== m.view || !m.point) continue;
      const x = pane.figure.offsetLeft + m.point[0] * k + dx;
      const y = m.point[1] * k + dy;
      const room = { width: this.editor.root.clientWidth, height: this.editor.root.clientHeight };
      const { offsetWidth: w, offsetHeight: h } = this.note;
      const left = Math.max(4, Math.min(room.width - w - 4, x + 34 + w < room.width ? x + 34 : x - w - 14));
      const top = Math.max(4, Math.min(room.height - h - 4, y - 30));
      this.note.style.transform = `translate(${Math.round(left)}px, ${Math.round(top)}px)`;
    }
  }
}
