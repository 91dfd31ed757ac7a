// Moving the print on a panel: press the panel, then drag; the cloth's tile is shown through the panel's shape, at true
// scale, until the picture painted anew is there. Arrow keys move it by a mm, with Shift by a cm.

import { lengthText } from "./geometry.js";
import { make, svg } from "./make.js";

const PAUSE = 350; // ms after the last arrow key until the move is told
const WAIT = 6000; // ms until the ghost goes even if no new picture came
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/** The bar beside the garment, and the drag. */
export class PrintMover {
  constructor(table) {
    this.table = table;
    this.panel = null;
    this.moving = false;
    this.keyed = [0, 0];
    this.bar = make("div", { class: "print-bar", role: "group", "aria-label": "The print on a panel", hidden: "" }, table.stage);
    this.words = make("span", { class: "words", role: "status" }, this.bar);
    this.begins = this.button("Move its print", () => this.begin());
    this.turn = make("input", { type: "number", min: -180, max: 180, step: 5, "aria-label": "Grain turned by, degrees" }, make("label", { class: "turn" }, this.bar, "Turned by°"));
    this.turn.addEventListener("change", () => this.tell({ grain: Math.max(-180, Math.min(180, Number(this.turn.value) || 0)) }));
    this.mirror = this.check("As in a mirror", () => this.tell({ mirrored: this.mirror.checked }));
    this.twin = this.check("Its twin, mirrored", () => { if (this.twin.checked) this.tell({ by: [0, 0] }); });
    this.usual = this.button("As at first", () => this.tell({ usual: true }));
    this.done = this.button("Done", () => this.close());
    table.stage.addEventListener("panel-chosen", (e) => this.offer(e.detail.panel));
    document.addEventListener("scene-taken", () => this.taken());
    document.addEventListener("keydown", (e) => this.key(e), true);
  }

  button(text, act) {
    const b = make("button", { type: "button", class: "quiet" }, this.bar, text);
    b.addEventListener("click", act);
    return b;
  }

  check(text, act) {
    const label = make("label", {}, this.bar);
    const box = make("input", { type: "checkbox" }, label);
    label.append(text);
    box.addEventListener("change", act);
    return box;
  }

  /** The panel's scene in the picture that is shown, and its pane. */
  find(id) {
    for (const pane of this.table.editor.panes) {
      const panel = pane.view.panels.find((p) => p.id === id);
      if (panel) return { pane, panel };
    }
    return null;
  }

  printed(panel) {
    const cloth = this.table.scene.cloths.find((c) => c.id === panel.cloth);
    return cloth && cloth.printed ? cloth : null;
  }

  /** A panel was pressed with nothing in hand: offer to move its print, where it has one. */
  offer(id) {
    const found = this.find(id);
    if (this.table.shelf.inHand || !found || !this.printed(found.panel)) {
      this.close();
      return;
    }
    this.panel = id;
    this.show();
  }

  show() {
    const found = this.panel && this.find(this.panel);
    const cloth = found && this.printed(found.panel);
    this.bar.hidden = !cloth;
    if (!cloth) return;
    const { laid, twin } = found.panel;
    const name = found.panel.name || `panel ${found.panel.number}`;
    this.words.textContent = this.moving ? this.place(laid.right, laid.up) : `${cloth.name} on ${name}`;
    this.begins.hidden = this.moving;
    for (const e of [this.turn.parentElement, this.mirror.parentElement, this.usual]) e.hidden = !this.moving;
    this.twin.parentElement.hidden = !this.moving || !twin;
    this.usual.disabled = !laid.own;
    if (document.activeElement !== this.turn) this.turn.value = Math.round(laid.grain);
    this.mirror.checked = laid.mirrored;
    const root = this.table.editor.root;
    if (this.moving) root.dataset.prints = "moving";
    else delete root.dataset.prints;
  }

  place(right, up) {
    const unit = this.table.scene.unit;
    const part = (mm, yes, no) => `${lengthText(Math.abs(mm), unit)} ${mm < 0 ? no : yes}`;
    return `Moved ${part(right, "to the right", "to the left")}, ${part(up, "up", "down")}`;
  }

  begin() {
    this.moving = true;
    this.tile = new Image();
    this.tile.onload = () => { if (this.from && this.by) this.ghost(this.by); }; // a drag may be quicker than the tile
    this.tile.src = this.printed(this.find(this.panel).panel).tile;
    this.table.editor.drawing.begin("print", { tool: this });
    this.table.say({ place: "table", text: "Drag on the panel to move its print, or use the arrow keys. Esc ends it.", kind: "hint" });
    this.show();
  }

