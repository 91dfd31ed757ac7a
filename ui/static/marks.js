// Flags at lines: where a line would be hard to sew there stands a numbered flag; pressed, it says what is so beside
// the place and offers what would put it right. After a line is let go, its newest flag speaks by itself.

import { drawFlag, flyFlags } from "./flags.js";
import { make } from "./make.js";
import { around, filled, roomiest } from "./room.js";

const NARROW = 600; // px: on an editor this narrow there is no room for a note beside a flag: it stands under the pictures

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
    this.ways = this.asked = null; // asked again of every scene, of one without a new line too: its answer may have a new unit
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
      const g = drawFlag(pane.flags, { class: `flag mark ${m.grade.replace(/ /g, "-")}`, tabindex: 0, role: "button", "data-mark": keyOf(m), "data-key": `mark:${keyOf(m)}`, "aria-label": `Flag ${m.number}: ${m.text}` }, m.number);
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
    make("span", { class: "flag-number" }, said, String(m.number)); // boxed, or it reads as the first digit of a length
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
      if (this.asked !== keyOf(m)) {
        this.asked = keyOf(m);
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
    for (const pane of this.editor.panes) flyFlags(pane, pane.flagPlaces || [], this.editor.port.place(pane));
    const m = this.all.find((x) => keyOf(x) === this.open);
    const below = this.editor.root.clientWidth < NARROW;
    this.note.classList.toggle("below", below);
    if (below) this.note.style.transform = "none";
    else if (m && m.point && !this.note.hidden) this.putNote(m);
  }

  /** Put the note beside its flag, where it hides least of the lines. */
  putNote(m) {
    const { root, panes } = this.editor;
    const pane = panes.find((p) => p.view.name === m.view);
    const flag = (pane && pane.flagPlaces.find(({ node }) => node.dataset.mark === keyOf(m)))?.node.place;
    if (!flag) return;
    const inRoot = (p) => ([x, y]) => [p.figure.offsetLeft + x, y];
    const points = panes.flatMap((p) => p.inSight().map(inRoot(p)));
    const box = { ...flag, left: flag.left + pane.figure.offsetLeft };
    const room = { width: root.clientWidth, height: root.clientHeight };
    const size = { width: this.note.offsetWidth, height: this.note.offsetHeight };
    const boxes = [8, 48, 96].flatMap((gap) => around(box, size, room, gap)); // farther only where that hides less
    const { left, top } = roomiest(boxes, [...points, ...filled(box)]);
    this.note.style.transform = `translate(${left}px, ${top}px)`;
  }
}
