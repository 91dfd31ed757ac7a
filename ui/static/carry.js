// Carrying a cloth from the shelf to a panel with mouse, pen or finger. Pressing it and then the panel does the same,
// and so do the keys.

import { make } from "./make.js";

const BEGINS = 8; // px that a press must wander before it is no click any more

/** Lets the swatches of a shelf be dragged onto the garment. */
export class Carry {
  constructor(table) {
    this.table = table;
    this.held = null;
  }

  /** Let a cloth's button be dragged. */
  offer(button, id) {
    button.addEventListener("pointerdown", (e) => {
      if (e.button !== 0) return;
      this.carried = false;
      this.held = { id, button, pointer: e.pointerId, from: [e.clientX, e.clientY], ghost: null };
      button.setPointerCapture(e.pointerId);
    });
    button.addEventListener("pointermove", (e) => this.move(e));
    button.addEventListener("pointerup", (e) => this.drop(e));
    button.addEventListener("pointercancel", () => this.end());
    button.addEventListener("click", (e) => {
      if (this.carried) e.stopImmediatePropagation();
      this.carried = false;
    });
  }

  move(e) {
    const { held } = this;
    if (!held || e.pointerId !== held.pointer) return;
    if (!held.ghost) {
      if (Math.hypot(e.clientX - held.from[0], e.clientY - held.from[1]) < BEGINS) return;
      held.ghost = make("div", { class: "carried", "aria-hidden": "true" }, document.body);
      held.ghost.append(held.button.querySelector(".swatch").cloneNode(true));
    }
    held.ghost.style.transform = `translate(${e.clientX}px, ${e.clientY}px)`;
    this.mark(this.under(e));
  }

  /** The panel under the pointer. */
  under(e) {
    const at = document.elementFromPoint(e.clientX, e.clientY);
    return (at && at.closest("[data-panel]")) || null;
  }

  mark(panel) {
    if (panel === this.marked) return;
    this.marked?.classList.remove("under");
    panel?.classList.add("under");
    this.marked = panel;
  }

  drop(e) {
    const { held } = this;
    if (!held || e.pointerId !== held.pointer) return;
    const panel = held.ghost && this.under(e);
    this.carried = Boolean(held.ghost);
    this.end();
    if (panel) this.table.trigger("act", { do: "assign", panel: panel.dataset.panel, cloth: held.id });
  }

  end() {
    this.held?.ghost?.remove();
    this.held = null;
    this.mark(null);
  }
}