  close() {
    if (this.moving) this.table.editor.drawing.stop();
    this.panel = null;
    this.show();
  }

  /** The drawing mode ended, by Esc or by another one that began. */
  ended() {
    this.flush();
    this.moving = false;
    this.show();
  }

  tell(what) {
    this.table.trigger("act", { do: "print", panel: this.panel, twin: this.twin.checked && !this.twin.parentElement.hidden, ...what });
  }

  down(pane, p) {
    const found = this.find(this.panel);
    this.from = found && found.pane === pane ? p : null;
    this.by = null;
  }

  move(pane, p) {
    if (!this.from) return;
    this.by = [p[0] - this.from[0], p[1] - this.from[1]];
    this.ghost(this.by);
  }

  up(pane, p, moved) {
    if (!this.from) return;
    const [dx, dy] = [p[0] - this.from[0], p[1] - this.from[1]];
    this.from = null;
    if (!moved) return;
    const k = pane.view.mm_per_px;
    this.tell({ by: [dx * k, -dy * k] });
  }

  hover() {}

  key(e) {
    if (this.moving && e.key === "Escape") this.table.editor.drawing.stop();
    const way = this.moving && WAYS[e.key];
    if (!way || /^(input|select|textarea)$/i.test(e.target.tagName)) return;
    e.preventDefault();
    e.stopPropagation();
    const mm = e.shiftKey ? 10 : 1;
    this.keyed = [this.keyed[0] + way[0] * mm, this.keyed[1] + way[1] * mm];
    const found = this.find(this.panel);
    if (found) this.ghost([this.keyed[0] / found.pane.view.mm_per_px, -this.keyed[1] / found.pane.view.mm_per_px]);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.flush(), PAUSE);
  }

  flush() {
    clearTimeout(this.timer);
    const by = this.keyed;
    this.keyed = [0, 0];
    if (by[0] || by[1]) this.tell({ by });
  }

  /** Show the print moved by picture px, through the panel's shape. */
  ghost([dx, dy]) {
    const { pane, panel } = this.find(this.panel);
    this.said([dx, dy]);
    if (!this.tile.complete || !this.tile.naturalWidth) return;
    const k = pane.view.mm_per_px;
    const { right, up, grain, mirrored } = panel.laid;
    if (!this.shape || !this.shape.isConnected) {
      const scale = this.printed(panel).tile_mm_per_px / k;
      const [width, height] = [this.tile.naturalWidth * scale, this.tile.naturalHeight * scale];
      this.shape = svg("g", { class: "print-ghost" });
      this.pattern = svg("pattern", { id: "print-ghost", patternUnits: "userSpaceOnUse", width, height }, this.shape);
      svg("image", { href: this.tile.src, width, height, preserveAspectRatio: "none" }, this.pattern);
      svg("path", { d: panel.d, fill: "url(#print-ghost)", "fill-rule": "evenodd" }, this.shape);
      svg("path", { d: panel.d, class: "rim" }, this.shape);
      pane.world.insertBefore(this.shape, pane.lines);
    }
    const start = [pane.view.origin[0] + right / k + dx, pane.view.origin[1] - up / k + dy];
    this.pattern.setAttribute("patternTransform", `translate(${start[0].toFixed(2)} ${start[1].toFixed(2)}) rotate(${-grain})${mirrored ? " scale(-1 1)" : ""}`);
  }

  said([dx, dy]) {
    const { pane, panel } = this.find(this.panel);
    const k = pane.view.mm_per_px;
    this.words.textContent = this.place(panel.laid.right + dx * k, panel.laid.up - dy * k);
  }

  /** A scene came: show it, and take the ghost away as soon as its picture is there. */
  taken() {
    if (this.panel && !this.find(this.panel)) this.close();
    this.show();
    const found = this.panel && this.find(this.panel);
    const shape = this.shape;
    if (!shape || this.from) return;
    const until = performance.now() + WAIT;
    const look = () => {
      const { dataset } = found ? found.pane.sheet : { dataset: {} };
      if (dataset.painting && performance.now() < until) requestAnimationFrame(look);
      else if (!this.from) shape.remove();
    };
    requestAnimationFrame(look);
  }
}
